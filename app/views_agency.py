"""What the coordinator's pages show: households by urgency, and the combined order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from app import wording
from app.combined import DueOrders
from app.queries import DueHousehold
from app.texts import tr
from app.views import Sign, short_day, sign_of
from planner.household import Household
from planner.results import ProposedLine
from planner.rollup import CombinedOrder, HouseholdOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class DueLine:
    """One household in the list; days are the last ones with supplies.

    Attributes:
        calls: whom to call when supplies run short; empty otherwise.
    """

    href: str
    name: str
    sign: Sign
    order_by: str
    sure: str
    expected: str
    calls: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartShown:
    """One household's part of a combined order."""

    href: str
    name: str
    order_by: str
    boxes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinedShown:
    """One combined order as shown; totals are item, boxes, units."""

    supplier: str
    call: str
    order_by: str
    delivery: str
    totals: tuple[tuple[str, str, str], ...]
    parts: tuple[PartShown, ...]


def due_lines(
    found: Iterable[DueHousehold], calls: Mapping[str, tuple[str, ...]], today: date
) -> tuple[DueLine, ...]:
    """The lines of one page of the list."""
    return tuple(
        DueLine(
            href=f"/h/{one.household_id}",
            name=one.name,
            sign=sign_of(one.urgency),
            order_by=short_day(one.order_by_on, today),
            sure=_last_day(one.cautious_on, today),
            expected=_last_day(one.expected_on, today),
            calls=calls.get(one.household_id, ()),
        )
        for one in found
    )


def _last_day(ends_on: date | None, today: date) -> str:
    if ends_on is not None and ends_on <= today:
        return tr("not today")
    return short_day(ends_on - timedelta(days=1) if ends_on else None, today)


def combined_shown(due: DueOrders, today: date) -> tuple[CombinedShown, ...]:
    """The combined orders of the coming week."""
    return tuple(_shown(one, due.households, today) for one in due.orders)


def _shown(order: CombinedOrder, households: Mapping[str, Household], today: date) -> CombinedShown:
    first = households[order.households[0].household_id]
    return CombinedShown(
        supplier=order.supplier,
        call=wording.supplier_text(wording.names_of(first)),
        order_by=wording.day_text(order.order_by_on, today=today),
        delivery=wording.day_text(order.delivery_on, today=today),
        totals=tuple(
            (one.item_name, wording.count_text(one.boxes, "boxes"), f"{one.units:,}")
            for one in order.totals
        ),
        parts=tuple(_part(one, households[one.household_id], today) for one in order.households),
    )


def _part(part: HouseholdOrder, household: Household, today: date) -> PartShown:
    def words(line: ProposedLine) -> str:
        return wording.boxes_text(line.boxes, household.item(line.item_code).name)

    return PartShown(
        href=f"/h/{part.household_id}/order",
        name=household.name,
        order_by=wording.day_text(part.order_by_on, today=today),
        boxes=wording.joined([words(line) for line in part.lines]),
    )
