"""One ordinary household, its plan, and what a calendar reader sees of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any

from icalendar import Calendar

from app.feed import PublishedEntry, write_feed
from app.feed_entries import FeedEntry, household_entries
from app.feed_memory import remember
from app.feed_words import FeedForm
from planner.household import Catheter, Household, PlanSettings, Site
from planner.items import ItemKind, SupplyItem
from planner.ledger import Receipt
from planner.plan import make_plan
from planner.regimen import Pattern, Regimen
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
from planner.supply import Contact, Order, OrderLine, SupplierTerms

TODAY = date(2026, 3, 8)
CREATED_ON = date(2026, 2, 1)
NOW = datetime(2026, 3, 8, 7, 30, tzinfo=UTC)
FEED_KEY = "3f9a52c1d0e84b7fa6c5b2e1908d7c64"
DETAILED = FeedForm(detailed=True)

ABOUT_HEALTH = re.compile(
    r"drain|catheter|chest|abdom|pleur|ascit|fluid|bottle|vacuum|kit\b|kits\b|\bml\b|litre|session"
    r"|patient|care team|clinic|nurse|doctor|hospital|medic|steril|dressing|health|illness",
    re.IGNORECASE,
)
ADVICE = re.compile(
    r"stretch|skip|less often|more often|wait longer|save|spare|fewer|interval", re.IGNORECASE
)


def make_household(**changes: Any) -> Household:  # noqa: ANN401  (any field of the household)
    """A household with twenty kits whose care team and supplier can be called."""
    ordinary = Household(
        id="h-7f2c",
        name="Amber Quillfeather",
        time_zone="America/New_York",
        items=(
            SupplyItem(
                code="K5",
                name="Chest drainage kit",
                kind=ItemKind.KIT,
                capacity_ml=500,
                units_per_box=10,
            ),
        ),
        catheters=(
            Catheter(
                id="c1",
                label="left chest",
                site=Site.CHEST,
                kit_code="K5",
                regimens=(
                    Regimen(
                        starts_on=date(2026, 1, 1), pattern=Pattern.EVERY_N_DAYS, every_n_days=2
                    ),
                ),
            ),
        ),
        supplier=SupplierTerms(
            name="Larkmoor Supply",
            lead_business_days=3,
            contact=Contact(name="Larkmoor order desk", phone="555-0142"),
        ),
        settings=PlanSettings(horizon_days=45, cover_days=7),
        care_team=Contact(name="Heron Street chest clinic", phone="555-0177"),
        ledger=(
            Receipt(
                id="r1",
                at=datetime(2026, 2, 1, 9, 0),
                item_code="K5",
                units=20,
                lot="L1",
                expires_on=date(2027, 6, 30),
            ),
        ),
    )
    return replace(ordinary, **changes)


def make_order(order_id: str = "o1") -> Order:
    """An open order of one box."""
    return Order(
        id=order_id,
        placed_at=datetime(2026, 3, 6, 10, 0),
        lines=(OrderLine(item_code="K5", boxes=1),),
    )


@cache
def _forecast() -> Plan:
    return make_plan(make_household(), TODAY)


def make_facts(**changes: Any) -> Plan:  # noqa: ANN401  (any field of the plan)
    """A plan with chosen dates: order by the 12th, run-out on the 20th or 24th."""
    chosen = replace(
        _forecast(),
        urgency=Urgency.ORDER_SOON,
        run_out=run_out(date(2026, 3, 20), date(2026, 3, 24)),
        next_delivery=NextDelivery(
            order_id=None, usual_on=date(2026, 3, 11), latest_on=date(2026, 3, 13), risk=0.0
        ),
        order=proposal(date(2026, 3, 12)),
        reasons=(),
    )
    return replace(chosen, **changes)


def run_out(cautious_on: date | None, expected_on: date | None) -> RunOut:
    """A run-out with these two dates."""
    chances = (0.0,) * 121
    return RunOut(
        as_of=TODAY, chance_by_day=chances, cautious_on=cautious_on, expected_on=expected_on
    )


def proposal(order_by_on: date | None, *, too_late: bool = False) -> OrderProposal:
    """A proposal of two boxes."""
    return OrderProposal(
        order_by_on=order_by_on,
        too_late=too_late,
        risk_if_ordered_today=0.2 if too_late else 0.0,
        lines=(ProposedLine(item_code="K5", boxes=2, units=20),),
        usual_arrival_on=date(2026, 3, 17),
        covers_until=date(2026, 4, 14),
        chance_short=0.004,
    )


def open_delivery() -> NextDelivery:
    """The delivery of `make_order`."""
    return NextDelivery(
        order_id="o1", usual_on=date(2026, 3, 11), latest_on=date(2026, 3, 13), risk=0.001
    )


def short_plan() -> Plan:
    """A plan of a household that runs short before its open order comes."""
    return make_facts(
        urgency=Urgency.SHORT,
        run_out=run_out(TODAY, date(2026, 3, 10)),
        next_delivery=replace(open_delivery(), risk=0.4),
        order=proposal(TODAY, too_late=True),
        reasons=(
            Reason.because(
                ReasonCode.RISK_BEFORE_OPEN_DELIVERY, risk=0.4, usual_on=date(2026, 3, 11)
            ),
        ),
    )


def entries_of(plan: Plan, form: FeedForm | None = None) -> dict[str, FeedEntry]:
    """A plan's entries by key."""
    found = household_entries(
        plan, make_household(), created_on=CREATED_ON, form=form or FeedForm()
    )
    return {entry.key: entry for entry in found}


def first_published(entries: Iterable[FeedEntry]) -> tuple[PublishedEntry, ...]:
    """Entries published for the first time."""
    entries = tuple(entries)
    return tuple(
        PublishedEntry(
            entry=entry,
            sequence=one.sequence,
            created_at=one.created_at,
            changed_at=one.changed_at,
        )
        for entry, one in zip(entries, remember({}, entries, NOW), strict=True)
    )


def feed_of(plan: Plan, household: Household | None = None, form: FeedForm | None = None) -> bytes:
    """The feed of a plan that was never published before."""
    entries = household_entries(
        plan, household or make_household(), created_on=CREATED_ON, form=form or FeedForm()
    )
    return write_feed(FEED_KEY, "Supplies", first_published(entries))


def one_entry(**changes: Any) -> FeedEntry:  # noqa: ANN401  (any field of the entry)
    """One entry on its own."""
    entry = FeedEntry(
        key="order-by", starts_on=TODAY, summary="Order supplies by today", description="Text"
    )
    return replace(entry, **changes)


def calendar_of(feed: bytes) -> Any:  # noqa: ANN401  (the library types no property)
    """A feed as a reader finds it."""
    return Calendar.from_ical(feed)


def events_of(feed: bytes) -> list[Any]:
    """The events of a feed as a reader finds them; the library types no property."""
    return list(calendar_of(feed).walk("VEVENT"))


def event_of(entry: FeedEntry) -> Any:  # noqa: ANN401  (as `events_of`)
    """One entry, written and read again."""
    (event,) = events_of(write_feed(FEED_KEY, "Supplies", first_published([entry])))
    return event


def after(days: int) -> datetime:
    """So many days after `NOW`."""
    return NOW + timedelta(days=days)
