"""What the coordinator's pages show: households by urgency, and the combined order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from app import wording
from app.combined import DueOrders
from app.queries import DueHousehold
from app.services_recalls import FoundItem, MarkedRecall
from app.texts import tr
from app.views import Sign, short_day, sign_of
from planner.household import Household
from planner.items import ItemKind
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


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundShown:
    """An item of which households had goods of a lot.

    Attributes:
        to_mark: households in which it is not marked yet.
    """

    item_code: str
    text: str
    to_mark: int


def found_shown(found: Iterable[FoundItem]) -> tuple[FoundShown, ...]:
    """Items with the number of households, and of units that are still there."""
    return tuple(
        FoundShown(
            item_code=one.item_code,
            text=_found_text(one),
            to_mark=sum(not holding.marked for holding in one.holdings),
        )
        for one in found
    )


def _found_text(found: FoundItem) -> str:
    here = [one for one in found.holdings if one.units]
    said = tr(
        "{item}: {units} here; households that have it: {count}",
        item=" / ".join(found.names),
        units=wording.units_text(sum(one.units for one in here), ItemKind.OTHER),
        count=len(here),
    )
    used_up, marked = len(found.holdings) - len(here), sum(one.marked for one in found.holdings)
    if used_up:
        said += tr("; that had it: {count}", count=used_up)
    if marked:
        said += tr("; marked already: {count}", count=marked)
    return said


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallShown:
    """A recall that was marked for many; `may_undo` where some of it still stands."""

    batch: str
    lot: str
    day: str
    by: str
    households: int
    may_undo: bool


def recalls_shown(found: Iterable[MarkedRecall], time_zone: str) -> tuple[RecallShown, ...]:
    """The latest recalls."""
    return tuple(
        RecallShown(
            batch=one.batch,
            lot=one.lot,
            day=wording.day_text(one.at.astimezone(ZoneInfo(time_zone)).date()),
            by=one.by,
            households=one.households,
            may_undo=one.standing > 0,
        )
        for one in found
    )
