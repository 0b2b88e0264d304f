"""What stands in a calendar feed: a plan's dates, each with its words.

Facts come from the plan; nothing is forecast here. The only rules of its own are how often
a count is suggested and how early a use-by date shows.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from app import wording, wording_steps
from app.feed_filter import ALL_DUE, DueKind, FeedFilter
from app.feed_words import FeedForm
from app.messages import message
from planner.household import Household
from planner.ledger import Count, Receipt
from planner.results import Plan, ReasonCode, Urgency
from planner.shelf_lots import ShelfLot
from planner.stock import shelf_on

COUNT_EVERY_WEEKS = 4
"""How often a count is suggested. Common practice, no source. [weeks]"""

USE_FIRST_DAYS = 60
"""How early the use-by date of goods on the shelf shows. Common practice, no source. [days]"""


class EntryKind(StrEnum):
    """The entries of a household's feed; each has one lasting identity."""

    STANDING = "standing"
    ORDER_BY = "order-by"
    CALL = "call"
    RUN_OUT_CAUTIOUS = "run-out-cautious"
    RUN_OUT_EXPECTED = "run-out-expected"
    DELIVERY = "delivery"
    COUNT = "count"
    USE_FIRST = "use-first"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedEntry:
    """One all-day entry.

    Attributes:
        key: its lasting name within the feed; at most one entry has it.
        starts_on: the day it stands on.
        alarm: whether a reminder belongs to it.
        every_weeks: weeks between repetitions; None for a single day.
    """

    key: str
    starts_on: date
    summary: str
    description: str
    alarm: bool = False
    every_weeks: int | None = None

    @property
    def digest(self) -> str:
        """A fingerprint of everything a reader sees; it changes when the entry does."""
        parts = (
            self.starts_on.isoformat(),
            self.summary,
            self.description,
            str(self.alarm),
            str(self.every_weeks),
        )
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdDue:
    """One household in a coordinator's feed.

    Attributes:
        reference: how the coordinator knows it, without a person's name.
    """

    reference: str
    household: Household
    plan: Plan


PLAIN = FeedForm()


def household_entries(
    plan: Plan, household: Household, *, created_on: date, form: FeedForm = PLAIN
) -> tuple[FeedEntry, ...]:
    """The entries of one household's feed, in the order of `EntryKind`.

    Args:
        plan: the household's plan.
        household: the record the plan was made from.
        created_on: day on which the feed was set up.
        form: how it speaks.

    Returns:
        At least the standing entry. A household that rests has no other one, save a
        delivery on its way to somebody who is only away.
    """
    words = Words(plan, household, form)
    found: list[FeedEntry] = [_standing(created_on, form)]
    if plan.urgency is Urgency.RESTING:
        if plan.reason(ReasonCode.AWAY):
            found += _delivery(words)
        return tuple(found)
    for part in (_order_by, _call, _run_outs, _delivery, _count, _use_first):
        found += part(words)
    return tuple(found)


def coordinator_entries(
    due: Iterable[HouseholdDue],
    *,
    created_on: date,
    form: FeedForm = PLAIN,
    wanted: FeedFilter = ALL_DUE,
) -> tuple[FeedEntry, ...]:
    """The entries of a coordinator's feed about households that need somebody to act.

    Args:
        due: households in any order; those that need nothing are left out.
        created_on: day on which the feed was set up.
        form: how it speaks; the plain form names no household.
        wanted: which households and kinds appear; one entry for each household unless chosen
            otherwise.
    """
    found = [entry for one in due for entry in _due(one, form, wanted)]
    found.sort(key=lambda entry: (entry.starts_on, entry.key))
    return (_standing(created_on, form), *found)


