"""What if: one change that has not happened, applied to a household's record.

The record with the change in it is planned like any other, so a question and the real thing
always get the same answer. Nothing here saves anything, and nothing here proposes a change.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import count

from planner.dates import DateRange
from planner.delivery import (
    Arrival,
    SupplierCalendar,
    learn_lateness,
    order_usual_arrival,
    still_to_come,
)
from planner.errors import InvalidValue, require_int, require_text
from planner.household import Household, Pause
from planner.ledger import Place, Transfer, Waste
from planner.regimen import Regimen
from planner.stock import units_that_can_go
from planner.supply import Closure, Order

FURTHEST_DAYS = 180
"""How far ahead a change may begin or end: as far as a plan looks at most. [days]"""

LONGEST_BEGUN_DAYS = 31
"""How long ago a stay may have begun. [days]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class RegimenChange:
    """The prescriber changes the drain frequency of one catheter from a day on."""

    catheter_id: str
    regimen: Regimen


@dataclass(frozen=True, slots=True, kw_only=True)
class HospitalStay:
    """Days in a hospital, which uses its own goods.

    Attributes:
        ends_on: first day at home again; None while that is not known.
    """

    starts_on: date
    ends_on: date | None = None

    def __post_init__(self) -> None:
        _require_a_day(self.starts_on, self.ends_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodsTaken:
    """Units of one item that leave the shelf for a journey."""

    item_code: str
    units: int

    def __post_init__(self) -> None:
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=0, at_most=10_000, unit="units")


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """Days away from home with goods taken along.

    The goods count as packed from the day of the plan, since they are no longer there for the
    days until then.

    Attributes:
        ends_on: first day at home again.
        taken: goods taken along, each item once.
    """

    starts_on: date
    ends_on: date
    taken: tuple[GoodsTaken, ...] = ()

    def __post_init__(self) -> None:
        _require_a_day(self.starts_on, self.ends_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierClosed:
    """Days on which the supplier neither handles orders nor delivers, both ends included."""

    closure: Closure


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryLate:
    """An open order comes so many business days later than it would."""

    order_id: str
    business_days: int

    def __post_init__(self) -> None:
        days = self.business_days
        require_int("business_days", days, at_least=1, at_most=60, unit="business days")


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodsDamaged:
    """Units of one item that can no longer be used."""

    item_code: str
    units: int
    lot: str = ""

    def __post_init__(self) -> None:
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=1, at_most=10_000, unit="units")


Supposition = RegimenChange | HospitalStay | Travel | SupplierClosed | DeliveryLate | GoodsDamaged


def changed(household: Household, change: Supposition, as_of: date) -> Household:
    """The record as it would be with the change.

    Args:
        household: the record as it is; it stays as it is.
        change: what is supposed.
        as_of: day of the plan.

    Raises:
        InvalidValue: when the change does not fit the record or the day, naming the field
            `starts_on`, `ends_on`, `catheter`, `item`, `units` or `order`.
        InvalidHousehold: when the record would not hold together with it.
    """
    match change:
        case RegimenChange():
            return _with_regimen(household, change, as_of)
        case HospitalStay():
            require_near("starts_on", change.starts_on, as_of, begun_days=LONGEST_BEGUN_DAYS)
            return _away(household, change.starts_on, change.ends_on, as_of)
        case Travel():
            require_near("starts_on", change.starts_on, as_of)
            away = _away(household, change.starts_on, change.ends_on, as_of)
            return _packed(away, change.taken, as_of)
        case SupplierClosed():
            return _with_closure(household, change.closure, as_of)
        case DeliveryLate():
            return _with_late_order(household, change, as_of)
        case GoodsDamaged():
            return _damaged(household, change, as_of)


def _with_regimen(household: Household, change: RegimenChange, as_of: date) -> Household:
    require_near("starts_on", change.regimen.starts_on, as_of)
    catheter = household.catheter(change.catheter_id)
    kept = (one for one in catheter.regimens if one.starts_on != change.regimen.starts_on)
    new = replace(catheter, regimens=(*kept, change.regimen))
    others = tuple(new if one.id == new.id else one for one in household.catheters)
    return replace(household, catheters=others)


def _away(household: Household, starts_on: date, ends_on: date | None, as_of: date) -> Household:
    if ends_on is not None:
        if ends_on <= as_of:
            raise InvalidValue("ends_on", ends_on, f"it must be after today, {as_of}")
        require_near("ends_on", ends_on, as_of)
    pause = Pause(starts_on=starts_on, ends_on=ends_on)
    return replace(household, pauses=(*household.pauses, pause))


