"""Which step may follow which, and how an order looks after it.

Goods of an order are in transit from the day it is placed until they come, the rest is given
up, or the order is cancelled. Every function gives a new order and leaves the old one alone.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, time

from planner.errors import InvalidValue
from planner.household import Household
from planner.ledger import Receipt
from planner.order_steps import BY_DELIVERY, OrderStatus, OrderStep, state_after
from planner.supply import Order

_LINE_NUMBER = re.compile(r"-\d\d$")

_NEXT: dict[OrderStatus, tuple[OrderStatus, ...]] = {
    OrderStatus.CONFIRMED: (OrderStatus.PLACED, OrderStatus.CANCELLED),
    OrderStatus.PLACED: (
        OrderStatus.ACKNOWLEDGED,
        OrderStatus.ON_ITS_WAY,
        OrderStatus.RECEIVED_IN_PART,
        OrderStatus.RECEIVED,
        OrderStatus.CANCELLED,
    ),
    # The same step again names another delivery day.
    OrderStatus.ACKNOWLEDGED: (
        OrderStatus.ACKNOWLEDGED,
        OrderStatus.ON_ITS_WAY,
        OrderStatus.RECEIVED_IN_PART,
        OrderStatus.RECEIVED,
        OrderStatus.CANCELLED,
    ),
    OrderStatus.ON_ITS_WAY: (
        OrderStatus.ON_ITS_WAY,
        OrderStatus.RECEIVED_IN_PART,
        OrderStatus.RECEIVED,
        OrderStatus.CANCELLED,
    ),
    OrderStatus.RECEIVED_IN_PART: (
        OrderStatus.ON_ITS_WAY,
        OrderStatus.RECEIVED_IN_PART,
        OrderStatus.RECEIVED,
    ),
    OrderStatus.RECEIVED: (),
    OrderStatus.CANCELLED: (),
}


def delivery_of(receipt: Receipt) -> str:
    """The key that the receipts of one delivery share: their id without the line's number.

    Examples:
        >>> [
        ...     delivery_of(Receipt(id=key, at=datetime(2026, 3, 2), item_code="K", units=1))
        ...     for key in ("v0000012-01", "v0000012-02", "r7")
        ... ]
        ['v0000012', 'v0000012', 'r7']
    """
    return _LINE_NUMBER.sub("", receipt.id)


def ordered_units(household: Household, order: Order) -> Counter[str]:
    """Single units that an order asks for, by item code."""
    units = Counter[str]()
    for line in order.lines:
        units[line.item_code] += line.boxes * household.item(line.item_code).units_per_box
    return units


def steps_of(order: Order, receipts: Iterable[Receipt]) -> tuple[OrderStep, ...]:
    """The order's steps; for an order that was loaded without any, those it implies.

    Args:
        order: the order.
        receipts: receipts of this order that stand.
    """
    if order.steps:
        return order.steps
    by = order.confirmed_by
    named = order.promised_on
    expected_on = named if named is not None and named >= order.placed_at.date() else None
    first = OrderStatus.CONFIRMED if order.status is OrderStatus.CONFIRMED else OrderStatus.PLACED
    steps = [OrderStep(kind=first, at=order.placed_at, by=by, expected_on=expected_on)]
    came: dict[str, datetime] = {}
    for one in sorted(receipts, key=lambda one: (one.at, one.id)):
        came.setdefault(delivery_of(one), one.at)
    steps += [
        OrderStep(kind=OrderStatus.RECEIVED_IN_PART, at=at, delivery=key)
        for key, at in came.items()
    ]
    if order.status is OrderStatus.RECEIVED and came:
        steps[-1] = replace(steps[-1], kind=OrderStatus.RECEIVED)
    elif order.status is OrderStatus.RECEIVED and order.received_on is not None:
        at = max(datetime.combine(order.received_on, time(12)), order.placed_at)
        steps.append(OrderStep(kind=OrderStatus.RECEIVED, at=at))
    elif order.status not in (first, *BY_DELIVERY) and not came:
        steps.append(OrderStep(kind=order.status, at=order.placed_at))
    return tuple(steps)


def next_kinds(order: Order, receipts: Iterable[Receipt]) -> tuple[OrderStatus, ...]:
    """The steps that may follow.

    Once goods came an order is no longer cancelled: its rest is given up, which is RECEIVED
    without a delivery. Without goods it is the other way round.
    """
    steps = steps_of(order, receipts)
    goods_came = _goods_came(steps)
    return tuple(
        kind
        for kind in _NEXT[state_after(steps).status]
        if not (kind is OrderStatus.CANCELLED and goods_came)
    )


def take_step(order: Order, step: OrderStep, receipts: Sequence[Receipt] = ()) -> Order:
    """The order after one more step.

    Args:
        order: the order.
        step: what happened; goods that came name their delivery.
        receipts: receipts of this order that stand, before this step.

    Raises:
        InvalidValue: field `step` when it cannot follow, `at` when it lies before the last one.
    """
    steps = steps_of(order, receipts)
    status = state_after(steps).status
    if step.kind not in next_kinds(order, receipts):
        raise InvalidValue("step", step.kind.value, _why_not(status, step.kind))
    if step.kind in BY_DELIVERY and not step.delivery and not _closes(step, steps):
        raise InvalidValue("step", step.kind.value, "write down the goods that came instead")
    last_on = max(one.at.date() for one in steps if one.stands and not one.delivery)
    # Goods may be written down later than they came, so only their order day bounds them.
    earliest_on = order.placed_at.date() if step.delivery else last_on
    if step.at.date() < earliest_on:
        fix = f"it lies before the step before it, {earliest_on}; check the day"
        raise InvalidValue("at", step.at.date(), fix)
    return with_steps(order, (*steps, step))


def take_back_last(order: Order, receipts: Iterable[Receipt], *, at: datetime, by: str) -> Order:
    """The order without its last step, which stays in its history as taken back.

    The caller takes the receipts of a delivery back as well.

    Raises:
        InvalidValue: field `step` when only the first step is left.
    """
    steps = steps_of(order, receipts)
    standing = [n for n, step in enumerate(steps) if step.stands]
    if len(standing) == 1:
        fix = "it is the first step and stays; cancel the order instead"
        raise InvalidValue("step", steps[standing[0]].kind.value, fix)
    return with_steps(order, _taken_back(steps, {standing[-1]}, at, by))


def take_back_receipt(
    order: Order, receipt: Receipt, left: Sequence[Receipt], *, at: datetime, by: str
) -> Order:
    """The order after one of its receipts was taken back: what it held may still come.

    Args:
        order: the order.
        receipt: the receipt that was a mistake.
        left: the order's other receipts, which stand.
        at: local wall-clock time of taking it back.
        by: who took it back.
    """
    steps = steps_of(order, (*left, receipt))
    if not left:
        gone = {n for n, one in enumerate(steps) if one.stands and one.kind in BY_DELIVERY}
    else:
        kept = {delivery_of(one) for one in left}
        key = delivery_of(receipt)
        gone = {
            n
            for n, one in enumerate(steps)
            if one.stands and one.delivery == key and key not in kept
        }
    steps = _taken_back(steps, gone, at, by)
    if state_after(steps).status is OrderStatus.RECEIVED:
        steps = (*steps, OrderStep(kind=OrderStatus.RECEIVED_IN_PART, at=at, by=by))
    return with_steps(order, steps)


def with_steps(order: Order, steps: tuple[OrderStep, ...]) -> Order:
    """The order as these steps leave it."""
    state = state_after(steps)
    return replace(
        order,
        steps=steps,
        status=state.status,
        placed_at=state.placed_at,
        promised_on=state.promised_on,
        received_on=state.received_on,
    )


def as_it_stood(order: Order, moment: datetime) -> Order:
    """The order without the steps after a moment; one without steps is left as it is."""
    steps = tuple(
        step
        if step.taken_back_at is None or step.taken_back_at <= moment
        else replace(step, taken_back_at=None, taken_back_by="")
        for step in order.steps
        if step.at <= moment
    )
    return with_steps(order, steps) if steps else order


def _taken_back(
    steps: Sequence[OrderStep], gone: set[int], at: datetime, by: str
) -> tuple[OrderStep, ...]:
    return tuple(
        replace(step, taken_back_at=at, taken_back_by=by) if n in gone else step
        for n, step in enumerate(steps)
    )


def _goods_came(steps: Iterable[OrderStep]) -> bool:
    return any(step.stands and step.delivery for step in steps)


def _closes(step: OrderStep, steps: Iterable[OrderStep]) -> bool:
    return step.kind is OrderStatus.RECEIVED and _goods_came(steps)


def _why_not(status: OrderStatus, kind: OrderStatus) -> str:
    words = {one: one.value.replace("-", " ") for one in OrderStatus}
    if not _NEXT[status]:
        return f"the order is {words[status]}, so nothing follows; undo its last step first"
    if kind is OrderStatus.CANCELLED:
        return "some of the goods came already; say that the rest will not come instead"
    return f"an order that is {words[status]} cannot be {words[kind]} next; look at its history"
