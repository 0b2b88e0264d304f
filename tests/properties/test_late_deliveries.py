"""A delivery that comes later never makes supplies last longer."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.comparison import Direction, compare
from planner.delivery import SupplierCalendar, learn_lateness, order_usual_arrival, still_to_come
from planner.household import Household
from planner.plan import make_plan
from planner.supply import Order, OrderStatus
from planner.what_if import DeliveryLate, changed
from tests.builders import TODAY, day, make_household, make_order, make_supplier, moment, stocked


def received(placed: int, days_under_way: int) -> Order:
    return make_order(
        1,
        placed=placed,
        id=f"past{placed}",
        status=OrderStatus.RECEIVED,
        received_on=day(placed + days_under_way),
    )


def chance_by(household: Household, on: date) -> float:
    """Chance that the order has come by a day, worked out from the record."""
    calendar = SupplierCalendar(household.supplier)
    lateness = learn_lateness(calendar, household.orders)
    order = next(one for one in household.orders if one.is_open)
    expected = calendar.arrivals(order_usual_arrival(calendar, order), lateness)
    left = still_to_come(calendar, expected, TODAY - timedelta(days=1), lateness)
    return sum(one.chance for one in left if one.on <= on)


HOUSEHOLDS = st.builds(
    lambda placed, lead, weekdays, kits, past: make_household(
        orders=(make_order(1, placed=-placed), *past),
        supplier=make_supplier(lead_business_days=lead, delivery_weekdays=weekdays),
        ledger=stocked(kits),
        settings={"horizon_days": 20, "cover_days": 7},
    ),
    placed=st.integers(0, 20),
    lead=st.integers(0, 6),
    weekdays=st.sampled_from([None, (1,), (1, 4), (5,)]),
    kits=st.integers(0, 8),
    past=st.lists(
        st.builds(received, placed=st.integers(-60, -30), days_under_way=st.integers(0, 14)),
        max_size=6,
        unique_by=lambda one: one.id,
    ),
)

# Orders that came either at once or very late: what is left of the wait is long.
TORN = make_household(
    orders=(
        make_order(1, placed=-6),
        *(received(-90 + n, 3 if n % 2 else 14) for n in range(12)),
    ),
    ledger=stocked(3),
    settings={"horizon_days": 20, "cover_days": 7},
)


@given(household=HOUSEHOLDS, late=st.integers(1, 12))
@example(household=TORN, late=1)
@settings(max_examples=60)
def test_a_late_order_is_by_no_day_likelier_to_have_come(household: Household, late: int) -> None:
    after = changed(household, DeliveryLate(order_id="o1", business_days=late), TODAY)
    for offset in range(60):
        assert chance_by(after, day(offset)) <= chance_by(household, day(offset)) + 1e-9


@given(household=HOUSEHOLDS, late=st.integers(1, 12))
@example(household=TORN, late=1)
@settings(max_examples=8)
def test_dates_never_improve(household: Household, late: int) -> None:
    after = changed(household, DeliveryLate(order_id="o1", business_days=late), TODAY)
    found = compare(make_plan(household, TODAY), make_plan(after, TODAY))
    assert found.expected.direction is Direction.SAME
    assert found.cautious.direction is Direction.SAME
    assert found.expected_with_coming.direction is not Direction.BETTER
    before = found.before.run_out_with_coming.chance_by_day
    later = found.after.run_out_with_coming.chance_by_day
    # What is less likely than 1e-8 is left out at each step, so the last digits may differ.
    assert all(b <= a + 1e-6 for b, a in zip(before, later, strict=True))


def test_the_torn_supplier_is_moved_further_than_asked() -> None:
    after = changed(TORN, DeliveryLate(order_id="o1", business_days=1), TODAY)
    promised = next(one.promised_on for one in after.orders if one.id == "o1")
    assert promised is not None
    assert promised > moment(1).date()
