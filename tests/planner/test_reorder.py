"""What to order, how much and by when."""

from __future__ import annotations

from datetime import date, time
from typing import Any

import numpy as np
import pytest
from scipy import stats

from planner.boxes import Boxes, fewest_boxes
from planner.errors import InvalidValue
from planner.plan import make_plan
from planner.results import Plan, ReasonCode, Urgency
from planner.rollup import by_urgency, combine
from planner.supply import Closure, OrderStatus
from tests.builders import (
    BOTTLE,
    GLOVES,
    KIT,
    TODAY,
    authorized,
    day,
    every,
    make_catheter,
    make_household,
    make_order,
    make_supplier,
    sessions_every,
    stocked,
)

QUICK = {"horizon_days": 35, "cover_days": 7}


def plan(at: time | None = None, **changes: Any) -> Plan:  # noqa: ANN401 - any field
    return make_plan(make_household(**{"settings": QUICK} | changes), TODAY, at=at)


class PoissonDemand:
    """Chance of running short of kits or of units, Poisson demand for either."""

    def __init__(self, kits_mean: float, further_mean: float) -> None:
        counts = np.arange(200)
        self.kits_short = stats.poisson.sf(counts, kits_mean)
        self.units_short = stats.poisson.sf(counts, kits_mean + further_mean)

    def __call__(self, kits: int, bottles: int) -> float:
        kits_short = self.kits_short[kits] if bottles else 0.0
        return min(float(self.units_short[kits + bottles] + kits_short), 1.0)


def test_fewest_boxes_is_what_trying_everything_finds() -> None:
    """Brute force over 200 random cases with Poisson demand for kits and further bottles."""
    rng = np.random.default_rng(5)
    most, compared = 12, 0
    for _ in range(200):
        sizes = (int(rng.integers(1, 7)), int(rng.integers(1, 7)) * int(rng.random() < 0.7))
        short_with = PoissonDemand(rng.uniform(0.5, 10.0), rng.uniform(0.5, 10.0))
        allowed = float(rng.choice([0.1, 0.05, 0.01]))
        good = [
            (kits + bottles, kits * sizes[0] + bottles * sizes[1])
            for kits in range(most + 1)
            for bottles in range(most + 1 - kits if sizes[1] else 1)
            if short_with(kits * sizes[0], bottles * sizes[1]) <= allowed
        ]
        if good:
            found = fewest_boxes(lambda *more: short_with(*more) <= allowed, sizes)  # noqa: B023
            units = found.kit_boxes * sizes[0] + found.bottle_boxes * sizes[1]
            assert (found.kit_boxes + found.bottle_boxes, units) == min(good)
            compared += 1
    assert compared > 150


def test_nothing_is_ordered_when_nothing_is_needed() -> None:
    assert fewest_boxes(lambda *_: True, (10, 5)) == Boxes(kit_boxes=0, bottle_boxes=0)


def test_the_order_by_date_is_the_last_safe_one() -> None:
    """Waiting one more business day would no longer keep the protection."""
    found = plan(ledger=stocked(12))
    by = found.order.order_by_on
    assert by is not None
    assert by > TODAY
    allowed = 1.0 - found.protection
    risk = {n: risk_of_ordering(found, by, n) for n in (0, 1)}
    assert risk[0] <= allowed < risk[1]


def risk_of_ordering(found: Plan, by: date, business_days_later: int) -> float:
    """Run-out before goods of an order are ready, written out for a three-day lead."""
    lateness = (0.80, 0.12, 0.04, 0.02, 0.015, 0.005)
    risk = 0.0
    for late, chance in enumerate(lateness):
        arrival = date.fromisoformat(str(np.busday_offset(by, business_days_later + 3 + late)))
        risk += chance * found.run_out_with_coming.chance_by(arrival)
    return risk


def test_too_late_says_so_and_still_proposes() -> None:
    found = plan(ledger=stocked(2))
    assert found.order.too_late
    assert found.order.order_by_on == TODAY
    assert found.order.lines
    assert found.urgency is Urgency.SHORT
    assert found.reason(ReasonCode.SHORT_BEFORE_DELIVERY) is not None


def test_an_open_order_that_comes_late_does_not_hide_that_one_must_order_now() -> None:
    found = plan(ledger=stocked(4), orders=(make_order(2, promised_on=day(40)),))
    assert found.order.lines
    assert found.order.order_by_on == TODAY


def test_gloves_on_their_way_are_no_delivery_of_kits() -> None:
    gloves = make_order([(GLOVES, 1)], promised_on=day(30))
    with_gloves, without = plan(orders=(gloves,)), plan()
    assert with_gloves.order == without.order
    assert with_gloves.next_delivery == without.next_delivery
    assert with_gloves.urgency == without.urgency


def test_a_cancelled_order_changes_nothing() -> None:
    cancelled = make_order(2, status=OrderStatus.CANCELLED)
    assert plan(orders=(cancelled,)) == plan()


def test_an_overdue_order_is_named_and_still_expected() -> None:
    found = plan(orders=(make_order(2, placed=-30),))
    overdue = found.reason(ReasonCode.DELIVERY_OVERDUE)
    assert overdue is not None
    assert overdue.facts["order"] == "o1"
    assert found.next_delivery.usual_on >= TODAY
    assert found.on_hand[0].in_transit == 20


def test_arrival_and_order_agree_after_the_cut_off() -> None:
    found = plan(at=time(18), ledger=stocked(2))
    assert found.order.order_by_on == TODAY
    assert found.order.usual_arrival_on == found.next_delivery.usual_on


