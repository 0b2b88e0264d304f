"""Any plan gives a feed that parses back to the same facts.

What has to stand in the feed is worked out here from the plan, apart from the module that
writes entries. vobject reads it; it shares no code with the library that writes.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import vobject
from hypothesis import example, given, settings
from hypothesis import strategies as st

from app.feed import PublishedEntry, entry_uid, write_feed
from app.feed_entries import EntryKind, FeedEntry, household_entries
from app.feed_words import FeedForm
from planner.household import Household
from planner.items import ItemKind, SupplyItem
from planner.results import (
    NextDelivery,
    OrderProposal,
    Plan,
    ProposedLine,
    Reason,
    ReasonCode,
    RunOut,
    Urgency,
)
from planner.supply import Contact
from tests.app.feed_builders import CREATED_ON, FEED_KEY, TODAY, make_facts, make_household

HORIZON_DAYS = 120
DAYS = st.integers(0, HORIZON_DAYS).map(lambda offset: TODAY + timedelta(days=offset))
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
NAMES = st.text(
    st.characters(categories=["L", "N", "P", "S", "Zs", "M"]), min_size=1, max_size=40
).filter(lambda text: bool(text.strip()))
FORMS = st.sampled_from([FeedForm(), FeedForm(detailed=True)])


@st.composite
def run_outs(draw: st.DrawFn) -> RunOut:
    days = draw(st.lists(st.none() | DAYS, min_size=2, max_size=2))
    known = sorted(day for day in days if day is not None)
    cautious, expected = [*known, None, None][:2]
    return RunOut(
        as_of=TODAY,
        chance_by_day=(0.0,) * (HORIZON_DAYS + 1),
        cautious_on=cautious,
        expected_on=expected,
    )


@st.composite
def orders(draw: st.DrawFn) -> OrderProposal:
    boxes = draw(st.integers(0, 200))
    lines = (ProposedLine(item_code="K5", boxes=boxes, units=10 * boxes),) if boxes else ()
    order_by_on = draw(st.none() | DAYS)
    return OrderProposal(
        order_by_on=order_by_on,
        too_late=order_by_on == TODAY and draw(st.booleans()),
        risk_if_ordered_today=draw(st.floats(0.0, 1.0)),
        lines=lines,
        usual_arrival_on=draw(st.none() | DAYS),
        covers_until=draw(st.none() | DAYS),
        chance_short=draw(st.floats(0.0, 1.0)),
    )


@st.composite
def deliveries(draw: st.DrawFn) -> NextDelivery:
    usual, latest = sorted((draw(DAYS), draw(DAYS)))
    return NextDelivery(
        order_id=draw(st.sampled_from([None, "o1"])),
        usual_on=usual,
        latest_on=latest,
        risk=draw(st.floats(0.0, 1.0)),
    )


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    found: list[Reason] = []
    delivery = draw(deliveries())
    if draw(st.booleans()):
        found.append(Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o1"))
    if draw(st.booleans()):
        day = delivery.usual_on
        code = ReasonCode.RISK_BEFORE_OPEN_DELIVERY
        found.append(Reason.because(code, risk=delivery.risk, usual_on=day))
    if draw(st.booleans()):
        found.append(Reason.because(ReasonCode.AWAY, catheter="left chest", home_on=None))
    run_out = draw(run_outs())
    return make_facts(
        urgency=draw(st.sampled_from(Urgency)),
        run_out=run_out,
        run_out_with_coming=draw(run_outs()),
        order=draw(orders()),
        next_delivery=delivery,
        reasons=tuple(found),
    )


@st.composite
def households(draw: st.DrawFn) -> Household:
    """Names of goods and people in any script, with marks that iCalendar treats apart."""
    item = SupplyItem(
        code="K5", name=draw(NAMES), kind=ItemKind.KIT, capacity_ml=500, units_per_box=10
    )
    return make_household(
        items=(item,), care_team=Contact(name=draw(NAMES), phone=draw(st.just("") | NAMES))
    )


def wanted_days(plan: Plan) -> dict[str, date]:
    """The day of each kind of entry, as far as the plan alone tells it."""
    days: dict[str, date | None] = {EntryKind.STANDING: CREATED_ON}
    delivery = plan.next_delivery
    coming = delivery.usual_on if delivery.order_id else None
    if plan.urgency is Urgency.RESTING:
        days[EntryKind.DELIVERY] = coming if plan.reason(ReasonCode.AWAY) else None
    else:
        days[EntryKind.ORDER_BY] = plan.order.order_by_on if plan.order.lines else None
        risky = plan.reason(ReasonCode.RISK_BEFORE_OPEN_DELIVERY)
        days[EntryKind.CALL] = plan.as_of if risky else None
        days[EntryKind.RUN_OUT_CAUTIOUS] = plan.run_out.cautious_on
        days[EntryKind.RUN_OUT_EXPECTED] = plan.run_out.expected_on
        days[EntryKind.DELIVERY] = coming
    return {kind: day for kind, day in days.items() if day is not None}


def read(feed: bytes) -> dict[str, Any]:
    """The events of a feed by id, none twice."""
    (calendar,) = vobject.readComponents(feed.decode())
    calendar.validate(raiseException=True)
    events: list[Any] = calendar.vevent_list
    found = {event.uid.value: event for event in events}
    assert len(found) == len(events)
    return found


def published(entries: tuple[FeedEntry, ...], sequence: int) -> tuple[PublishedEntry, ...]:
    at = datetime(2026, 3, 8, 7, 30, tzinfo=UTC)
    return tuple(
        PublishedEntry(entry=entry, sequence=sequence, created_at=at, changed_at=at)
        for entry in entries
    )


@settings(deadline=None, max_examples=150)
@given(plan=plans(), household=households(), form=FORMS, sequence=st.integers(0, 10_000))
def test_any_plan_gives_a_feed_that_parses_back_to_the_same_facts(
    plan: Plan, household: Household, form: FeedForm, sequence: int
) -> None:
    entries = household_entries(plan, household, created_on=CREATED_ON, form=form)
    feed = write_feed(FEED_KEY, "Supplies", published(entries, sequence))
    assert all(len(line) <= 75 for line in feed.split(b"\r\n"))
    events = read(feed)
    days = {
        kind: events[entry_uid(FEED_KEY, kind)].dtstart.value
        for kind in EntryKind
        if entry_uid(FEED_KEY, kind) in events
    }
    other = {EntryKind.COUNT, EntryKind.USE_FIRST}
    assert {kind: day for kind, day in days.items() if kind not in other} == wanted_days(plan)
    assert (EntryKind.COUNT in days) == (plan.urgency is not Urgency.RESTING)
    for entry in entries:
        event = events[entry_uid(FEED_KEY, entry.key)]
        assert event.dtend.value == entry.starts_on + timedelta(days=1)
        assert event.summary.value == entry.summary
        assert event.description.value == entry.description
        assert int(event.sequence.value) == sequence


@settings(deadline=None, max_examples=300)
@example(summary="\\N \\n \\", description="\\;\\,\\\\N\n\\N")
@given(summary=TEXT, description=TEXT)
def test_any_text_comes_back_save_for_control_characters(summary: str, description: str) -> None:
    entry = FeedEntry(key="k", starts_on=TODAY, summary=summary, description=description)
    feed = write_feed(FEED_KEY, "Supplies", published((entry,), 0))
    (event,) = read(feed).values()
    assert event.summary.value == cleaned(summary)
    assert event.description.value == cleaned(description)


def cleaned(text: str) -> str:
    """RFC 5545 section 3.1: no control characters in a value; line breaks become one kind."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(sign for sign in lines if sign == "\n" or (sign >= " " and sign != "\x7f"))
