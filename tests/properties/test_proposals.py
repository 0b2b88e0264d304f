"""What every proposed order keeps, whatever the household."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime, time
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.household import Household
from planner.ledger import Receipt
from planner.plan import make_plan
from planner.results import Plan, ReasonCode
from planner.supply import Order, OrderLine
from tests.builders import (
    BOTTLE,
    TODAY,
    authorized,
    every,
    make_bottle,
    make_household,
    make_kit,
    make_supplier,
    on_weekdays,
    sessions_every,
    stocked,
)


@st.composite
def households(draw: st.DrawFn) -> Household:
    """Households with a record of two weeks and a few kits, boxes of any size."""
    with_loose = draw(st.booleans())
    regimen = draw(st.sampled_from([every(2), every(3), on_weekdays("MO", "WE", "FR")]))
    changes: dict[str, Any] = {
        "items": (
            make_kit(units_per_box=draw(st.sampled_from([1, 4, 5, 10]))),
            make_bottle(units_per_box=draw(st.sampled_from([1, 5, 10]))),
        ),
        "catheter": {"regimens": (regimen,), "bottle_code": BOTTLE if with_loose else None},
        "supplier": make_supplier(
            lead_business_days=draw(st.integers(0, 6)),
            delivery_weekdays=draw(st.sampled_from([None, (1,), (0, 3)])),
        ),
        "sessions": sessions_every(2, 8, *draw(st.sampled_from([(300,), (420, 500), (150,)]))),
        "ledger": stocked(draw(st.integers(0, 9)), draw(st.integers(0, 3))),
        "authorized": draw(st.sampled_from([(), (), (authorized(20, 28),)])),
        "settings": {
            "protection": draw(st.sampled_from([0.9, 0.95, 0.99])),
            "cover_days": draw(st.sampled_from([7, 14])),
            "horizon_days": 30,
        },
    }
    return make_household(**changes)


def capped(plan: Plan) -> bool:
    return plan.reason(ReasonCode.ORDER_CAPPED) is not None


def placed(home: Household, plan: Plan) -> Household:
    """The household after somebody placed the proposed order today."""
    order = Order(
        id="new",
        placed_at=datetime.combine(TODAY, time(10)),
        lines=tuple(
            OrderLine(item_code=line.item_code, boxes=line.boxes) for line in plan.order.lines
        ),
    )
    return dataclasses.replace(home, orders=(*home.orders, order))


def with_goods_here(home: Household, plan: Plan) -> Household:
    """The household as if the proposed goods stood on the shelf already."""
    goods = tuple(
        Receipt(
            id=f"new-{line.item_code}",
            at=datetime.combine(TODAY, time(23, 45)),
            item_code=line.item_code,
            units=line.units,
        )
        for line in plan.order.lines
    )
    return dataclasses.replace(home, ledger=(*home.ledger, *goods), authorized=())


@settings(max_examples=12, deadline=None, derandomize=True)
@given(households())
def test_proposed_goods_last_as_long_as_promised(home: Household) -> None:
    plan = make_plan(home, TODAY)
    assert make_plan(home, TODAY) == plan
    for line in plan.order.lines:
        assert line.boxes >= 1
        assert line.units == line.boxes * home.item(line.item_code).units_per_box
    until = plan.order.covers_until
    assume(plan.order.lines and not capped(plan) and until is not None)
    assert isinstance(until, date)
    allowed = 1.0 - home.settings.protection
    assert plan.order.chance_short <= allowed + 1e-9
    stocked_up = make_plan(with_goods_here(home, plan), TODAY)
    last_covered = date.fromordinal(until.toordinal() - 1)
    assert stocked_up.run_out.chance_by(last_covered) <= allowed + 1e-6


@settings(max_examples=12, deadline=None, derandomize=True)
@given(households())
def test_once_placed_an_order_is_not_proposed_again(home: Household) -> None:
    plan = make_plan(home, TODAY)
    assume(plan.order.lines and plan.order.order_by_on is not None and not capped(plan))
    again = make_plan(placed(home, plan), TODAY)
    due = again.order.order_by_on
    assert not again.order.lines or (due is not None and due > TODAY)
