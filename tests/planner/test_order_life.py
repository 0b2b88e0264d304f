"""Which steps an order may take, what they add up to, and how they are taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from planner.delivery import SupplierCalendar, is_late
from planner.errors import InvalidValue
from planner.ledger import Receipt
from planner.order_life import (
    as_it_stood,
    next_kinds,
    steps_of,
    take_back_last,
    take_back_receipt,
    take_step,
)
from planner.order_steps import LONGEST_WAIT_DAYS, OrderStatus, OrderStep
from planner.plan import make_plan
from planner.supply import Order, OrderLine
from tests.builders import KIT, TODAY, day, make_household, make_order, make_supplier, stocked

CONFIRMED, PLACED = OrderStatus.CONFIRMED, OrderStatus.PLACED
ACKNOWLEDGED, ON_ITS_WAY = OrderStatus.ACKNOWLEDGED, OrderStatus.ON_ITS_WAY
PART, RECEIVED, CANCELLED = (
    OrderStatus.RECEIVED_IN_PART,
    OrderStatus.RECEIVED,
    OrderStatus.CANCELLED,
)
NOON = datetime(2026, 3, 11, 12)


def confirmed(boxes: int = 2, at: datetime = NOON - timedelta(days=1)) -> Order:
    first = OrderStep(kind=CONFIRMED, at=at, by="Cara", note="Yes.")
    return Order(
        id="o1",
        placed_at=at,
        lines=(OrderLine(item_code=KIT, boxes=boxes),),
        status=CONFIRMED,
        confirmed_by="Cara",
        steps=(first,),
    )


def through(*kinds: OrderStatus, order: Order | None = None) -> Order:
    found = order or confirmed()
    for kind in kinds:
        found = take_step(found, OrderStep(kind=kind, at=NOON, by="Cara"))
    return found


def came(units: int, key: str) -> Receipt:
    return Receipt(id=key, at=NOON, item_code=KIT, units=units, order_id="o1")


def delivered(order: Order, kind: OrderStatus, key: str) -> Order:
    return take_step(order, OrderStep(kind=kind, at=NOON, by="Cara", delivery=key))


def test_a_confirmed_order_is_not_in_transit_until_it_is_placed() -> None:
    order = confirmed()
    in_transit = [
        make_plan(make_household(ledger=stocked(5), orders=(one,)), TODAY).on_hand[0].in_transit
        for one in (order, through(PLACED), through(PLACED, ACKNOWLEDGED, ON_ITS_WAY))
    ]
    assert in_transit == [0, 20, 20]


@pytest.mark.parametrize(
    ("before", "allowed"),
    [
        ((), {PLACED, CANCELLED}),
        ((PLACED,), {ACKNOWLEDGED, ON_ITS_WAY, PART, RECEIVED, CANCELLED}),
        ((PLACED, ACKNOWLEDGED), {ACKNOWLEDGED, ON_ITS_WAY, PART, RECEIVED, CANCELLED}),
        ((PLACED, ON_ITS_WAY), {ON_ITS_WAY, PART, RECEIVED, CANCELLED}),
        ((PLACED, CANCELLED), set()),
    ],
)
def test_every_other_step_is_refused_in_a_sentence(
    before: tuple[OrderStatus, ...], allowed: set[OrderStatus]
) -> None:
    order = through(*before)
    assert set(next_kinds(order, ())) == allowed
    for kind in set(OrderStatus) - allowed:
        with pytest.raises(InvalidValue) as refusal:
            take_step(order, OrderStep(kind=kind, at=NOON, delivery="v1"))
        assert refusal.value.fault.field == "step"
        assert refusal.value.fault.value == kind.value
        assert refusal.value.fault.fix


def test_goods_come_by_a_delivery_and_not_by_saying_so() -> None:
    with pytest.raises(InvalidValue, match="write down the goods that came instead"):
        through(PLACED, RECEIVED)


def test_once_goods_came_the_rest_is_given_up_and_the_order_is_not_cancelled() -> None:
    order = delivered(through(PLACED), PART, "v2")
    assert CANCELLED not in next_kinds(order, (came(10, "v2-01"),))
    with pytest.raises(InvalidValue, match="say that the rest will not come instead"):
        take_step(order, OrderStep(kind=CANCELLED, at=NOON))
    later = OrderStep(kind=RECEIVED, at=NOON + timedelta(days=4), by="Cara")
    closed = take_step(order, later, (came(10, "v2-01"),))
    assert (closed.status, closed.received_on) == (RECEIVED, NOON.date())


def test_the_day_named_last_is_the_day_promised() -> None:
    order = take_step(
        through(PLACED), OrderStep(kind=ACKNOWLEDGED, at=NOON, expected_on=date(2026, 3, 12))
    )
    assert order.promised_on == date(2026, 3, 12)
    moved = take_step(order, OrderStep(kind=ACKNOWLEDGED, at=NOON, expected_on=date(2026, 3, 13)))
    assert moved.promised_on == date(2026, 3, 13)
    assert take_back_last(moved, (), at=NOON, by="Cara").promised_on == date(2026, 3, 12)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"at": NOON - timedelta(days=2)}, "at"),
        ({"expected_on": NOON.date() - timedelta(days=1)}, "expected_on"),
        ({"kind": CANCELLED, "expected_on": NOON.date()}, "expected_on"),
    ],
)
def test_a_day_that_cannot_be_is_refused(change: dict[str, object], field: str) -> None:
    with pytest.raises(InvalidValue) as refusal:
        take_step(
            through(PLACED),
            OrderStep(**({"kind": ACKNOWLEDGED, "at": NOON} | change)),  # type: ignore[arg-type]
        )
    assert refusal.value.fault.field == field


def test_undoing_goes_back_step_by_step_and_keeps_the_first() -> None:
    order = through(PLACED, ACKNOWLEDGED)
    back = take_back_last(order, (), at=NOON, by="Pat")
    assert back.status is PLACED
    assert len(back.steps) == 3
    assert back.steps[-1].taken_back_by == "Pat"
    first = take_back_last(back, (), at=NOON, by="Pat")
    assert (first.status, first.placed_at) == (CONFIRMED, confirmed().placed_at)
    with pytest.raises(InvalidValue, match="cancel the order instead"):
        take_back_last(first, (), at=NOON, by="Pat")
    assert through(PLACED, order=first).status is PLACED


def test_goods_taken_back_may_come_again() -> None:
    first, second = came(10, "v2-01"), came(10, "v3-01")
    part = delivered(through(PLACED), PART, "v2")
    whole = delivered(part, RECEIVED, "v3")
    without_last = take_back_receipt(whole, second, (first,), at=NOON, by="Pat")
    assert without_last.status is PART
    without_first = take_back_receipt(whole, first, (second,), at=NOON, by="Pat")
    assert (without_first.status, without_first.received_on) == (PART, None)
    nothing = take_back_receipt(without_first, second, (), at=NOON, by="Pat")
    assert nothing.status is PLACED


def test_one_line_of_a_delivery_taken_back_opens_the_order() -> None:
    kits, more = came(10, "v2-01"), came(10, "v2-02")
    whole = delivered(through(PLACED), RECEIVED, "v2")
    opened = take_back_receipt(whole, kits, (more,), at=NOON, by="Pat")
    assert opened.is_open
    assert take_back_receipt(opened, more, (), at=NOON, by="Pat").status is PLACED


def test_an_order_loaded_without_steps_implies_them() -> None:
    placed = make_order(promised_on=day(2))
    assert [one.kind for one in steps_of(placed, ())] == [PLACED]
    part = came(10, "r1")
    assert [one.kind for one in steps_of(placed, (part,))] == [PLACED, PART]
    whole = make_order(placed=-5, status=RECEIVED, received_on=day(-1))
    assert [one.kind for one in steps_of(whole, ())] == [PLACED, RECEIVED]
    assert [one.kind for one in steps_of(whole, (part,))] == [PLACED, RECEIVED]
    gone = make_order(status=CANCELLED)
    assert take_back_last(gone, (), at=NOON, by="Pat").status is PLACED
    for order in (placed, whole, gone):
        opened = take_back_receipt(order, part, (), at=NOON, by="Pat")
        assert opened.placed_at == order.placed_at


def test_an_order_must_agree_with_its_steps() -> None:
    with pytest.raises(InvalidValue, match="its steps lead to confirmed"):
        Order(
            id="o1",
            placed_at=confirmed().placed_at,
            lines=confirmed().lines,
            status=PLACED,
            steps=confirmed().steps,
        )


def test_late_is_after_the_day_named_or_the_usual_one() -> None:
    calendar = SupplierCalendar(make_supplier(lead_business_days=3))
    usual = make_order(placed=-1)  # Tuesday; due on Friday
    assert [is_late(calendar, usual, day(n)) for n in (2, 3)] == [False, True]
    named = make_order(placed=-1, promised_on=day(1))
    assert [is_late(calendar, named, day(n)) for n in (1, 2)] == [False, True]
    done = make_order(placed=-5, status=RECEIVED, received_on=day(-1))
    assert not is_late(calendar, done, day(9))


def test_an_order_as_it_stood_forgets_later_steps() -> None:
    order = take_step(
        through(PLACED), OrderStep(kind=ON_ITS_WAY, at=NOON + timedelta(days=1), by="Cara")
    )
    back = take_back_last(order, (), at=NOON + timedelta(days=2), by="Cara")
    assert as_it_stood(back, NOON).status is PLACED
    assert as_it_stood(back, NOON + timedelta(days=1)).status is ON_ITS_WAY
    assert as_it_stood(back, NOON + timedelta(days=2)) == back
    assert as_it_stood(make_order(), NOON) == make_order()


def test_a_delivery_day_years_ahead_is_taken_for_a_slip() -> None:
    last = NOON.date() + timedelta(days=LONGEST_WAIT_DAYS)
    assert OrderStep(kind=PLACED, at=NOON, by="Cara", expected_on=last).expected_on == last
    for far in (last + timedelta(days=1), date.max):
        with pytest.raises(InvalidValue, match=f"expected_on is {far}.*check the year"):
            OrderStep(kind=PLACED, at=NOON, by="Cara", expected_on=far)
        with pytest.raises(InvalidValue, match=f"promised_on is {far}.*check the year"):
            replace(confirmed(at=NOON), steps=(), status=PLACED, promised_on=far)
    near = replace(confirmed(at=NOON), steps=(), status=PLACED, promised_on=last)
    make_plan(make_household(orders=(near,)), NOON.date())
