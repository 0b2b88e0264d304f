"""Run-out of a household: its shelves followed with and without goods in transit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from planner.assumptions import READY_DAYS_AFTER_ARRIVAL
from planner.delivery import (
    Arrival,
    SupplierCalendar,
    learn_lateness,
    order_usual_arrival,
    still_to_come,
)
from planner.demand import (
    ComingGoods,
    ExpiringUnits,
    RunOutChances,
    StockPath,
    UseChances,
    follow,
    levels,
)
from planner.household import Household
from planner.ledger import Receipt
from planner.normal import Floats
from planner.outlook import ShelfForecast
from planner.results import RunOut
from planner.shared_shelf import WORTH_MAKING_EXACT, SharedUse, shared_use
from planner.shelf_lots import ShelfLot
from planner.stock import Shelf
from planner.supply import Order


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingOrder:
    """An open order as it may still arrive.

    Attributes:
        units: units not yet received, by item.
        is_overdue: every day on which it was expected has passed.
    """

    order: Order
    units: dict[str, int]
    arrivals: tuple[Arrival, ...]
    is_overdue: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfRunOut:
    """One shelf followed three ways.

    Attributes:
        at_home: goods at home only.
        with_coming: goods in transit as well.
        before_last: goods in transit without the order expected last; `at_home` when there
            is at most one.
        is_bound: the chances are upper bounds, which may be above the truth.
        shared: what catheters use together, where there are several.
    """

    forecast: ShelfForecast
    use: UseChances
    at_home: RunOutChances
    before_last: RunOutChances
    with_coming: RunOutChances
    is_bound: bool
    shared: SharedUse | None = None


def coming_orders(
    household: Household, calendar: SupplierCalendar, as_of: date
) -> tuple[ComingOrder, ...]:
    """Open orders with goods still to come, soonest first; today's van may yet come."""
    yesterday = as_of - timedelta(days=1)
    lateness = learn_lateness(calendar, household.orders)
    coming = []
    for order in household.orders:
        units = _units_to_come(household, order)
        if order.is_open and units:
            own = calendar.for_order(order)
            expected = own.arrivals(order_usual_arrival(calendar, order), lateness)
            coming.append(
                ComingOrder(
                    order=order,
                    units=units,
                    arrivals=still_to_come(own, expected, yesterday, lateness),
                    is_overdue=expected[-1].on < as_of,
                )
            )
    coming.sort(key=lambda one: (one.arrivals[0].on, one.order.placed_at, one.order.id))
    return tuple(coming)


def _units_to_come(household: Household, order: Order) -> dict[str, int]:
    units: dict[str, int] = {}
    for line in order.lines:
        per_box = household.item(line.item_code).units_per_box
        units[line.item_code] = units.get(line.item_code, 0) + line.boxes * per_box
    for entry in household.valid_entries:
        if isinstance(entry, Receipt) and entry.order_id == order.id:
            units[entry.item_code] = units.get(entry.item_code, 0) - entry.units
    return {code: count for code, count in units.items() if count > 0}


def follow_shelf(
    forecast: ShelfForecast, shelf: Shelf, coming: Sequence[ComingOrder], horizon_days: int
) -> ShelfRunOut:
    """Follow one shelf with goods at home, and with goods in transit."""
    at_home_path = stock_path(forecast, shelf, horizon_days)
    goods = [
        coming_goods(forecast, one, shelf.on, horizon_days)
        for one in coming
        if forecast.item_codes & one.units.keys()
    ]
    paths = [at_home_path]
    if goods:
        paths.append(replace(at_home_path, coming=tuple(goods)))
    if len(goods) > 1:
        paths.append(replace(at_home_path, coming=tuple(goods[:-1])))
    shared = None
    if len(forecast.catheters) == 1:
        followed = follow(forecast.catheters[0].chain, paths)
        use, run_outs = followed.use, followed.run_outs
    else:
        shared = shared_use([one.chain for one in forecast.catheters], at_home_path.kits_ml)
        use, run_outs = shared.use, _run_outs(shared, paths)
    return ShelfRunOut(
        forecast=forecast,
        use=use,
        at_home=run_outs[0],
        with_coming=run_outs[min(1, len(goods))],
        before_last=run_outs[2 if len(goods) > 1 else 0],
        is_bound=_is_bound(forecast, at_home_path, run_outs),
        shared=shared,
    )


def _run_outs(shared: SharedUse, paths: Sequence[StockPath]) -> tuple[RunOutChances, ...]:
    kits, bottles = zip(*(levels(path) for path in paths), strict=True)
    # Worked out once, as far as any of the paths needs it; so the one with most goes first.
    most_kits, most_bottles = max(map(max, kits)), max(map(max, bottles))
    shared.law(len(shared.use.bottles), kits=most_kits, bottles=most_bottles)
    order = sorted(range(len(paths)), key=lambda n: len(paths[n].coming), reverse=True)
    found = {n: shared.run_out(paths[n]) for n in order}
    return tuple(found[n] for n in range(len(paths)))