class Words:
    """A plan and its household, with the form in which to speak of them."""

    def __init__(self, plan: Plan, household: Household, form: FeedForm) -> None:
        self.plan = plan
        self.names = wording.names_of(household)
        self.household = household
        self.form = form

    def say(self, code: str, **facts: object) -> str:
        """One sentence of the calendar."""
        return self.form.say(code, **facts)

    def day(self, day: date) -> str:
        """A day as people say it."""
        return wording.day_text(day, today=self.plan.as_of, language=self.form.language)

    def caution(self) -> str:
        """The line that ends every entry."""
        if self.form.detailed:
            return message("caution", language=self.form.language)
        return self.say("caution")

    def order_lines(self) -> str:
        """What to order; the plain form only says where to look."""
        if self.form.detailed:
            return wording.order_lines_text(self.plan.order, self.names, self.form.language)
        return self.say("order.list")

    def calls(self) -> str:
        """What to do about a short shelf: whom to call, never how to use less."""
        if self.form.detailed:
            return " ".join(wording_steps.call_texts(self.plan, self.names, self.form.language))
        if self.plan.urgency is not Urgency.SHORT:
            return ""
        return f"{self.say('short')} {self.say('keep-to-plan')}"

    def phones(self) -> Iterator[str]:
        """Whom to call; the plain form gives numbers without names."""
        known = (
            ("phone.supplier", self.household.supplier.contact),
            ("phone.team", self.household.care_team),
        )
        for code, contact in known:
            if contact is not None and contact.phone:
                shown = wording.contact_text(contact, "", self.form.language)
                yield self.say(code, contact=shown if self.form.detailed else contact.phone)

    def entry(
        self, kind: EntryKind, day: date, summary: str, *text: str | None, alarm: bool = False
    ) -> FeedEntry:
        """One entry with whom to call and the caution below its text."""
        return FeedEntry(
            key=kind,
            starts_on=day,
            summary=self.say(f"{summary}.summary"),
            description=_lines(*text, *self.phones(), self.caution()),
            alarm=alarm,
        )


def _standing(created_on: date, form: FeedForm) -> FeedEntry:
    """The entry that is always there: readers refuse a feed that has become empty."""
    return FeedEntry(
        key=EntryKind.STANDING,
        starts_on=created_on,
        summary=form.say("standing.summary"),
        description=_lines(form.say("standing.text"), form.say("caution")),
    )


def has_order_day(plan: Plan) -> bool:
    """Whether a plan asks for an order by some day."""
    asked = plan.order.order_by_on is not None and bool(plan.order.lines)
    return asked and plan.urgency is not Urgency.RESTING


def _order_by(words: Words) -> Iterator[FeedEntry]:
    order = words.plan.order
    if order.order_by_on is None or not has_order_day(words.plan):
        return
    name = "order-late" if order.too_late else "order-by"
    text = (words.say(f"{name}.text"), words.order_lines(), words.calls())
    yield words.entry(EntryKind.ORDER_BY, order.order_by_on, name, *text, alarm=True)


def _call(words: Words) -> Iterator[FeedEntry]:
    if words.plan.reason(ReasonCode.RISK_BEFORE_OPEN_DELIVERY):
        text = (words.say("call.text"), words.calls())
        yield words.entry(EntryKind.CALL, words.plan.as_of, "call", *text, alarm=True)


def _run_outs(words: Words) -> Iterator[FeedEntry]:
    plan, language = words.plan, words.form.language
    cautious, expected = EntryKind.RUN_OUT_CAUTIOUS, EntryKind.RUN_OUT_EXPECTED
    if words.form.detailed:
        texts = (wording.sure_text(plan, language), wording.lasts_text(plan, language))
        coming = wording.with_coming_text(plan, language)
    else:
        protection = wording.protection_text(plan.protection, language)
        sure = words.say("run-out-cautious.text", protection=protection)
        texts = (sure, words.say("run-out-expected.text"))
        coming = words.say("run-out.coming") if plan.next_delivery.order_id else None
    if plan.run_out.cautious_on is not None:
        more = (texts[0], coming, words.calls())
        yield words.entry(cautious, plan.run_out.cautious_on, cautious, *more)
    if plan.run_out.expected_on is not None:
        more = (texts[1], coming, words.calls())
        yield words.entry(expected, plan.run_out.expected_on, expected, *more)


def _delivery(words: Words) -> Iterator[FeedEntry]:
    delivery = words.plan.next_delivery
    if delivery.order_id is None:
        return
    late = _is_late(words.plan)
    if words.form.detailed:
        text = (wording.delivery_text(words.plan, words.form.language), words.calls())
    else:
        text = (_expected(words), words.say("delivery-late.text") if late else "")
    name = "delivery-late" if late else "delivery"
    yield words.entry(EntryKind.DELIVERY, delivery.usual_on, name, *text)


def _is_late(plan: Plan) -> bool:
    """Whether the next delivery is an open order that should have come by now."""
    return any(
        reason.code is ReasonCode.DELIVERY_OVERDUE
        and reason.facts.get("order") == plan.next_delivery.order_id
        for reason in plan.reasons
    )


def _expected(words: Words) -> str:
    delivery = words.plan.next_delivery
    name = "delivery" if delivery.usual_on < delivery.latest_on else "delivery-sure"
    return words.say(f"{name}.text", latest=words.day(delivery.latest_on))


def _count(words: Words) -> Iterator[FeedEntry]:
    yield FeedEntry(
        key=EntryKind.COUNT,
        starts_on=_next_count_on(words.household, words.plan.as_of),
        summary=words.say("count.summary"),
        description=_lines(words.say("count.text"), words.caution()),
        every_weeks=COUNT_EVERY_WEEKS,
    )


