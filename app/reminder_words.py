"""The sentences of e-mail reminders.

A subject shows on locked screens, so it never says more than the plain calendar does, not
even in the detailed form. No name of a person, household or item stands in a plain message.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from app import wording
from app.feed_entries import EntryKind, FeedEntry, Words, household_entries
from app.feed_words import FeedForm
from app.german.messages_out import REMINDERS as GERMAN
from planner.household import Household
from planner.results import Plan, Urgency

ENGLISH = {
    "order-by.subject": "Order supplies by {day}",
    "risk.subject": "Act on supplies today",
    "risk.text": "Supplies may run out before new ones come.",
    "delivery-late.subject": "A delivery of supplies is late",
    "delivery-late.text": "It has not come on the day it was due.",
    "digest.subject": "Supplies: {count} households to act for",
    "digest.subject-one": "Supplies: 1 household to act for",
    "digest.text": "These households need somebody to act, the most urgent first.",
    "digest.line-short": "{reference}: act today",
    "digest.line-order": "{reference}: order by {day}",
    "digest.more": "And {count} more.",
    "open": "Your supply plan: {address}",
    "stop": "No more of these messages: {address}",
}

CATALOGUE = {"en": ENGLISH, "de": GERMAN}

DIGEST_LINES = 50
"""Households that a digest names; the others are only counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Subject and body of a message; the links are added when it is sent."""

    subject: str
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DigestLine:
    """One household in a digest.

    Attributes:
        reference: how the coordinator knows it, without a person's name.
        order_by_on: None when somebody has to act at once.
    """

    reference: str
    order_by_on: date | None


def say(code: str, language: str = "en", **facts: object) -> str:
    """One sentence; English where the language lacks it."""
    pattern = CATALOGUE.get(language, ENGLISH).get(code) or ENGLISH[code]
    return pattern.format(**facts)


def order_by_text(plan: Plan, household: Household, form: FeedForm) -> Text:
    """The day to order by, with what the calendar says on it."""
    day = wording.day_text(
        plan.order.order_by_on or plan.as_of, today=plan.as_of, language=form.language
    )
    entry = _entry(plan, household, form, EntryKind.ORDER_BY)
    body = Words(plan, household, form).caution() if entry is None else entry.description
    return Text(subject=say("order-by.subject", form.language, day=day), body=body)


def risk_text(plan: Plan, household: Household, form: FeedForm) -> Text:
    """Goods may run out before new ones come: what to order, whom to call."""
    words = Words(plan, household, form)
    kind = EntryKind.ORDER_BY if plan.order.too_late else EntryKind.CALL
    entry = _entry(plan, household, form, kind)
    said = (words.calls(), *words.phones(), words.caution())
    lines = (say("risk.text", form.language), *(said if entry is None else (entry.description,)))
    return Text(subject=say("risk.subject", form.language), body=_joined(lines))


def delivery_late_text(plan: Plan, household: Household, form: FeedForm) -> Text:
    """An order has not come: call the supplier."""
    words = Words(plan, household, form)
    calls = words.calls() if plan.urgency is Urgency.SHORT else ""
    lines = (
        say("delivery-late.text", form.language),
        words.say("delivery-late.text"),
        calls,
        *words.phones(),
        words.caution(),
    )
    subject = say("delivery-late.subject", form.language)
    return Text(subject=subject, body=_joined(lines))


def digest_text(lines: Sequence[DigestLine], total: int, today: date, form: FeedForm) -> Text:
    """Households that need somebody to act.

    Args:
        lines: the most urgent ones, at most `DIGEST_LINES`.
        total: households that need somebody to act.
        today: in the agency's time zone.
        form: how it speaks.
    """
    shown = [_digest_line(line, today, form) for line in lines]
    if total > len(lines):
        shown.append(say("digest.more", form.language, count=total - len(lines)))
    body = [say("digest.text", form.language), *shown, form.say("caution")]
    code = "digest.subject-one" if total == 1 else "digest.subject"
    return Text(subject=say(code, form.language, count=total), body="\n".join(body))


def _digest_line(line: DigestLine, today: date, form: FeedForm) -> str:
    if line.order_by_on is None:
        return say("digest.line-short", form.language, reference=line.reference)
    day = wording.day_text(line.order_by_on, today=today, language=form.language)
    return say("digest.line-order", form.language, reference=line.reference, day=day)


def _entry(plan: Plan, household: Household, form: FeedForm, kind: EntryKind) -> FeedEntry | None:
    """What the calendar says about this, so that both say the same."""
    entries = household_entries(plan, household, created_on=plan.as_of, form=form)
    return next((entry for entry in entries if entry.key == kind), None)


def _joined(lines: Iterable[str]) -> str:
    return "\n".join(line for line in lines if line)