def _is_bound(forecast: ShelfForecast, path: StockPath, run_outs: Sequence[RunOutChances]) -> bool:
    """Whether what is shown may be above the truth: what is simplified always errs that way."""
    if forecast.bottle_shares > 1 and forecast.bottle_code is not None:
        return True
    if len(forecast.catheters) == 1:
        return False
    sizes_ml = {*path.kits_ml, *(one.chain.sizes.kit_ml for one in forecast.catheters)}
    bottle_codes = {one.catheter.bottle_code for one in forecast.catheters}
    if len(sizes_ml) > 1 or len(bottle_codes) > 1:
        return True
    return any(one.most_above > WORTH_MAKING_EXACT for one in run_outs)


def stock_path(forecast: ShelfForecast, shelf: Shelf, horizon_days: int) -> StockPath:
    """What a shelf has at home, kits in the order in which they are opened."""
    bottle, shares = forecast.bottle_code, forecast.bottle_shares
    kits = shelf.kits_in_order(forecast.kit_code, forecast.other_kit_codes)
    kits_ml = [forecast.kits_ml[lot.item_code] for lot in kits for _ in range(lot.units)]
    return StockPath(
        kits=len(kits_ml),
        bottles=shelf.usable_units(bottle) // shares if bottle else 0,
        expiring_kits=_expiring(kits, shelf.on, horizon_days),
        expiring_bottles=(
            _expiring(shelf.usable_lots(bottle), shelf.on, horizon_days, shares) if bottle else ()
        ),
        kits_ml=tuple(kits_ml),
    )


def _expiring(
    lots: Sequence[ShelfLot], on: date, horizon_days: int, shares: int = 1
) -> tuple[ExpiringUnits, ...]:
    by_day: dict[int, int] = {}
    for lot in lots:
        if lot.expires_on is not None:
            last_day = (lot.expires_on - on).days
            if last_day < horizon_days:
                by_day[last_day] = by_day.get(last_day, 0) + lot.units // shares
    return tuple(ExpiringUnits(last_day=day, units=units) for day, units in sorted(by_day.items()))


def coming_goods(
    forecast: ShelfForecast, order: ComingOrder, as_of: date, horizon_days: int
) -> ComingGoods:
    """What an open order brings a shelf, and when it may be ready."""
    kits, bottles = forecast.goods_among(order.units)
    return ComingGoods(
        kits=kits,
        bottles=bottles,
        ready_chance=_ready_chances(order.arrivals, as_of, horizon_days),
    )


def _ready_chances(
    arrivals: Sequence[Arrival], as_of: date, horizon_days: int
) -> tuple[float, ...]:
    """Chance by day that goods become ready that morning. [day]"""
    chances = [0.0] * horizon_days
    for arrival in arrivals:
        day = (arrival.on - as_of).days + READY_DAYS_AFTER_ARRIVAL
        if day < horizon_days:
            chances[day] += arrival.chance
    return tuple(chances)


def either_shelf(chances: Sequence[Floats]) -> Floats:
    """Chance that at least one of several independent shelves has run out, by day."""
    none = np.ones_like(chances[0])
    for by_day in chances:
        none = none * (1.0 - by_day)
    return 1.0 - none


def run_out(as_of: date, by_day: Floats, protection: float) -> RunOut:
    """Read the expected and the cautious date off a run-out distribution.

    Args:
        as_of: day of the plan.
        by_day: probability that the run-out has happened by the end of each day.
        protection: the cautious date is the first with probability 1 - protection.
    """
    return RunOut(
        as_of=as_of,
        chance_by_day=tuple(float(chance) for chance in by_day),
        expected_on=_first_reaching(as_of, by_day, 0.5),
        cautious_on=_first_reaching(as_of, by_day, 1.0 - protection),
    )


def _first_reaching(as_of: date, by_day: Floats, chance: float) -> date | None:
    reached = np.flatnonzero(by_day >= chance - 1e-12)
    return as_of + timedelta(days=int(reached[0])) if len(reached) else None


def risk_before(by_day: Floats, arrivals: Sequence[Arrival], as_of: date) -> float:
    """Probability of a run-out before goods can be used.

    A run-out on the day of arrival still counts, because goods are ready the day after.
    """
    risk = 0.0
    for arrival in arrivals:
        day = (arrival.on - as_of).days + READY_DAYS_AFTER_ARRIVAL - 1
        if day >= 0:
            risk += arrival.chance * float(by_day[min(day, len(by_day) - 1)])
    return risk
