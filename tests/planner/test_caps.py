"""What holds an order down, and that the plan names it."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner import assumptions
from planner.errors import InvalidValue
from planner.household import ClinicalGroup, PlanSettings
from planner.plan import make_plan
from planner.results import Plan, ReasonCode
from planner.supply import OrderStatus
from tests.builders import (
    KIT,
    TODAY,
    day,
    make_household,
    make_order,
    moment,
    receipt,
    sessions_every,
    stocked,
)


def plan(**settings: object) -> Plan:
    return make_plan(
        make_household(
            sessions=sessions_every(1, 30, 200, 260, 230), ledger=stocked(14), settings=settings
        ),
        TODAY,
    )


def boxes(found: Plan) -> int:
    return sum(line.boxes for line in found.order.lines)


def test_no_more_is_ordered_than_there_is_room_for() -> None:
    free = plan(cover_days=40)
    tight = plan(cover_days=40, most_units_at_home=20)
    assert boxes(tight) < boxes(free)
    reason = tight.reason(ReasonCode.NO_ROOM_AT_HOME)
    assert reason is not None
    assert reason.facts["most_units"] == 20
    assert reason.facts["allowed_boxes"] == boxes(tight)
    assert free.reason(ReasonCode.NO_ROOM_AT_HOME) is None
    assert tight.order.order_by_on == free.order.order_by_on
    assert tight.order.chance_short > 1.0 - tight.protection


def test_a_prescription_that_ends_before_the_order_is_named_and_holds_nothing_back() -> None:
    whole = plan()
    order_by = whole.order.order_by_on
    assert order_by is not None
    ended = plan(prescription_ends_on=order_by - timedelta(days=1))
    assert ended.reason(ReasonCode.PRESCRIPTION_ENDS) is not None
    assert ended.order.lines == whole.order.lines
    assert plan(prescription_ends_on=order_by).reason(ReasonCode.PRESCRIPTION_ENDS) is None


def test_room_for_less_than_one_unit_is_refused() -> None:
    with pytest.raises(InvalidValue, match="most_units_at_home"):
        PlanSettings(most_units_at_home=0)


def ascites(monkeypatch: pytest.MonkeyPatch, end_chance: float) -> Plan:
    monkeypatch.setitem(assumptions.END_CHANCE_PER_DAY, ClinicalGroup.MALIGNANT_PLEURAL, end_chance)
    return make_plan(
        make_household(
            catheter={"clinical_group": ClinicalGroup.MALIGNANT_PLEURAL},
            sessions=sessions_every(1, 30, 200, 260, 230),
            ledger=stocked(14),
            settings={"cover_days": 60},
        ),
        TODAY,
    )


def test_last_boxes_are_left_for_later_when_treatment_may_well_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stays, ends = ascites(monkeypatch, 0.0005), ascites(monkeypatch, 0.03)
    assert stays.reason(ReasonCode.LAST_BOX_LEFT_FOR_LATER) is None
    reason = ends.reason(ReasonCode.LAST_BOX_LEFT_FOR_LATER)
    assert reason is not None
    assert reason.facts["item"] == KIT
    assert reason.facts["allowed_boxes"] == boxes(ends)
    assert boxes(ends) < boxes(stays)
    assert float(str(reason.facts["chance"])) < assumptions.WORTH_BUYING_CHANCE


def test_the_end_of_treatment_never_moves_a_warning(monkeypatch: pytest.MonkeyPatch) -> None:
    stays, ends = ascites(monkeypatch, 0.0005), ascites(monkeypatch, 0.03)
    assert np.array_equal(stays.run_out.chance_by_day, ends.run_out.chance_by_day)
    assert stays.order.order_by_on == ends.order.order_by_on
    assert stays.order.too_late == ends.order.too_late
    assert stays.urgency is ends.urgency


def test_what_is_left_still_lasts_until_a_later_order_has_come(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ends = ascites(monkeypatch, 0.03)
    order_by, until = ends.order.order_by_on, ends.order.covers_until
    assert order_by is not None
    assert until is not None
    assert until >= order_by + timedelta(days=assumptions.SHORTEST_COVER_DAYS)
    assert ends.order.chance_short <= 1.0 - ends.protection + 1e-12
    assert until > day(0)


def test_the_chance_that_a_box_is_opened_is_that_of_a_race(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Never ending, the next box is sure to be opened; certain to end tomorrow, it is not."""
    never, at_once = ascites(monkeypatch, 0.0), ascites(monkeypatch, 0.9)
    assert never.reason(ReasonCode.LAST_BOX_LEFT_FOR_LATER) is None
    reason = at_once.reason(ReasonCode.LAST_BOX_LEFT_FOR_LATER)
    assert reason is not None
    assert float(str(reason.facts["chance"])) < 1e-6


@pytest.mark.parametrize(("days_left", "binds"), [(12, True), (900, False)])
def test_no_more_is_ordered_than_can_be_used_in_date(days_left: int, binds: bool) -> None:
    """Goods that came last with few days to go are taken to come so again."""
    came = receipt(14, KIT, at=moment(-1), expires_on=day(-1 + days_left), order_id="o1")
    order = make_order([(KIT, 1)], placed=-8, status=OrderStatus.RECEIVED, received_on=day(-1))
    found = make_plan(
        make_household(
            sessions=sessions_every(1, 30, 200, 260, 230),
            ledger=(came,),
            orders=(order,),
            settings={"cover_days": 60},
        ),
        TODAY,
    )
    reason = found.reason(ReasonCode.GOODS_COME_SHORT_DATED)
    assert (reason is not None) is binds
    if reason is not None:
        assert reason.facts["days"] == days_left
        arrival, until = found.order.usual_arrival_on, found.order.covers_until
        assert arrival is not None
        assert until == arrival + timedelta(days=days_left + 1)
