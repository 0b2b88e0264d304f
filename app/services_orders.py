"""Orders: a person confirms, places and cancels them; nothing is ever ordered by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from sqlmodel import col, update

from app.access import Permission
from app.convert import add_order
from app.errors import NotFound, OutOfDate
from app.models import OrderRow
from app.writing import Change, Request, Saved, gather, save
from planner.errors import InvalidValue, require_text
from planner.supply import Order, OrderLine, OrderStatus


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderConfirmation:
    """What a person said yes to.

    Attributes:
        lines: item code and whole boxes, as shown or as changed by the person.
        confirmed_by: name of the person who says yes.
        said_yes: the box was ticked.
        answer: the words that stood beside the box, kept as the affirmative answer.
        input_version: version of the record the proposal was made from.
        promised_on: delivery day the supplier named, if it did.
    """

    lines: tuple[tuple[str, int], ...]
    confirmed_by: str
    said_yes: bool
    answer: str
    input_version: int
    promised_on: date | None = None


def confirm_order(request: Request, confirmation: OrderConfirmation) -> Saved:
    """Place an order that a person has confirmed; keeps who, when, what and the answer.

    Raises:
        OutOfDate: when the record changed after the proposal was shown.
        InvalidInput: fields `said_yes`, `confirmed_by`, `promised_on`, `lines[n].item`,
            `lines[n].boxes`.
    """

    def action(change: Change) -> str:
        if change.version != confirmation.input_version + 1:
            raise OutOfDate
        _check(confirmation, change.now.date())
        order = Order(
            id=change.key(),
            placed_at=change.now,
            lines=gather("lines", (line for line in confirmation.lines if line[1]), _line),
            promised_on=confirmation.promised_on,
            confirmed_by=confirmation.confirmed_by.strip(),
        )
        replace(change.household, orders=(*change.household.orders, order))
        row = add_order(change.db, change.household.id, order)
        row.confirmed_account_id = change.access.account_id
        row.confirmed_at = change.recorded_at
        row.answer = confirmation.answer[:200]
        row.proposal_version = confirmation.input_version
        return order.id

    return save(request, Permission.ORDER, action)


def cancel_order(request: Request, order_id: str) -> Saved:
    """Mark an open order as cancelled; the person has told the supplier.

    Raises:
        NotFound: when there is no such order.
        OutOfDate: when it was received or cancelled before.
    """

    def action(change: Change) -> str:
        order = next((one for one in change.household.orders if one.id == order_id), None)
        if order is None:
            raise NotFound
        if not order.is_open:
            raise OutOfDate
        change.db.exec(
            update(OrderRow)
            .where(col(OrderRow.household_id) == change.household.id)
            .where(col(OrderRow.key) == order_id)
            .values(status=OrderStatus.CANCELLED.value)
        )
        return order_id

    return save(request, Permission.ORDER, action)


def _line(_n: int, line: tuple[str, int]) -> OrderLine:
    return OrderLine(item_code=line[0], boxes=line[1])


def _check(confirmation: OrderConfirmation, today: date) -> None:
    if not confirmation.said_yes:
        raise InvalidValue("said_yes", "not ticked", "tick the box to say that you want this order")
    require_text("confirmed_by", confirmation.confirmed_by)
    promised_on = confirmation.promised_on
    if promised_on is not None and promised_on < today:
        raise InvalidValue("promised_on", promised_on, "it lies in the past; check the day")