def test_a_supplier_that_is_closed_is_ordered_from_before() -> None:
    shut = (Closure(starts_on=day(5), ends_on=day(19)),)
    closed = plan(supplier=make_supplier(closures=shut), ledger=stocked(10))
    usual = plan(ledger=stocked(10))
    assert closed.order.order_by_on is not None
    assert usual.order.order_by_on is not None
    assert closed.order.order_by_on < usual.order.order_by_on


def test_more_protection_never_orders_later_or_less() -> None:
    bold = plan(settings=QUICK | {"protection": 0.8})
    careful = plan(settings=QUICK | {"protection": 0.995})
    assert careful.order.order_by_on is not None
    assert bold.order.order_by_on is not None
    assert careful.order.order_by_on <= bold.order.order_by_on
    assert careful.run_out.expected_on == bold.run_out.expected_on
    assert careful.run_out.cautious_on is not None
    assert bold.run_out.cautious_on is not None
    assert careful.run_out.cautious_on < bold.run_out.cautious_on


def test_an_authorized_quantity_counts_what_was_taken_in_its_window() -> None:
    home: dict[str, Any] = {"ledger": stocked(1), "settings": QUICK | {"cover_days": 28}}
    taken = make_order(1, placed=-20, status=OrderStatus.RECEIVED, received_on=day(-15))
    free = plan(authorized=(authorized(21, 28),), **home)
    used = plan(authorized=(authorized(21, 28),), orders=(taken,), **home)
    assert [line.boxes for line in free.order.lines] == [2]
    assert [line.boxes for line in used.order.lines] == [1]
    capped = used.reason(ReasonCode.ORDER_CAPPED)
    assert capped is not None
    assert capped.facts["allowed_boxes"] == 1


@pytest.mark.parametrize(("placed", "boxes"), [(-27, 1), (-28, 2)])
def test_an_authorized_window_forgets_what_lies_before_it(placed: int, boxes: int) -> None:
    """28 days up to and including the day of the order."""
    taken = make_order(1, placed=placed, status=OrderStatus.RECEIVED, received_on=day(-20))
    found = plan(
        authorized=(authorized(21, 28),),
        orders=(taken,),
        ledger=stocked(1),
        settings=QUICK | {"cover_days": 28},
    )
    assert found.order.order_by_on == TODAY
    assert [line.boxes for line in found.order.lines] == [boxes]


@pytest.mark.parametrize("protection", [0.9, 0.95, 0.99])
def test_both_dates_are_read_off_the_same_chances(protection: float) -> None:
    found = plan(settings=QUICK | {"protection": protection}).run_out
    reached = np.array(found.chance_by_day)
    assert found.expected_on == day(int(np.argmax(reached >= 0.5)))
    assert found.cautious_on == day(int(np.argmax(reached >= 1.0 - protection)))
    assert found.expected_days == int(np.argmax(reached >= 0.5))


def test_a_small_order_is_named_and_not_inflated() -> None:
    found = plan(supplier=make_supplier(minimum_boxes=9))
    below = found.reason(ReasonCode.BELOW_MINIMUM_ORDER)
    assert below is not None
    assert sum(line.boxes for line in found.order.lines) == below.facts["boxes"]


def test_two_shelves_share_the_allowed_risk() -> None:
    known = {"id": "left", "label": "left", "expected_ml_per_day": 120}
    left = make_catheter(kit_code="KIT-L", **known)
    home = make_household(settings=QUICK)
    kit = home.item(KIT)
    other = type(kit)(
        code="KIT-L", name="Other kit", kind=kit.kind, capacity_ml=500, units_per_box=2
    )
    found = plan(items=(*home.items, other), catheters=(make_catheter(), left))
    assert len(found.shelves) == 2
    assert found.order.chance_short <= 1.0 - found.protection


def test_kits_are_never_counted_twice() -> None:
    """Two catheters open the same kit, one of them with a loose bottle."""
    known = {"id": "left", "label": "left", "expected_ml_per_day": 120}
    loose = make_catheter(bottle_code=BOTTLE, **known)
    mixed = plan(catheters=(make_catheter(), loose), ledger=stocked(8))
    alike = plan(catheters=(make_catheter(), make_catheter(**known)), ledger=stocked(8))
    assert mixed.run_out.expected_on is not None
    assert alike.run_out.expected_on is not None
    assert mixed.run_out.expected_on <= alike.run_out.expected_on


@pytest.mark.parametrize("n_days", [20, 22, 24, 30, 45, 60])
def test_long_gaps_run_out_as_surely_as_short_ones(n_days: int) -> None:
    """One kit, last drained yesterday: it goes after one gap, and the run-out follows another."""
    found = plan(
        settings={"horizon_days": 2 * n_days + 5, "cover_days": 7},
        catheter={"regimens": (every(n_days, starts_on=date(2025, 1, 1)),)},
        sessions=sessions_every(n_days, 5, 100),
        ledger=stocked(1),
    )
    expected = found.run_out.expected_on
    assert expected is not None
    assert abs((expected - TODAY).days - (2 * n_days - 1)) <= 1


def test_an_unknown_country_is_refused_by_name() -> None:
    with pytest.raises(InvalidValue, match="holiday_country is ZZ"):
        make_supplier(holiday_country="ZZ")


def test_the_most_urgent_household_comes_first_and_orders_add_up() -> None:
    homes = {
        name: make_household(id=name, ledger=stocked(kits), settings=QUICK)
        for name, kits in (("calm", 20), ("short", 1), ("soon", 7))
    }
    plans = [make_plan(home, TODAY) for home in homes.values()]
    assert by_urgency(plans)[0].household_id == "short"
    combined = combine(plans, homes, within_days=60)
    boxes = sum(line.boxes for one in plans for line in one.order.lines)
    assert sum(total.boxes for order in combined for total in order.totals) == boxes
    assert boxes > 0
