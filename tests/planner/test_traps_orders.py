"""The same for what is ordered: what "stock divided by average use" gets wrong there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

import numpy as np
import pytest

from planner import assumptions
from planner.household import ClinicalGroup, Household, Pause
from planner.plan import make_plan
from planner.results import Plan, ReasonCode, Urgency
from planner.rollup import combine
from planner.stock import shelf_on
from tests.builders import (
    KIT,
    TODAY,
    day,
    make_household,
    make_kit,
    make_order,
    make_session,
    make_supplier,
    moment,
    receipt,
    sessions_every,
    stocked,
)

WEEKLY_ORDERS = {"horizon_days": 35, "cover_days": 7}


def home(**changes: Any) -> Household:  # noqa: ANN401 - any field
    return make_household(**{"settings": WEEKLY_ORDERS} | changes)


def plan(**changes: Any) -> Plan:  # noqa: ANN401 - any field
    return make_plan(home(**changes), TODAY)


def units_ordered(found: Plan) -> int:
    return sum(line.units for line in found.order.lines)


def test_trap_08_what_may_never_be_opened_is_left_for_later_and_warnings_stay_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The same household, with treatment that seldom ends and with treatment that often does."""
    group = ClinicalGroup.MALIGNANT_PLEURAL
    found = []
    for end_chance in (0.0005, 0.03):
        monkeypatch.setitem(assumptions.END_CHANCE_PER_DAY, group, end_chance)
        long = {"horizon_days": 120, "cover_days": 60}
        past = sessions_every(1, 20, 300)
        ill = {"clinical_group": group}
        found.append(plan(catheter=ill, sessions=past, ledger=stocked(10), settings=long))
    stays, ends = found
    assert units_ordered(ends) < units_ordered(stays)
    assert ends.reason(ReasonCode.LAST_BOX_LEFT_FOR_LATER) is not None
    assert (ends.run_out, ends.urgency) == (stays.run_out, stays.urgency)
    assert ends.order.order_by_on == stays.order.order_by_on


def test_trap_08_a_catheter_that_was_removed_asks_for_nothing() -> None:
    found = plan(catheter={"removed_on": day(-1)}, ledger=stocked(1))
    assert found.urgency is Urgency.RESTING
    assert not found.order.lines


def test_trap_09_the_order_day_goes_by_a_high_quantile_and_never_by_the_mean() -> None:
    """An order on the day that the mean leaves room for would often come too late."""
    found = plan(ledger=stocked(10))
    by, expected = found.order.order_by_on, found.run_out.expected_on
    assert by is not None
    assert expected is not None
    by_the_mean = date.fromisoformat(str(np.busday_offset(expected, -4, roll="backward")))
    assert by < by_the_mean
    assert found.run_out.chance_by(expected) >= 0.5
    assert found.order.chance_short <= 1.0 - found.protection


def test_trap_13_the_soonest_date_is_used_first() -> None:
    late = receipt(5, lot="late", id="late", at=moment(-9), expires_on=day(300))
    soon = receipt(5, lot="soon", id="soon", at=moment(-8), expires_on=day(20))
    used = make_household(
        ledger=(late, soon), sessions=(make_session(moment(-5)), make_session(moment(-3)))
    )
    lots = {one.lot: one.units for one in shelf_on(used, TODAY).usable_lots(KIT)}
    assert lots == {"soon": 3, "late": 5}


def test_trap_13_another_system_s_kit_is_no_stock_of_this_catheter() -> None:
    other = make_kit(code="OTHER", name="Kit of another make")
    items = (*make_household().items, other)
    more = (*stocked(3), receipt(40, "OTHER", id="other", at=moment(-2)))
    assert plan(ledger=more, items=items).run_out == plan(ledger=stocked(3), items=items).run_out


@pytest.mark.parametrize("coming", [0, 1, 2, 3])
def test_trap_14_boxes_are_rounded_up_once_after_what_is_on_its_way(coming: int) -> None:
    """Whoever rounds before taking off what is coming orders a box too many now and then."""
    orders = (make_order(coming, promised_on=day(2)),) if coming else ()
    long = {"horizon_days": 60, "cover_days": 42}
    found = plan(ledger=stocked(5), orders=orders, settings=long)
    here = plan(ledger=stocked(5 + 10 * coming), settings=long)
    assert found.order.order_by_on == here.order.order_by_on
    assert found.order.lines == here.order.lines
    assert units_ordered(found) == 20


def test_trap_15_clocks_that_change_move_no_day() -> None:
    """Lisbon's clocks went forward on 29 March 2026; a session before it is as far as any."""
    spring = date(2026, 3, 30)
    changed = sessions_every(2, 10, 300, start=spring)
    usual = sessions_every(2, 10, 300)
    found = make_plan(home(sessions=changed, ledger=stocked(8, on=spring)), spring)
    same = plan(sessions=usual, ledger=stocked(8))
    assert found.run_out.expected_days == same.run_out.expected_days


def test_trap_15_an_order_after_the_cut_off_is_tomorrow_s_even_by_another_clock() -> None:
    terms = make_supplier(cut_off=time(15), time_zone="Asia/Tokyo")
    after, before = (
        make_plan(home(supplier=terms), TODAY, at=at) for at in (time(6, 1), time(5, 59))
    )
    assert after.next_delivery.usual_on > before.next_delivery.usual_on


def test_trap_21_goods_of_a_hospital_are_not_taken_from_home() -> None:
    away = (Pause(starts_on=day(-6), ends_on=day(-1)),)
    found = home(pauses=away, sessions=(), ledger=(receipt(9, at=datetime(2026, 3, 1)),))
    assert shelf_on(found, TODAY).usable_units(KIT) == 9


def test_trap_22_homes_are_added_up_and_their_spare_goods_never_shared() -> None:
    """Plenty in one home helps no other: each keeps its own whole boxes."""
    rich, poor = home(id="rich", ledger=stocked(60)), home(id="poor", ledger=stocked(2))
    homes = {one.id: one for one in (rich, poor)}
    plans = [make_plan(one, TODAY) for one in homes.values()]
    alone = make_plan(poor, TODAY)
    (order,) = combine(plans, homes)
    assert [one.household_id for one in order.households] == ["poor"]
    assert order.households[0].lines == alone.order.lines
    twins = {name: replace(poor, id=name) for name in ("a", "b", "c")}
    (combined,) = combine([make_plan(one, TODAY) for one in twins.values()], twins)
    assert combined.totals[0].units == 3 * units_ordered(alone)
    assert {one.lines for one in combined.households} == {alone.order.lines}


def test_trap_24_less_fluid_than_usual_changes_the_forecast_and_says_nothing_of_why() -> None:
    """It may as well be a blockage: no remark calls it good, and nothing is cancelled."""
    usual = plan(sessions=sessions_every(2, 8, 400), ledger=stocked(6))
    less = plan(sessions=sessions_every(2, 8, 400, 400, 90, 80), ledger=stocked(6))
    assert less.order.lines
    remarks = {one.code for one in less.reasons} - {one.code for one in usual.reasons}
    assert remarks <= {ReasonCode.ORDER_BY}
