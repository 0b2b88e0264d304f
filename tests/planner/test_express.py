"""Express delivery: when it comes, what to ask for, and what it leaves alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from typing import Any

import pytest

from planner.delivery import SupplierCalendar, learn_lateness, order_usual_arrival
from planner.errors import InvalidValue
from planner.household import Household
from planner.plan import make_plan
from planner.results import ExpressOrder, Plan, ProposedLine, ReasonCode, Urgency
from planner.runout import coming_orders
from planner.supply import Closure, Order, OrderLine, StandingDelivery
from tests.builders import (
    KIT,
    TODAY,
    authorized,
    day,
    make_catheter,
    make_household,
    make_order,
    make_supplier,
    moment,
    sessions_every,
    stocked,
)

QUICK = {"horizon_days": 35, "cover_days": 7}
SUPPLIER = make_supplier(lead_business_days=5, express_business_days=1)


def home(kits: int, **changes: Any) -> Household:  # noqa: ANN401 - any field
    whole: dict[str, Any] = {
        "settings": QUICK,
        "supplier": SUPPLIER,
        "sessions": sessions_every(2, 20),
        "ledger": stocked(kits),
    }
    return make_household(**whole | changes)


def express_of(plan: Plan) -> ExpressOrder:
    assert plan.express is not None
    return plan.express


def without_express(household: Household) -> Household:
    terms = replace(household.supplier, express_business_days=None)
    return replace(household, supplier=terms)


@pytest.mark.parametrize(
    ("days", "fix"),
    [(11, "give 0 to 10 business days"), (-1, "give 0 to 10"), (4, "give no more than the 3 of")],
)
def test_express_takes_no_longer_than_a_usual_order(days: int, fix: str) -> None:
    with pytest.raises(InvalidValue, match=f"express_business_days is {days}: {fix}"):
        make_supplier(lead_business_days=3, express_business_days=days)
    assert make_supplier(lead_business_days=3, express_business_days=3).express_business_days == 3


@pytest.mark.parametrize(
    ("ordered_on", "at", "comes_on"),
    [
        (date(2026, 3, 11), time(15), date(2026, 3, 12)),
        (date(2026, 3, 11), time(15, 1), date(2026, 3, 13)),
        (date(2026, 3, 13), time(9), date(2026, 3, 16)),
        (date(2026, 3, 14), time(9), date(2026, 3, 17)),
    ],
)
def test_express_comes_on_any_business_day_by_the_same_cut_off(
    ordered_on: date, at: time, comes_on: date
) -> None:
    """By hand: Wednesday 11 March 2026, cut-off 15:00, closed on no weekday but the weekend."""
    terms = make_supplier(
        lead_business_days=5, express_business_days=1, delivery_weekdays=(0,), cut_off=time(15)
    )
    weekly = StandingDelivery(rrule="FREQ=WEEKLY;BYDAY=MO", starts_on=date(2026, 3, 2))
    agreed = replace(terms, delivery_weekdays=None, standing=weekly)
    for one in (terms, agreed):
        express = SupplierCalendar(one).express
        assert express is not None
        assert express.usual_arrival(ordered_on, at) == comes_on


def test_express_waits_for_holidays_and_closures() -> None:
    shut = Closure(starts_on=day(1), ends_on=day(1))
    express = SupplierCalendar(replace(SUPPLIER, closures=(shut,))).express
    assert express is not None
    assert express.usual_arrival(TODAY) == day(2)


def test_what_is_too_late_goes_by_express_as_a_whole() -> None:
    plan = make_plan(home(2), TODAY)
    express = express_of(plan)
    assert plan.order.too_late
    assert (express.usual_on, express.unless_by_on) == (day(1), None)
    assert express.is_whole
    assert express.lines == plan.order.lines
    assert express.risk < plan.order.risk_if_ordered_today


def test_the_risk_left_is_that_of_running_out_before_express_goods_are_ready() -> None:
    household = home(1)
    plan = make_plan(household, TODAY)
    calendar = SupplierCalendar(SUPPLIER)
    lateness = learn_lateness(calendar, household.orders)
    days = [date(2026, 3, n) for n in (12, 13, 16, 17, 18, 19)]
    expected = sum(
        chance * plan.run_out.chance_by(on) for chance, on in zip(lateness, days, strict=True)
    )
    assert 0.01 < expected < 0.99
    assert express_of(plan).risk == pytest.approx(expected)


def test_after_the_cut_off_express_comes_a_business_day_later() -> None:
    found = make_plan(home(2), TODAY, at=time(16))
    assert express_of(found).usual_on == day(2)


@pytest.mark.parametrize("kits", [0, 2, 5, 30])
def test_nothing_but_express_differs_for_a_supplier_that_offers_it(kits: int) -> None:
    with_it = make_plan(home(kits), TODAY)
    without = make_plan(without_express(home(kits)), TODAY)
    assert without.express is None
    assert replace(with_it, express=None) == without


def test_enough_supplies_need_no_express() -> None:
    assert make_plan(home(30), TODAY).express is None


def test_express_that_comes_no_sooner_is_not_offered() -> None:
    slow = make_supplier(lead_business_days=5, express_business_days=5)
    plan = make_plan(home(1, supplier=slow), TODAY)
    assert plan.order.too_late
    assert plan.express is None


def test_a_catheter_that_is_no_longer_in_use_needs_no_express() -> None:
    assert make_plan(home(1), TODAY).express is not None
    plan = make_plan(home(1, catheters=(make_catheter(removed_on=day(-1)),)), TODAY)
    assert (plan.urgency, plan.express) == (Urgency.RESTING, None)


def overdue(kits: int) -> Household:
    """Two boxes were due nine business days ago."""
    return home(kits, orders=(make_order(2, placed=-20, promised_on=day(-13)),))


def test_where_goods_are_overdue_express_is_for_the_case_that_they_cannot_come() -> None:
    plan = make_plan(overdue(2), TODAY)
    assert plan.reason(ReasonCode.DELIVERY_OVERDUE)
    assert plan.next_delivery.risk > 0.01
    express = express_of(plan)
    assert not express.is_whole
    assert express.lines == (ProposedLine(item_code=KIT, boxes=1, units=10),)
    cautious_on = plan.run_out.cautious_on
    assert cautious_on is not None
    assert express.unless_by_on == max(express.usual_on, day(-1, cautious_on))


def test_goods_that_come_as_soon_are_only_asked_for() -> None:
    """Due tomorrow, as express would be."""
    household = home(1, orders=(make_order(2, placed=-6, promised_on=day(1)),))
    plan = make_plan(household, TODAY)
    assert plan.reason(ReasonCode.RISK_BEFORE_OPEN_DELIVERY)
    assert not plan.order.too_late
    assert plan.express is None


def test_goods_that_come_too_late_are_bridged_by_as_few_boxes_as_last() -> None:
    household = home(1, orders=(make_order(3, placed=-1, promised_on=day(6)),))
    plan = make_plan(household, TODAY)
    assert not plan.order.too_late
    express = express_of(plan)
    assert [(one.item_code, one.boxes) for one in express.lines] == [(KIT, 1)]
    bridged = order_of(express, is_express=True)
    after = make_plan(replace(household, orders=(*household.orders, bridged)), TODAY)
    assert after.express is None


@pytest.mark.parametrize(("kits", "is_named"), [(1, True), (2, False)])
def test_for_late_goods_express_is_named_as_soon_as_it_could_not_wait(
    kits: int, is_named: bool
) -> None:
    """By hand: goods four business days late count as due today, express of tomorrow comes on
    Friday, each as late as usual; what comes first is ready the day after.
    """
    household = home(kits, orders=(make_order(2, placed=-13, promised_on=day(-6)),))
    plan = make_plan(household, TODAY)
    van = list(zip((day(n) for n in (0, 1, 2, 5, 6, 7)), learned(household), strict=True))
    later = list(zip((day(n) for n in (2, 5, 6, 7, 8, 9)), learned(household), strict=True))
    risk = sum(
        one * two * plan.run_out.chance_by(min(first, second))
        for first, one in van
        for second, two in later
    )
    assert (risk > 0.01) is is_named
    assert plan.next_delivery.risk > risk
    assert not plan.order.too_late
    assert (plan.express is not None) is is_named


def test_the_risk_told_for_late_goods_is_that_of_their_not_coming() -> None:
    household = home(1, orders=(make_order(2, placed=-13, promised_on=day(-6)),))
    plan = make_plan(household, TODAY)
    express = express_of(plan)
    assert [(one.item_code, one.boxes) for one in express.lines] == [(KIT, 1)]
    assert express.unless_by_on is not None
    arrivals = zip((day(n) for n in (1, 2, 5, 6, 7, 8)), learned(household), strict=True)
    expected = sum(chance * plan.run_out.chance_by(on) for on, chance in arrivals)
    assert express.risk == pytest.approx(expected)


def test_late_goods_need_no_express_where_enough_is_at_home() -> None:
    household = home(9, orders=(make_order(2, placed=-13, promised_on=day(-6)),))
    assert make_plan(household, TODAY).express is None


def test_a_late_order_by_express_is_not_waited_for_either() -> None:
    first = make_order(1, placed=-5, is_express=True)
    plan = make_plan(home(1, orders=(first,)), TODAY)
    assert order_usual_arrival(SupplierCalendar(SUPPLIER), first) < TODAY
    assert express_of(plan).unless_by_on is not None
    fresh = replace(first, id="o2", placed_at=moment(0, 8))
    assert make_plan(home(1, orders=(first, fresh)), TODAY).express is None


def learned(household: Household) -> tuple[float, ...]:
    return learn_lateness(SupplierCalendar(household.supplier), household.orders)


def order_of(express: ExpressOrder, **changes: Any) -> Order:  # noqa: ANN401 - any field
    lines = tuple(OrderLine(item_code=one.item_code, boxes=one.boxes) for one in express.lines)
    return Order(id="x1", placed_at=moment(0, 8), lines=lines, **changes)


def test_what_may_not_be_ordered_is_not_asked_for() -> None:
    limits = (authorized(20, 40),)
    household = replace(overdue(2), authorized=limits)
    express = express_of(make_plan(household, TODAY))
    assert express.lines == ()


def test_an_order_placed_as_express_comes_by_express_days() -> None:
    household = home(2)
    usual, quick = (
        order_of(express_of(make_plan(household, TODAY)), is_express=one) for one in (False, True)
    )
    calendar = SupplierCalendar(SUPPLIER)
    assert order_usual_arrival(calendar, usual) == day(7)
    assert order_usual_arrival(calendar, quick) == day(1)
    arrivals = coming_orders(replace(household, orders=(quick,)), calendar, TODAY)[0].arrivals
    assert [one.on for one in arrivals] == [day(n) for n in (1, 2, 5, 6, 7, 8)]
    assert make_plan(replace(household, orders=(quick,)), TODAY).next_delivery.usual_on == day(1)


def test_an_express_order_of_a_supplier_that_stopped_offering_it_comes_as_usual() -> None:
    order = order_of(express_of(make_plan(home(2), TODAY)), is_express=True)
    terms = replace(SUPPLIER, express_business_days=None)
    assert order_usual_arrival(SupplierCalendar(terms), order) == day(7)


def test_lateness_of_express_orders_is_learned_by_their_own_days() -> None:
    """Two business days after an order by express is one late, whatever the usual lead is."""
    made = order_of(express_of(make_plan(home(2), TODAY)), is_express=True)
    order = make_order(
        1, placed_at=moment(-9), status=made.status.RECEIVED, received_on=day(-7), is_express=True
    )
    calendar = SupplierCalendar(SUPPLIER)
    before, after = learn_lateness(calendar, ()), learn_lateness(calendar, (order,))
    assert after[1] > before[1]
    assert after[0] < before[0]
