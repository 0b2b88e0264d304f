"""The front door: a household's record and a day in, a `Plan` out."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from datetime import date, time, timedelta

from planner import signs
from planner.delivery import SupplierCalendar, learn_lateness, likely_latest, most_likely
from planner.express import express_order
from planner.household import Household, refuse_future
from planner.normal import Floats
from planner.outlook import all_forecasts, describe, describe_left, describe_use, forecast_shelves
from planner.reorder import days_to_forecast, propose_order
from planner.reorder_facts import ReorderFacts
from planner.results import (
    ItemOnHand,
    NextDelivery,
    Plan,
    Reason,
    ReasonCode,
    ShelfPlan,
    Urgency,
)
from planner.runout import (
    ComingOrder,
    ShelfRunOut,
    coming_orders,
    either_shelf,
    follow_shelf,
    risk_before,
    run_out,
)
from planner.stock import Shelf, shelf_on


def make_plan(household: Household, as_of: date, *, at: time | None = None) -> Plan:
    """Plan one household as of a day.

    Args:
        household: the whole record; nothing in it may lie after `as_of`.
        as_of: the day of the plan, in the household's time zone.
        at: wall-clock time; an order today counts as placed tomorrow once it is past the
            supplier's cut-off. None means before it.

    Returns:
        The plan. The same arguments always give the same plan.

    Raises:
        InvalidHousehold: when the record claims to know what happens after `as_of`.
    """
    refuse_future(household, as_of)
    settings = household.settings
    calendar = SupplierCalendar(household.supplier, household.time_zone)
    lateness = learn_lateness(calendar, household.orders)
    shelf = shelf_on(household, as_of)
    coming = coming_orders(household, calendar, as_of)
    horizon_days = days_to_forecast(household, calendar, as_of)
    shelves = tuple(
        follow_shelf(forecast, shelf, coming, horizon_days)
        for forecast in forecast_shelves(household, as_of, horizon_days)
    )
    at_home = either_shelf([one.at_home.by_day for one in shelves])
    with_coming = either_shelf([one.with_coming.by_day for one in shelves])
    before_last = either_shelf([one.before_last.by_day for one in shelves])
    at_home_run_out = run_out(as_of, at_home, settings.protection)
    full_run_out = run_out(as_of, with_coming, settings.protection)
    ends_on = full_run_out.expected_on
    needed = tuple(order for order in coming if _is_needed(order, shelves))
    facts = ReorderFacts(
        household=household,
        as_of=as_of,
        at=at,
        calendar=calendar,
        lateness=lateness,
        shelf=shelf,
        shelves=shelves,
        coming=needed,
        risk_by_day=with_coming,
        risk_already=0.0,
        supply_ends_on=ends_on - timedelta(days=1) if ends_on else None,
    )
    facts = replace(facts, risk_already=_risk_already(facts, at_home, before_last))
    order, order_reasons = propose_order(facts)
    next_delivery = _next_delivery(facts, at_home)
    urgency = signs.urgency(household, order, next_delivery, facts)
    express = None
    if urgency is not Urgency.RESTING:
        express = express_order(facts, order, at_home_run_out)
    reasons = (
        *_delivery_reasons(next_delivery, coming, settings.protection),
        *order_reasons,
        *signs.household_signs(household, shelf, shelves, as_of),
    )
    return Plan(
        household_id=household.id,
        as_of=as_of,
        protection=settings.protection,
        horizon_days=horizon_days,
        urgency=urgency,
        on_hand=tuple(_on_hand(household, shelf, shelves, coming)),
        run_out=at_home_run_out,
        run_out_with_coming=full_run_out,
        shelves=tuple(_shelf_plan(one, shelf, settings.protection) for one in shelves),
        next_delivery=next_delivery,
        order=order,
        outlooks=tuple(
            describe(one) for one in all_forecasts([followed.forecast for followed in shelves])
        ),
        reasons=reasons,
        express=express,
    )


def make_plans(households: Iterable[Household], as_of: date, *, workers: int = 1) -> Iterator[Plan]:
    """Plan many households as of one day, in their order.

    Each plan is the one `make_plan` gives. Households are taken as plans are asked for, at
    most two for each worker ahead, so that memory does not grow with their number and a
    generator may read them from a file or a database. They are taken in the caller's thread.

    Args:
        households: the records; taken one by one.
        as_of: the day of the plans.
        workers: threads that plan side by side. More than one helps where the compiled steps
            are installed, since only these leave Python's lock.

    Raises:
        InvalidHousehold: at the household whose record claims to know what happens after
            `as_of`; the plans before it have been given by then.
        ValueError: for less than one worker.
    """
    if workers < 1:
        message = f"workers is {workers}: give at least one"
        raise ValueError(message)
    if workers == 1:
        return (make_plan(household, as_of) for household in households)
    return _side_by_side(households, as_of, workers)


def _side_by_side(households: Iterable[Household], as_of: date, workers: int) -> Iterator[Plan]:
    coming: deque[Future[Plan]] = deque()
    pool = ThreadPoolExecutor(workers)
    try:
        for household in households:
            coming.append(pool.submit(make_plan, household, as_of))
            if len(coming) > 2 * workers:
                yield coming.popleft().result()
        while coming:
            yield coming.popleft().result()
    finally:
        pool.shutdown(cancel_futures=True)


def _is_needed(order: ComingOrder, shelves: tuple[ShelfRunOut, ...]) -> bool:
    """Whether an open order brings kits or loose bottles of a shelf."""
    codes = {code for one in shelves for code in one.forecast.item_codes}
    return bool(codes & order.units.keys())


def _risk_already(facts: ReorderFacts, at_home: Floats, before_last: Floats) -> float:
    """Chance of a run-out before goods in transit that usually come before an order placed now.

    A new order is not taken to overtake such goods by their lateness: one supplier's delays
    tend to hit both.
    """
    ordered_today = most_likely(facts.arrivals_if_ordered(facts.as_of, facts.at))
    pairs = ((at_home, facts.coming[:1]), (before_last, facts.coming[-1:]))
    return max(
        (
            risk_before(by_day, order.arrivals, facts.as_of)
            for by_day, orders in pairs
            for order in orders
            if most_likely(order.arrivals) <= ordered_today
        ),
        default=0.0,
    )


def _next_delivery(facts: ReorderFacts, at_home: Floats) -> NextDelivery:
    protection = facts.household.settings.protection
    if facts.coming:
        first = facts.coming[0]
        arrivals, order_id = first.arrivals, first.order.id
        risk = risk_before(at_home, arrivals, facts.as_of)
    else:
        arrivals, order_id = facts.arrivals_if_ordered(facts.as_of, facts.at), None
        risk = risk_before(facts.risk_by_day, arrivals, facts.as_of)
    return NextDelivery(
        order_id=order_id,
        usual_on=most_likely(arrivals),
        latest_on=likely_latest(arrivals, protection),
        risk=risk,
    )


def _delivery_reasons(
    delivery: NextDelivery, coming: tuple[ComingOrder, ...], protection: float
) -> Iterator[Reason]:
    if delivery.order_id is not None and delivery.risk > 1.0 - protection:
        yield Reason.because(
            ReasonCode.RISK_BEFORE_OPEN_DELIVERY, risk=delivery.risk, usual_on=delivery.usual_on
        )
    for one in coming:
        if one.is_overdue:
            yield Reason.because(ReasonCode.DELIVERY_OVERDUE, order=one.order.id)


def _shelf_plan(one: ShelfRunOut, shelf: Shelf, protection: float) -> ShelfPlan:
    forecast = one.forecast
    others = forecast.other_kit_codes
    return ShelfPlan(
        kit_code=forecast.kit_code,
        bottle_code=forecast.bottle_code,
        usable_kits=sum(lot.units for lot in shelf.kits_in_order(forecast.kit_code, others)),
        usable_bottles=shelf.usable_units(forecast.bottle_code) if forecast.bottle_code else 0,
        run_out=run_out(shelf.on, one.at_home.by_day, protection),
        kits_left=describe_left(one.at_home.kits_left),
        use=describe_use(one.use),
        other_kit_codes=others,
    )


def _on_hand(
    household: Household,
    shelf: Shelf,
    shelves: tuple[ShelfRunOut, ...],
    coming: tuple[ComingOrder, ...],
) -> Iterator[ItemOnHand]:
    for item in household.items:
        yield ItemOnHand(
            item_code=item.code,
            usable=shelf.usable_units(item.code),
            expiring_before_use=signs.expiring_unused(item.code, shelf, shelves),
            expired=shelf.expired_units(item.code),
            recalled=shelf.recalled_units(item.code),
            away=shelf.away_units(item.code),
            in_transit=sum(order.units.get(item.code, 0) for order in coming),
        )
