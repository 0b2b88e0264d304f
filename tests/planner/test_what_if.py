"""What if: a change that is supposed gives the plan that the real thing gives."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest

from planner.comparison import DateChange, Direction, compare
from planner.errors import InvalidValue
from planner.household import Household, Pause
from planner.ledger import Waste
from planner.plan import make_plan
from planner.regimen import Pattern
from planner.supply import Closure
from planner.what_if import (
    DeliveryLate,
    GoodsDamaged,
    GoodsTaken,
    HospitalStay,
    RegimenChange,
    SupplierClosed,
    Supposition,
    Travel,
    changed,
)
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    counted,
    day,
    every,
    make_household,
    make_order,
    moment,
    stocked,
)


@pytest.fixture
def home() -> Household:
    return make_household(settings={"horizon_days": 40}, orders=(make_order(1, placed=-1),))


def test_a_stay_gives_the_plan_of_a_household_that_has_the_pause(home: Household) -> None:
    stay = changed(home, HospitalStay(starts_on=day(3), ends_on=day(10)), TODAY)
    paused = replace(home, pauses=(Pause(starts_on=day(3), ends_on=day(10), reason="hospital"),))
    assert make_plan(stay, TODAY) == make_plan(paused, TODAY)
    assert make_plan(stay, TODAY) != make_plan(home, TODAY)


def test_damaged_goods_give_the_plan_of_a_waste_entry(home: Household) -> None:
    damaged = changed(home, GoodsDamaged(item_code=KIT, units=5), TODAY)
    waste = Waste(
        id="wet", at=datetime.combine(TODAY, time(23, 45)), item_code=KIT, units=5, reason="wet"
    )
    assert make_plan(damaged, TODAY) == make_plan(
        replace(home, ledger=(*home.ledger, waste)), TODAY
    )
    # Five kits last about ten days here.
    sooner = compare(make_plan(home, TODAY), make_plan(damaged, TODAY)).expected.days
    assert sooner is not None
    assert -12 <= sooner <= -8


def test_damaged_goods_of_a_lot_leave_the_other_lots_alone() -> None:
    home = make_household(ledger=stocked(12, kits_expire_on=day(9)))
    with pytest.raises(InvalidValue, match="only 0 are there"):
        changed(home, GoodsDamaged(item_code=KIT, units=1, lot="L9"), TODAY)


def test_a_change_of_regimen_is_a_further_version(home: Household) -> None:
    new = every(1, starts_on=day(5))
    after = changed(home, RegimenChange(catheter_id="right", regimen=new), TODAY)
    assert after.catheters[0].regimens == (*home.catheters[0].regimens, new)
    difference = compare(make_plan(home, TODAY), make_plan(after, TODAY))
    assert difference.expected.direction is Direction.WORSE


def test_a_regimen_from_the_same_day_takes_the_place_of_the_one_there(home: Household) -> None:
    once = changed(
        home, RegimenChange(catheter_id="right", regimen=every(1, starts_on=day(5))), TODAY
    )
    twice = changed(
        once, RegimenChange(catheter_id="right", regimen=every(3, starts_on=day(5))), TODAY
    )
    assert [one.every_n_days for one in twice.catheters[0].regimens] == [2, 3]


def test_goods_taken_along_leave_the_shelf_and_nothing_is_used_while_away(home: Household) -> None:
    trip = Travel(starts_on=day(2), ends_on=day(6), taken=(GoodsTaken(item_code=KIT, units=3),))
    plan = make_plan(changed(home, trip, TODAY), TODAY)
    assert (plan.on_hand[0].usable, plan.on_hand[0].away) == (9, 3)
    stays = Travel(starts_on=day(2), ends_on=day(6))
    empty_handed = make_plan(changed(home, stays, TODAY), TODAY)
    assert empty_handed.on_hand[0].usable == 12
    assert compare(empty_handed, plan).expected.direction is Direction.WORSE


def test_goods_taken_along_in_part_are_left_out(home: Household) -> None:
    trip = Travel(starts_on=day(2), ends_on=day(6), taken=(GoodsTaken(item_code=BOTTLE, units=0),))
    assert changed(home, trip, TODAY).ledger == home.ledger


def test_a_closed_supplier_gives_the_plan_of_terms_with_the_closure(home: Household) -> None:
    closure = Closure(starts_on=day(2), ends_on=day(9))
    closed = changed(home, SupplierClosed(closure=closure), TODAY)
    real = replace(home, supplier=replace(home.supplier, closures=(closure,)))
    assert make_plan(closed, TODAY) == make_plan(real, TODAY)


def test_a_late_delivery_comes_so_many_business_days_later(home: Household) -> None:
    # Ordered on a Tuesday with three business days of lead: usually on Friday the 13th.
    before = make_plan(home, TODAY)
    assert before.next_delivery.usual_on == day(2)
    late = make_plan(changed(home, DeliveryLate(order_id="o1", business_days=2), TODAY), TODAY)
    assert late.next_delivery.usual_on == day(6)  # Tuesday, over the weekend


def test_an_order_that_is_late_already_is_late_from_today_on() -> None:
    home = make_household(orders=(make_order(1, placed=-8),))
    late = changed(home, DeliveryLate(order_id="o1", business_days=3), TODAY)
    assert late.orders[0].promised_on == day(5)  # Monday, three business days after Wednesday


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (HospitalStay(starts_on=day(-40), ends_on=day(4)), "starts_on"),
        (HospitalStay(starts_on=day(-4), ends_on=day(0)), "ends_on"),
        (HospitalStay(starts_on=day(4), ends_on=day(400)), "ends_on"),
        (Travel(starts_on=day(-1), ends_on=day(4)), "starts_on"),
        (
            Travel(starts_on=day(1), ends_on=day(4), taken=(GoodsTaken(item_code="X", units=1),)),
            "item",
        ),
        (
            Travel(starts_on=day(1), ends_on=day(4), taken=(GoodsTaken(item_code=KIT, units=13),)),
            "units",
        ),
        (GoodsDamaged(item_code=KIT, units=13), "units"),
        (GoodsDamaged(item_code="X", units=1), "item"),
        (DeliveryLate(order_id="o9", business_days=1), "order"),
        (RegimenChange(catheter_id="left", regimen=every(2, starts_on=day(1))), "catheter"),
        (RegimenChange(catheter_id="right", regimen=every(2, starts_on=day(-1))), "starts_on"),
        (SupplierClosed(closure=Closure(starts_on=day(-9), ends_on=day(-1))), "ends_on"),
    ],
)
def test_what_does_not_fit_is_refused_by_its_field(
    change: Supposition, field: str, home: Household
) -> None:
    with pytest.raises(InvalidValue) as refused:
        changed(home, change, TODAY)
    assert refused.value.fault.field == field


def test_no_day_away_is_refused() -> None:
    with pytest.raises(InvalidValue, match="after the first day away"):
        HospitalStay(starts_on=TODAY, ends_on=TODAY)
    with pytest.raises(InvalidValue, match="not be before the start"):
        Travel(starts_on=TODAY, ends_on=day(-1))


def test_ids_that_the_record_has_already_are_left_alone(home: Household) -> None:
    taken = counted(12, offset=0, id="what-if-1", at=moment(0, 8))
    record = replace(home, ledger=(*home.ledger, taken))
    after = changed(record, GoodsDamaged(item_code=KIT, units=1), TODAY)
    assert [one.id for one in after.ledger][-2:] == ["what-if-1", "what-if-2"]


def test_the_comparison_names_boxes_and_risks_of_both_plans(home: Household) -> None:
    before = make_plan(home, TODAY)
    after = make_plan(changed(home, GoodsDamaged(item_code=KIT, units=12), TODAY), TODAY)
    found = compare(before, after)
    assert [one.item_code for one in found.boxes] == [KIT]
    assert found.boxes[0].after > 0
    assert found.risk_after > 0.9 > found.risk_before
    assert found.urgency is Direction.WORSE
    assert compare(after, before).urgency is Direction.BETTER
    assert compare(before, before).urgency is Direction.SAME


@pytest.mark.parametrize(
    ("before", "after", "days", "direction"),
    [
        (day(3), day(5), 2, Direction.BETTER),
        (day(5), day(3), -2, Direction.WORSE),
        (day(5), day(5), 0, Direction.SAME),
        (None, None, None, Direction.SAME),
        (None, day(5), None, Direction.WORSE),
        (day(5), None, None, Direction.BETTER),
    ],
)
def test_a_later_date_is_better_and_beyond_the_horizon_is_latest(
    before: object, after: object, days: int | None, direction: Direction
) -> None:
    change = DateChange(before=before, after=after)  # type: ignore[arg-type]
    assert (change.days, change.direction) == (days, direction)


def test_plans_of_two_days_are_not_compared(home: Household) -> None:
    with pytest.raises(ValueError, match="one household and day"):
        compare(make_plan(home, TODAY), make_plan(home, TODAY + timedelta(days=1)))


def test_a_change_to_as_needed_can_be_supposed(home: Household) -> None:
    new = every(2, starts_on=TODAY, pattern=Pattern.AS_NEEDED, every_n_days=None)
    after = changed(home, RegimenChange(catheter_id="right", regimen=new), TODAY)
    assert make_plan(after, TODAY).outlooks[0].kept_chance is None
