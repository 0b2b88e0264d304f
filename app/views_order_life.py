"""What the page of one order shows: its goods, its history, and what may follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from app import wording
from app.texts import tr
from planner.delivery import SupplierCalendar
from planner.household import Household
from planner.ledger import Receipt
from planner.order_life import next_kinds, ordered_units, steps_of
from planner.order_steps import BY_DELIVERY, OrderStatus, OrderStep
from planner.runout import coming_orders
from planner.supply import Order

_STEPS = {
    OrderStatus.CONFIRMED: "Confirmed",
    OrderStatus.PLACED: "Placed with the supplier",
    OrderStatus.ACKNOWLEDGED: "The supplier has it",
    OrderStatus.ON_ITS_WAY: "On its way",
    OrderStatus.RECEIVED_IN_PART: "A part came",
    OrderStatus.RECEIVED: "It came",
    OrderStatus.CANCELLED: "Cancelled",
}
_CLOSED = "The rest will not come"
_REOPENED = "Goods were taken back, so more may come"
_CHOICES = {
    OrderStatus.PLACED: "I have placed it with the supplier",
    OrderStatus.ACKNOWLEDGED: "The supplier says that they have it",
    OrderStatus.ON_ITS_WAY: "It is on its way",
    OrderStatus.RECEIVED: "The rest will not come",
    OrderStatus.CANCELLED: "It is cancelled, and the supplier knows",
}
_AGAIN = {
    OrderStatus.ACKNOWLEDGED: "The supplier named another day",
    OrderStatus.ON_ITS_WAY: "It is on its way, but on another day",
}
_REST_SENT = "The rest is on its way"
_NEVER_PLACED = "It will not be placed"


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodsShown:
    """One item of an order: how much was ordered, came, and is still to come."""

    code: str
    name: str
    boxes: str
    ordered: str
    came: str
    to_come: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShown:
    """One step of the history; `answer` holds the words of a yes."""

    text: str
    moment: str
    by: str
    day_named: str
    answer: str
    taken_back: str


def receipts_for(record: Household, order: Order) -> tuple[Receipt, ...]:
    """Receipts of an order that stand."""
    return tuple(
        one for one in record.valid_entries if isinstance(one, Receipt) and one.order_id == order.id
    )


def units_to_come(record: Household, order: Order, today: date) -> Mapping[str, int]:
    """Single units of an order that are still to come, by item code."""
    coming = coming_orders(record, SupplierCalendar(record.supplier, record.time_zone), today)
    return next((one.units for one in coming if one.order.id == order.id), {})


def goods_shown(record: Household, order: Order, today: date) -> tuple[GoodsShown, ...]:
    """What was ordered, item by item."""
    names = wording.names_of(record)
    to_come = units_to_come(record, order, today)
    boxes: dict[str, int] = {}
    for line in order.lines:
        boxes[line.item_code] = boxes.get(line.item_code, 0) + line.boxes
    ordered = ordered_units(record, order)
    came = dict.fromkeys(boxes, 0)
    for one in receipts_for(record, order):
        came[one.item_code] = came.get(one.item_code, 0) + one.units

    def units(code: str, count: int) -> str:
        return wording.units_text(count, names.kinds[code])

    return tuple(
        GoodsShown(
            code=code,
            name=names.items[code],
            boxes=wording.count_text(boxes.get(code, 0), "boxes"),
            ordered=units(code, ordered[code]),
            came=units(code, count)
            if count <= ordered[code]
            else tr(
                "{came}, {more} more than ordered",
                came=units(code, count),
                more=count - ordered[code],
            ),
            to_come=units(code, to_come.get(code, 0)) if order.is_open else "",
        )
        for code, count in came.items()
    )


def history_shown(record: Household, order: Order, today: date) -> tuple[StepShown, ...]:
    """Every step, the first one first; one that was taken back stays in the list."""
    return tuple(_step_shown(step, today) for step in steps_of(order, receipts_for(record, order)))


def _step_shown(step: OrderStep, today: date) -> StepShown:
    named = step.expected_on
    back = step.taken_back_at
    return StepShown(
        text=tr(_step_text(step)),
        moment=_moment_text(step.at, today),
        by=step.by,
        day_named="" if named is None else wording.day_text(named, today=today),
        answer=tr(step.note),
        taken_back=""
        if back is None
        else tr(
            "Taken back on {moment} by {name}",
            moment=_moment_text(back, today),
            name=step.taken_back_by,
        ),
    )


def _step_text(step: OrderStep) -> str:
    if step.by and not step.delivery:
        if step.kind is OrderStatus.RECEIVED:
            return _CLOSED
        if step.kind is OrderStatus.RECEIVED_IN_PART:
            return _REOPENED
    return _STEPS[step.kind]


def _moment_text(at: datetime, today: date) -> str:
    return f"{wording.day_text(at.date(), today=today)}, {at:%H:%M}"


def step_choices(record: Household, order: Order) -> list[tuple[str, str]]:
    """The steps that a person may write down now. Goods that came have a page of their own."""
    receipts = receipts_for(record, order)
    goods_came = any(one.delivery and one.stands for one in steps_of(order, receipts))
    return [
        (kind.value, _choice_text(order, kind))
        for kind in next_kinds(order, receipts)
        if kind not in BY_DELIVERY or (kind is OrderStatus.RECEIVED and goods_came)
    ]


def _choice_text(order: Order, kind: OrderStatus) -> str:
    if kind is order.status:
        return _AGAIN[kind]
    if kind is OrderStatus.ON_ITS_WAY and order.status is OrderStatus.RECEIVED_IN_PART:
        return _REST_SENT
    if kind is OrderStatus.CANCELLED and order.status is OrderStatus.CONFIRMED:
        return _NEVER_PLACED
    return _CHOICES[kind]
