"""Which reminders are due, how they speak, and when they keep still."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from app.reminder_words import DIGEST_LINES, DigestLine
from app.reminders import (
    FIRST_WAIT,
    TRIES,
    Choices,
    DueFact,
    OutboxState,
    Posted,
    ReminderKind,
    decide,
    digest_fact,
    has_facts,
    household_facts,
    next_try,
)
from planner.household import Household, Pause
from planner.ledger import Receipt, Reversal
from planner.results import NextDelivery, Plan, Reason, ReasonCode, Urgency
from planner.supply import OrderStatus
from tests.app.feed_builders import (
    ABOUT_HEALTH,
    ADVICE,
    TODAY,
    make_facts,
    make_household,
    make_order,
    proposal,
)

NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
ALL = Choices(wanted=frozenset(ReminderKind))
NEAR = make_facts(order=proposal(TODAY + timedelta(days=3)))
TOO_LATE = make_facts(
    urgency=Urgency.SHORT, order=replace(proposal(TODAY), too_late=True, risk_if_ordered_today=0.2)
)
RISKY_DELIVERY = make_facts(
    urgency=Urgency.SHORT,
    order=proposal(None),
    next_delivery=NextDelivery(
        order_id="o1", usual_on=date(2026, 3, 12), latest_on=date(2026, 3, 16), risk=0.2
    ),
    reasons=(
        Reason.because(ReasonCode.RISK_BEFORE_OPEN_DELIVERY, risk=0.2, usual_on=date(2026, 3, 12)),
    ),
)
LATE = make_facts(
    urgency=Urgency.STEADY,
    order=proposal(None),
    reasons=(Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o1"),),
)
PLANS = {"near": NEAR, "too late": TOO_LATE, "risky delivery": RISKY_DELIVERY, "late": LATE}


def facts_of(
    plan: Plan, household: Household | None = None, choices: Choices = ALL
) -> tuple[DueFact, ...]:
    return household_facts(plan, household or make_household(), choices)


def key_of(plan: Plan, household: Household | None = None) -> str:
    (fact,) = facts_of(plan, household)
    return fact.key


@pytest.mark.parametrize(
    ("what", "kind", "subject"),
    [
        ("near", ReminderKind.ORDER_BY, "Order supplies by Wed 11 March"),
        ("too late", ReminderKind.RISK, "Act on supplies today"),
        ("risky delivery", ReminderKind.RISK, "Act on supplies today"),
        ("late", ReminderKind.DELIVERY_LATE, "A delivery of supplies is late"),
    ],
)
def test_each_fact_gives_one_message(what: str, kind: ReminderKind, subject: str) -> None:
    (fact,) = facts_of(PLANS[what])
    assert (fact.kind, fact.text.subject) == (kind, subject)


@pytest.mark.parametrize("days", [4, 5, 30])
def test_an_order_day_further_off_is_not_announced_yet(days: int) -> None:
    plan = make_facts(order=proposal(TODAY + timedelta(days=days)))
    assert facts_of(plan) == ()
    assert not has_facts(plan, ALL.wanted)


def test_somebody_who_did_not_choose_the_risk_still_hears_of_the_order_that_is_late() -> None:
    choices = Choices(wanted=frozenset({ReminderKind.ORDER_BY}))
    (fact,) = facts_of(TOO_LATE, choices=choices)
    assert fact.kind is ReminderKind.ORDER_BY
    assert "Call your supplier and ask for express delivery" in fact.text.body


@pytest.mark.parametrize("what", list(PLANS))
def test_nothing_is_on_unless_chosen(what: str) -> None:
    assert facts_of(PLANS[what], choices=Choices()) == ()
    assert not has_facts(PLANS[what], ())


@pytest.mark.parametrize("what", list(PLANS))
def test_while_treatment_is_paused_or_over_nothing_is_due(what: str) -> None:
    plan = replace(PLANS[what], urgency=Urgency.RESTING)
    assert facts_of(plan) == ()
    assert not has_facts(plan, ALL.wanted)


@pytest.mark.parametrize("what", list(PLANS))
def test_plain_messages_say_nothing_about_health_names_or_goods(what: str) -> None:
    (fact,) = facts_of(PLANS[what])
    text = f"{fact.text.subject}\n{fact.text.body}"
    assert not ABOUT_HEALTH.search(text)
    assert not ADVICE.search(text)
    for name in ("Amber", "Quillfeather", "Larkmoor", "Heron", "K5"):
        assert name not in text
    assert text.splitlines()[-1] == "This tool only counts supplies. Follow your own plan."
    assert "555-0142" in text


@pytest.mark.parametrize("what", list(PLANS))
def test_detailed_messages_name_goods_in_the_body_only(what: str) -> None:
    (plain,) = facts_of(PLANS[what])
    (fact,) = facts_of(PLANS[what], choices=replace(ALL, detailed=True))
    assert fact.key == plain.key
    assert fact.text.subject == plain.text.subject
    assert "Larkmoor order desk (555-0142)" in fact.text.body
    assert not ADVICE.search(fact.text.body)
    assert ("2 boxes of Chest drainage kit" in fact.text.body) == (what in ("near", "too late"))


@pytest.mark.parametrize("what", ["too late", "risky delivery"])
def test_a_short_shelf_means_calling_somebody_and_keeping_to_the_plan(what: str) -> None:
    (fact,) = facts_of(PLANS[what])
    assert "Supplies may run out before new ones come." in fact.text.body
    assert "Call your supplier and ask for express delivery. Call your team." in fact.text.body
    assert "Keep to your own plan." in fact.text.body


def test_a_forecast_that_moves_is_the_same_fact() -> None:
    moved = make_facts(as_of=TODAY + timedelta(days=1), order=proposal(TODAY + timedelta(days=2)))
    assert key_of(moved) == key_of(NEAR)


def later_household(**changes: Any) -> Household:  # noqa: ANN401  (any field)
    return make_household(**changes)


NEW_NEEDS = {
    "an order": later_household(orders=(make_order(),)),
    "a cancelled order": later_household(
        orders=(replace(make_order(), status=OrderStatus.CANCELLED),)
    ),
    "goods that came": later_household(
        ledger=(
            *make_household().ledger,
            Receipt(id="r2", at=datetime(2026, 3, 1), item_code="K5", units=1),
        )
    ),
    "a time away": later_household(
        pauses=(Pause(starts_on=date(2026, 2, 20), ends_on=date(2026, 3, 1)),)
    ),
}


def test_what_changes_the_supply_makes_the_next_need_a_new_fact() -> None:
    keys = {key_of(NEAR, household) for household in NEW_NEEDS.values()}
    assert len(keys | {key_of(NEAR)}) == len(NEW_NEEDS) + 1


def test_a_count_a_receipt_taken_back_and_a_pause_to_come_make_no_new_fact() -> None:
    ledger = (
        *make_household().ledger,
        Receipt(id="r2", at=datetime(2026, 3, 1), item_code="K5", units=1),
        Reversal(id="x1", at=datetime(2026, 3, 2), reverses_id="r2"),
    )
    coming = Pause(starts_on=TODAY + timedelta(days=9))
    assert key_of(NEAR, make_household(ledger=ledger, pauses=(coming,))) == key_of(NEAR)


def test_two_late_orders_are_two_facts() -> None:
    both = tuple(Reason.because(ReasonCode.DELIVERY_OVERDUE, order=one) for one in ("o1", "o2"))
    keys = [fact.key for fact in facts_of(replace(LATE, reasons=both))]
    assert len(set(keys)) == 2
    assert not [key for key in keys if "o1" in key.split("/")]


QUIET = [
    (time(21), time(8), "20:59", False),
    (time(21), time(8), "21:00", True),
    (time(21), time(8), "03:00", True),
    (time(21), time(8), "07:59", True),
    (time(21), time(8), "08:00", False),
    (time(12), time(14), "13:00", True),
    (time(12), time(14), "14:00", False),
    (time(9), time(9), "09:00", False),
]


@pytest.mark.parametrize(("begins", "ends", "at", "quiet"), QUIET)
def test_quiet_hours_are_those_of_the_persons_own_clock(
    begins: time, ends: time, at: str, quiet: bool
) -> None:
    choices = Choices(
        wanted=ALL.wanted, quiet_from=begins, quiet_until=ends, time_zone="Asia/Kolkata"
    )
    # India keeps UTC+5:30 all year (IANA time zone database).
    now = datetime.fromisoformat(f"2026-03-09T{at}+05:30").astimezone(UTC)
    assert choices.is_quiet(now) is quiet
    assert bool(decide(facts_of(NEAR), {}, choices, now)) is not quiet


@pytest.mark.parametrize("state", OutboxState)
def test_only_a_waiting_message_is_tried_again_and_not_before_its_time(
    state: OutboxState,
) -> None:
    facts = facts_of(NEAR)
    posted = {facts[0].key: Posted(state=state, next_try_at=NOON)}
    due = decide(facts, posted, ALL, NOON)
    assert due == (facts if state is OutboxState.WAITING else ())
    assert decide(facts, posted, ALL, NOON - timedelta(seconds=1)) == ()


def test_waits_double_and_end() -> None:
    waits = [next_try(attempts, NOON) for attempts in range(1, TRIES)]
    assert waits == [NOON + FIRST_WAIT * 2**n for n in range(TRIES - 1)]
    assert next_try(TRIES, NOON) is None


FRIDAY = date(2026, 3, 13)
LINES = (
    DigestLine(reference="h-1", order_by_on=None),
    DigestLine(reference="h-2", order_by_on=date(2026, 3, 16)),
)


def test_the_digest_lists_households_without_names() -> None:
    (fact,) = digest_fact(LINES, 2, FRIDAY, ALL)
    assert fact.text.subject == "Supplies: 2 households to act for"
    assert fact.text.body.splitlines() == [
        "These households need somebody to act, the most urgent first.",
        "h-1: act today",
        "h-2: order by Mon 16 March",
        "This tool only counts supplies. Follow your own plan.",
    ]
    (single,) = digest_fact(LINES[:1], 1, FRIDAY, ALL)
    assert single.text.subject == "Supplies: 1 household to act for"


def test_there_is_one_digest_on_each_working_day() -> None:
    week = [digest_fact(LINES, 2, FRIDAY + timedelta(days=n), ALL) for n in range(7)]
    assert [bool(facts) for facts in week] == [True, False, False, True, True, True, True]
    assert len({fact.key for facts in week for fact in facts}) == 5


def test_a_digest_with_nothing_to_do_or_not_chosen_is_not_sent() -> None:
    assert digest_fact((), 0, FRIDAY, ALL) == ()
    assert digest_fact(LINES, 2, FRIDAY, Choices()) == ()


def test_a_long_digest_counts_the_rest() -> None:
    many = [DigestLine(reference=f"h-{n}", order_by_on=None) for n in range(DIGEST_LINES + 9)]
    (fact,) = digest_fact(many, 400, FRIDAY, ALL)
    assert "And 350 more." in fact.text.body.splitlines()
    assert len(fact.text.body.splitlines()) == DIGEST_LINES + 3