def _next_count_on(household: Household, today: date) -> date:
    """Some weeks after the last count, or after the first goods came; it may be past.

    It repeats from there, so a count that is put off asks again later, not every day.
    """
    kept = household.valid_entries
    counts = [one.at.date() for one in kept if isinstance(one, Count)]
    receipts = [one.at.date() for one in kept if isinstance(one, Receipt)]
    last = max(counts, default=min(receipts, default=today))
    return last + timedelta(weeks=COUNT_EVERY_WEEKS)


def _use_first(words: Words) -> Iterator[FeedEntry]:
    today = words.plan.as_of
    codes = [
        code
        for one in words.plan.shelves
        for code in (*one.other_kit_codes, one.kit_code, one.bottle_code)
    ]
    shelf = shelf_on(words.household, today)
    lots = [lot for code in dict.fromkeys(codes) if code for lot in shelf.usable_lots(code)]
    soonest = min((lot.expires_on for lot in lots if lot.expires_on is not None), default=None)
    if soonest is None or soonest > today + timedelta(days=USE_FIRST_DAYS):
        return
    lines: list[str] = []
    if words.form.detailed:
        lines = [_lot_line(words, lot) for lot in lots if lot.expires_on == soonest]
    text = (words.say("use-first.text"), *lines)
    yield words.entry(EntryKind.USE_FIRST, soonest, "use-first", *text)


def _lot_line(words: Words, lot: ShelfLot) -> str:
    item = words.household.item(lot.item_code)
    units = wording.units_text(lot.units, item.kind, words.form.language)
    code = "use-first.line" if lot.lot else "use-first.line-without-lot"
    return words.say(code, item=item.name, units=units, lot=lot.lot)


def _due(due: HouseholdDue, form: FeedForm, wanted: FeedFilter) -> Iterator[FeedEntry]:
    if not wanted.admits(due.plan, due.household):
        return
    words = Words(due.plan, due.household, form)
    if due.plan.urgency is Urgency.SHORT or wanted.wants(DueKind.ORDER_BY):
        yield _due_to_act(due, words)
    if wanted.wants(DueKind.RUN_OUT):
        yield from _due_run_out(due, words)
    if wanted.wants(DueKind.DELIVERY):
        yield from _due_delivery(due, words)


def _due_to_act(due: HouseholdDue, words: Words) -> FeedEntry:
    plan = due.plan
    short = plan.urgency is Urgency.SHORT
    name = "due-short" if short else "due-order"
    day = plan.as_of if short else plan.order.order_by_on or plan.as_of
    dates = (("due.expected", plan.run_out.expected_on), ("due.cautious", plan.run_out.cautious_on))
    run_outs = [words.say(code, day=words.day(on)) for code, on in dates if on is not None]
    order = words.order_lines() if words.form.detailed else None
    text = (words.say(f"{name}.text"), *run_outs)
    return _due_entry("due", due, words, day, name, *text, order=order, alarm=short)


def _due_run_out(due: HouseholdDue, words: Words) -> Iterator[FeedEntry]:
    plan, language = due.plan, words.form.language
    if plan.run_out.cautious_on is None:
        return
    protection = wording.protection_text(plan.protection, language)
    text = (
        words.say("run-out-cautious.text", protection=protection),
        words.say("run-out.coming") if plan.next_delivery.order_id else None,
        words.say("due-short.text") if plan.urgency is Urgency.SHORT else None,
    )
    yield _due_entry("run-out", due, words, plan.run_out.cautious_on, "due-run-out", *text)


def _due_delivery(due: HouseholdDue, words: Words) -> Iterator[FeedEntry]:
    delivery = due.plan.next_delivery
    if delivery.order_id is None:
        return
    late = _is_late(due.plan)
    name = "due-delivery-late" if late else "due-delivery"
    text = (_expected(words), words.say(f"{name}.text") if late else None)
    yield _due_entry("delivery", due, words, delivery.usual_on, name, *text)


def _due_entry(
    lead: str,
    due: HouseholdDue,
    words: Words,
    day: date,
    name: str,
    *text: str | None,
    order: str | None = None,
    alarm: bool = False,
) -> FeedEntry:
    """One entry about a household; the plain form says neither its name nor whom to call."""
    more = (due.household.name, order, *words.phones()) if words.form.detailed else ()
    return FeedEntry(
        key=f"{lead}/{due.household.id}",
        starts_on=day,
        summary=words.say(f"{name}.summary", reference=due.reference),
        description=_lines(*text, *more, words.caution()),
        alarm=alarm,
    )


def _lines(*text: str | None) -> str:
    return "\n".join(line for line in text if line)
