"""How a changed order is written, and what deliveries do to it; used by several services."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from sqlmodel import col, select, update

from app.convert_rows import order_step_rows
from app.errors import NotFound
from app.models import OrderRow
from app.models_orders import OrderStepRow
from app.writing import Change
from planner.errors import InvalidValue
from planner.household import Household
from planner.ledger import Receipt
from planner.order_life import delivery_of, take_back_receipt, take_step
from planner.order_steps import OrderStatus, OrderStep
from planner.supply import Order


def find_order(household: Household, order_id: str) -> Order:
    """The household's order with this id.

    Raises:
        NotFound: when there is none.
    """
    for order in household.orders:
        if order.id == order_id:
            return order
    raise NotFound


def receipts_of(household: Household, order_id: str) -> tuple[Receipt, ...]:
    """Receipts of an order that were not taken back."""
    return tuple(
        entry
        for entry in household.valid_entries
        if isinstance(entry, Receipt) and entry.order_id == order_id
    )


def note_delivery(
    change: Change, order_id: str, delivery_key: str, *, at: datetime, is_complete: bool
) -> None:
    """Write down that goods of an order came.

    Args:
        change: the change in the making, whose household does not hold the new receipts yet.
        order_id: the order.
        delivery_key: what the ids of the new receipts begin with.
        at: when they came.
        is_complete: nothing more is to come.

    Raises:
        InvalidValue: field `order` when it is not on its way, `received_at` when the goods
            came before it was placed.
    """
    order = next((one for one in change.household.orders if one.id == order_id), None)
    if order is None or not order.is_open:
        raise InvalidValue("order", order_id, "it is not on its way; choose an open order")
    if at.date() < order.placed_at.date():
        fix = f"it lies before the order of {order.placed_at.date()}"
        raise InvalidValue("received_at", at.date(), fix)
    kind = OrderStatus.RECEIVED if is_complete else OrderStatus.RECEIVED_IN_PART
    step = OrderStep(kind=kind, at=at, by=change.access.account_name, delivery=delivery_key)
    store_order(change, take_step(order, step, receipts_of(change.household, order_id)))


def note_receipt_taken_back(change: Change, receipt: Receipt) -> None:
    """Write down that goods of an order did not come after all; it may come again.

    The change's household still holds the receipt.
    """
    if receipt.order_id is None:
        return
    order = find_order(change.household, receipt.order_id)
    if order.status is OrderStatus.CANCELLED:
        return
    left = [one for one in receipts_of(change.household, order.id) if one.id != receipt.id]
    by = change.access.account_name
    store_order(change, take_back_receipt(order, receipt, left, at=change.now, by=by))


def receipts_of_delivery(receipts: Iterable[Receipt], delivery_key: str) -> tuple[Receipt, ...]:
    """Those receipts that came with one delivery."""
    return tuple(one for one in receipts if delivery_of(one) == delivery_key)


def store_order(change: Change, order: Order) -> None:
    """Write a changed order: its row, and those of its steps that are new or were taken back."""
    orders = tuple(order if one.id == order.id else one for one in change.household.orders)
    replace(change.household, orders=orders)  # the whole record is checked once more
    household_id = change.household.id
    change.db.exec(
        update(OrderRow)
        .where(col(OrderRow.household_id) == household_id, col(OrderRow.key) == order.id)
        .values(
            status=order.status.value,
            placed_at=order.placed_at,
            promised_on=order.promised_on,
            received_on=order.received_on,
        )
    )
    known = {
        row.number: row
        for row in change.db.exec(
            select(OrderStepRow).where(
                OrderStepRow.household_id == household_id, OrderStepRow.order_key == order.id
            )
        )
    }
    for row in order_step_rows(household_id, order):
        before = known.get(row.number)
        if before is None:
            row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
            change.db.add(row)
        else:
            before.taken_back_at, before.taken_back_by = row.taken_back_at, row.taken_back_by
            change.db.add(before)
    change.db.flush()