def _with_closure(household: Household, closure: Closure, as_of: date) -> Household:
    if closure.ends_on < as_of:
        raise InvalidValue("ends_on", closure.ends_on, f"it must not be before today, {as_of}")
    require_near("starts_on", closure.starts_on, as_of, begun_days=LONGEST_BEGUN_DAYS)
    terms = household.supplier
    return replace(household, supplier=replace(terms, closures=(*terms.closures, closure)))


def _with_late_order(household: Household, change: DeliveryLate, as_of: date) -> Household:
    order = next((one for one in household.orders if one.id == change.order_id), None)
    if order is None or not order.is_open:
        raise InvalidValue("order", change.order_id, "it is not on its way; choose an open order")
    late = replace(order, promised_on=_late_day(household, order, change.business_days, as_of))
    orders = tuple(late if one.id == late.id else one for one in household.orders)
    return replace(household, orders=orders)


def _late_day(household: Household, order: Order, business_days: int, as_of: date) -> date:
    """The usual day of a late order.

    An order whose day has passed is late from today on. Its day is then moved further until no
    arrival is likelier than before, since being late must never make goods come sooner.
    """
    supplier = SupplierCalendar(household.supplier, household.time_zone)
    lateness = learn_lateness(supplier, household.orders)
    calendar = supplier.for_order(order)
    usual_on = order_usual_arrival(calendar, order)
    yesterday = as_of - timedelta(days=1)
    before = still_to_come(calendar, calendar.arrivals(usual_on, lateness), yesterday, lateness)
    late_on = calendar.add_business_days(max(usual_on, as_of), business_days)
    late_on = calendar.delivery_on_or_after(late_on)
    while late_on < before[-1].on and not _never_sooner(
        calendar.arrivals(late_on, lateness), before
    ):
        late_on = calendar.delivery_on_or_after(late_on + timedelta(days=1))
    return late_on


def _never_sooner(later: tuple[Arrival, ...], before: tuple[Arrival, ...]) -> bool:
    """Whether by no day goods are likelier to have come than before."""

    def come_by(arrivals: tuple[Arrival, ...], day: date) -> float:
        return sum(one.chance for one in arrivals if one.on <= day)

    return all(come_by(later, one.on) <= come_by(before, one.on) + 1e-12 for one in later)


def _packed(household: Household, taken: tuple[GoodsTaken, ...], as_of: date) -> Household:
    """The record with goods in the travel bag by the end of the day of the plan."""
    for goods in taken:
        if goods.units:
            entry = Transfer(
                id=_fresh_id(household),
                at=datetime.combine(as_of, time.max),
                item_code=goods.item_code,
                units=goods.units,
                to=Place.BAG,
            )
            household = _with_leaving(household, entry)
    return household


def _damaged(household: Household, change: GoodsDamaged, as_of: date) -> Household:
    entry = Waste(
        id=_fresh_id(household),
        at=datetime.combine(as_of, time.max),
        item_code=change.item_code,
        units=change.units,
        reason="what if",
        lot=change.lot,
    )
    return _with_leaving(household, entry)


def _fresh_id(household: Household) -> str:
    used = {one.id for one in (*household.sessions, *household.ledger)}
    return next(key for key in (f"what-if-{n}" for n in count(1)) if key not in used)


def _with_leaving(household: Household, entry: Transfer | Waste) -> Household:
    household.item(entry.item_code)
    most = units_that_can_go(household, entry)
    if entry.units > most:
        fix = f"only {most} are there; give at most {most}, or count the shelf first"
        raise InvalidValue("units", entry.units, fix)
    return replace(household, ledger=(*household.ledger, entry))


def _require_a_day(starts_on: date, ends_on: date | None) -> None:
    DateRange(starts_on, ends_on)
    if ends_on == starts_on:
        raise InvalidValue("ends_on", ends_on, "it must be after the first day away")


def require_near(field: str, day: date, as_of: date, *, begun_days: int = 0) -> None:
    """Refuse a day in the past, or further ahead than a plan looks.

    Args:
        field: name of the field, for the fault.
        day: the day that is asked about.
        as_of: day of the plan.
        begun_days: how many days ago it may lie. [days]

    Raises:
        InvalidValue: naming the field.
    """
    if day < as_of - timedelta(days=begun_days):
        since = f"more than {begun_days} days ago" if begun_days else f"before today, {as_of}"
        raise InvalidValue(field, day, f"it lies {since}; choose a later day")
    if day > as_of + timedelta(days=FURTHEST_DAYS):
        fix = f"it lies more than {FURTHEST_DAYS} days ahead; choose a nearer day"
        raise InvalidValue(field, day, fix)
