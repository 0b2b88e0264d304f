"""Which reminders are due: what a plan says, what a person wants, what was sent before.

Nothing is read or sent here. A fact keeps its key for as long as it is the same fact, so that
a forecast that moves by a day makes no second message.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from app.feed_words import FeedForm
from app.reminder_words import (
    DIGEST_LINES,
    DigestLine,
    Text,
    delivery_late_text,
    digest_text,
    order_by_text,
    risk_text,
)
from planner.household import Household
from planner.ledger import Receipt
from planner.results import Plan, ReasonCode, Urgency
from planner.signs import misses_protection
from planner.supply import OrderStatus

APPROACHING_DAYS = 3
"""How early the day to order by is announced. Common practice, no source. [days]"""

QUIET_FROM, QUIET_UNTIL = time(21), time(8)
"""Quiet hours unless somebody chooses others. Common practice, no source."""

TRIES = 8
FIRST_WAIT = timedelta(minutes=5)
"""Wait after the first failed try; it doubles with each further one."""

LOST_AFTER = timedelta(minutes=15)
"""A try without an outcome for this long was cut off, and may have been delivered."""

_FRIDAY = 4


class ReminderKind(StrEnum):
    """What a person may be reminded of."""

    ORDER_BY = "order-by"
    RISK = "risk"
    DELIVERY_LATE = "delivery-late"
    DIGEST = "digest"


class OutboxState(StrEnum):
    """How far a message has come. Only a waiting one is ever tried."""

    WAITING = "waiting"
    SENDING = "sending"
    SENT = "sent"
    UNSURE = "unsure"
    GIVEN_UP = "given-up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What one person wants to hear, when not, and in which language.

    Attributes:
        wanted: nothing unless chosen.
        quiet_from, quiet_until: wall-clock times in `time_zone`; the same twice means never.
        time_zone: IANA name.
        detailed: name goods and amounts in the body.
        language: in which the person sees pages.
    """

    wanted: frozenset[ReminderKind] = frozenset()
    quiet_from: time = QUIET_FROM
    quiet_until: time = QUIET_UNTIL
    time_zone: str = "UTC"
    detailed: bool = False
    language: str = "en"

    @property
    def form(self) -> FeedForm:
        """How messages speak."""
        return FeedForm(detailed=self.detailed, language=self.language)

    def is_quiet(self, now: datetime) -> bool:
        """Whether an instant (aware) falls in the quiet hours."""
        at = now.astimezone(ZoneInfo(self.time_zone)).time()
        if self.quiet_from <= self.quiet_until:
            return self.quiet_from <= at < self.quiet_until
        return at >= self.quiet_from or at < self.quiet_until


@dataclass(frozen=True, slots=True, kw_only=True)
class DueFact:
    """One fact to tell one person.

    Attributes:
        key: the fact's lasting name among those of this person's choice.
    """

    kind: ReminderKind
    key: str
    text: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Posted:
    """What is known of a message about one fact; the instant is UTC."""

    state: OutboxState
    next_try_at: datetime


def has_facts(plan: Plan, wanted: Iterable[ReminderKind]) -> bool:
    """Whether a plan holds any fact of these kinds; it spares reading the whole record."""
    return any(True for _ in _kinds_and_orders(plan, frozenset(wanted)))


def household_facts(plan: Plan, household: Household, choices: Choices) -> tuple[DueFact, ...]:
    """What is to be told about a household, sent before or not.

    Args:
        plan: the household's plan.
        household: the record it was made from.
        choices: of the person to tell.

    Returns:
        Nothing while treatment is paused or has ended.
    """
    supply = _supply_state(household, plan.as_of)
    texts = {
        ReminderKind.ORDER_BY: order_by_text,
        ReminderKind.RISK: risk_text,
        ReminderKind.DELIVERY_LATE: delivery_late_text,
    }
    return tuple(
        DueFact(
            kind=kind,
            key=f"{kind}/{supply if order_id is None else _short_hash(order_id)}",
            text=texts[kind](plan, household, choices.form),
        )
        for kind, order_id in _kinds_and_orders(plan, choices.wanted)
    )


def digest_fact(
    lines: Iterable[DigestLine], total: int, today: date, choices: Choices
) -> tuple[DueFact, ...]:
    """A coordinator's digest: one per working day on which anybody has to act."""
    if ReminderKind.DIGEST not in choices.wanted or not total or today.weekday() > _FRIDAY:
        return ()
    text = digest_text(tuple(lines)[:DIGEST_LINES], total, today, choices.form)
    return (DueFact(kind=ReminderKind.DIGEST, key=f"{ReminderKind.DIGEST}/{today}", text=text),)


def decide(
    facts: Iterable[DueFact], posted: Mapping[str, Posted], choices: Choices, now: datetime
) -> tuple[DueFact, ...]:
    """The messages to try now.

    Args:
        facts: what is to be told.
        posted: by key, what was tried before.
        choices: of the person to tell.
        now: present instant, aware.
    """
    if choices.is_quiet(now):
        return ()
    return tuple(
        fact
        for fact in facts
        if fact.kind in choices.wanted and _may_try(posted.get(fact.key), now)
    )


def next_try(attempts: int, now: datetime) -> datetime | None:
    """When to try again after so many failed tries; None when it is given up."""
    return None if attempts >= TRIES else now + FIRST_WAIT * 2 ** (attempts - 1)


def _may_try(before: Posted | None, now: datetime) -> bool:
    if before is None:
        return True
    return before.state is OutboxState.WAITING and before.next_try_at <= now


def _kinds_and_orders(
    plan: Plan, wanted: frozenset[ReminderKind]
) -> Iterator[tuple[ReminderKind, str | None]]:
    if plan.urgency is Urgency.RESTING:
        return
    told = ReminderKind.RISK in wanted and misses_protection(plan)
    if told:
        yield ReminderKind.RISK, None
    # A shelf that may run out has one message, not two.
    if ReminderKind.ORDER_BY in wanted and _order_by_is_near(plan) and not told:
        yield ReminderKind.ORDER_BY, None
    if ReminderKind.DELIVERY_LATE in wanted:
        for reason in plan.reasons:
            if reason.code is ReasonCode.DELIVERY_OVERDUE:
                yield ReminderKind.DELIVERY_LATE, str(reason.facts.get("order"))


def _order_by_is_near(plan: Plan) -> bool:
    day = plan.order.order_by_on
    near = plan.as_of + timedelta(days=APPROACHING_DAYS)
    return day is not None and bool(plan.order.lines) and day <= near


def _supply_state(household: Household, today: date) -> str:
    """A name for what was ordered and received so far.

    As long as it stays, a need to order is the same need, however its dates move. Goods that
    came, an order, a cancelled order and a time away each make the next need a new one.
    """
    parts = [
        f"receipt {one.id}"
        for one in household.valid_entries
        if isinstance(one, Receipt) and one.order_id is None
    ]
    parts += [
        f"order {one.id} {'off' if one.status is OrderStatus.CANCELLED else 'on'}"
        for one in household.orders
        if one.status is not OrderStatus.CONFIRMED
    ]
    parts += [f"away {one.starts_on}" for one in household.pauses if one.starts_on <= today]
    return _short_hash("\n".join(sorted(parts)))


def _short_hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:32]
