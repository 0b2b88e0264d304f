"""Orders: a person confirms them, places them, follows them; nothing is ever ordered by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time

from app.access import Permission
from app.convert import add_order, ledger_row
from app.errors import OutOfDate
from app.models_orders import DeclinedOrderRow
from app.order_writing import find_order, receipts_of, receipts_of_delivery, store_order
from app.writing import Change, Request, Saved, gather, save
from planner.errors import InvalidValue, require_text
from planner.household import Household
from planner.ledger import Reversal
from planner.order_life import steps_of, take_back_last, take_step
from planner.order_steps import OrderStatus, OrderStep
from planner.supply import Order, OrderLine

LONGEST_ANSWER = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderConfirmation:
    """What a person said yes to.

    Attributes:
        lines: item code and whole boxes, as shown or as changed by the person.
        confirmed_by: name of the person who says yes.
        said_yes: the box was ticked.
        said_needed: the box that supplies are needed was ticked; asked only where a payer's
            refill rule wants it.
        answer: the words that stood beside the boxes, kept as the affirmative answer.
        input_version: version of the record the proposal was made from.
        is_placed: the person has placed it with the supplier already.
        promised_on: delivery day the supplier named, if it did.
        is_express: it goes by express.
    """

    lines: tuple[tuple[str, int], ...]
    confirmed_by: str
    said_yes: bool
    answer: str
    input_version: int
    said_needed: bool = True
    is_placed: bool = False
    promised_on: date | None = None
    is_express: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A no to a proposal.

    Attributes:
        declined_by: name of the person who says no.
        asked: item code and whole boxes that were proposed.
        answer: the words of the answer.
        input_version: version of the record the proposal was made from.
    """

    declined_by: str
    asked: tuple[tuple[str, int], ...]
    answer: str
    input_version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StepEntry:
    """One step of an order as a form gives it.

    Attributes:
        kind: an `OrderStatus` in words of the record.
        on: the day on which it happened.
        expected_on: delivery day the supplier named with it, if any.
    """

    kind: str
    on: date
    expected_on: date | None = None


def waiting_order(household: Household) -> Order | None:
    """The confirmed order that nobody has placed yet, if there is one."""
    waiting = (one for one in household.orders if one.status is OrderStatus.CONFIRMED)
    return next(waiting, None)


def confirm_order(request: Request, confirmation: OrderConfirmation) -> Saved:
    """Write down an order that a person has confirmed; keeps who, when, what and the answer.

    Raises:
        OutOfDate: when the record changed after the proposal was shown.
        InvalidInput: fields `said_yes`, `said_needed`, `confirmed_by`, `promised_on`, `order`,
            `express`, `lines[n].item`, `lines[n].boxes`.
    """

    def action(change: Change) -> str:
        if change.version != confirmation.input_version + 1:
            raise OutOfDate
        _check(confirmation, change.household, change.now.date())
        order = _confirmed(change, confirmation)
        replace(change.household, orders=(*change.household.orders, order))
        row = add_order(change.db, change.household.id, order)
        row.confirmed_account_id = change.access.account_id
        row.confirmed_at = change.recorded_at
        row.answer = confirmation.answer[:LONGEST_ANSWER]
        row.proposal_version = confirmation.input_version
        return order.id

    return save(request, Permission.ORDER, action)


def decline_order(request: Request, refusal: Refusal) -> Saved:
    """Keep the answer that a proposal is not needed now; no order comes of it.

    Raises:
        InvalidInput: field `declined_by`.
    """

    def action(change: Change) -> str:
        require_text("declined_by", refusal.declined_by)
        row = DeclinedOrderRow(
            household_id=change.household.id,
            key=change.key(),
            at=change.now,
            declined_by=refusal.declined_by.strip(),
            asked=", ".join(f"{code} {boxes}" for code, boxes in refusal.asked),
            answer=refusal.answer[:LONGEST_ANSWER],
            account_id=change.access.account_id,
            recorded_at=change.recorded_at,
            proposal_version=refusal.input_version,
        )
        change.db.add(row)
        return row.key

    return save(request, Permission.ORDER, action)


def move_order(request: Request, order_id: str, entry: StepEntry) -> Saved:
    """Take an order one step further. Goods that came are written down as a delivery instead.

    Raises:
        NotFound: when there is no such order.
        InvalidInput: fields `step`, `on`, `at`, `expected_on`.
    """

    def action(change: Change) -> str:
        order = find_order(change.household, order_id)
        kind = _kind(entry.kind)
        if entry.on > change.now.date():
            raise InvalidValue(
                "on", entry.on, f"it lies in the future; today is {change.now.date()}"
            )
        step = OrderStep(
            kind=kind,
            at=_moment_on(entry.on, order, change.now),
            by=change.access.account_name,
            expected_on=entry.expected_on,
        )
        receipts = receipts_of(change.household, order_id)
        store_order(change, take_step(order, step, receipts))
        return order_id

    return save(request, Permission.ORDER, action)


def undo_order_step(request: Request, order_id: str, number: int) -> Saved:
    """Take back an order's last step; both stay in its history. Goods that came go as well.

    Args:
        request: who, when, which form.
        order_id: the order.
        number: which step the page showed as the last one, counted from 1.

    Raises:
        NotFound: when there is no such order.
        OutOfDate: when another step is the last one by now.
        InvalidInput: field `step`, when it is the first one.
    """

    def action(change: Change) -> str:
        order = find_order(change.household, order_id)
        receipts = receipts_of(change.household, order_id)
        if number != last_step_number(order, change.household):
            raise OutOfDate
        last = steps_of(order, receipts)[number - 1]
        by = change.access.account_name
        store_order(change, take_back_last(order, receipts, at=change.now, by=by))
        for n, receipt in enumerate(receipts_of_delivery(receipts, last.delivery), 1):
            reversal = Reversal(id=change.key(n), at=change.now, reverses_id=receipt.id)
            row = ledger_row(change.household.id, reversal)
            row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
            change.db.add(row)
        return order_id

    return save(request, Permission.ORDER, action)


def last_step_number(order: Order, household: Household) -> int:
    """Which of an order's steps is the last that stands, counted from 1."""
    steps = steps_of(order, receipts_of(household, order.id))
    return max(n for n, step in enumerate(steps, 1) if step.stands)


def _confirmed(change: Change, confirmation: OrderConfirmation) -> Order:
    named_on = confirmation.promised_on
    first = OrderStep(
        kind=OrderStatus.CONFIRMED,
        at=change.now,
        by=confirmation.confirmed_by.strip(),
        expected_on=None if confirmation.is_placed else named_on,
        note=confirmation.answer[:LONGEST_ANSWER],
    )
    order = Order(
        id=change.key(),
        placed_at=change.now,
        lines=gather("lines", (line for line in confirmation.lines if line[1]), _line),
        status=OrderStatus.CONFIRMED,
        promised_on=first.expected_on,
        confirmed_by=first.by,
        steps=(first,),
        is_express=confirmation.is_express,
    )
    if not confirmation.is_placed:
        return order
    placed = OrderStep(
        kind=OrderStatus.PLACED,
        at=change.now,
        by=change.access.account_name,
        expected_on=named_on,
    )
    return take_step(order, placed)


def _line(_n: int, line: tuple[str, int]) -> OrderLine:
    return OrderLine(item_code=line[0], boxes=line[1])


def _check(confirmation: OrderConfirmation, household: Household, today: date) -> None:
    waiting = waiting_order(household)
    if waiting is not None:
        fix = "it was confirmed and waits to be placed; place or cancel it first"
        raise InvalidValue("order", f"that of {waiting.placed_at.date()}", fix)
    if not confirmation.said_yes:
        raise InvalidValue("said_yes", "not ticked", "tick the box to say that you want this order")
    if household.settings.refill_rule is not None and not confirmation.said_needed:
        fix = "the payer wants to know that the supplies are needed; tick the box if they are"
        raise InvalidValue("said_needed", "not ticked", fix)
    require_text("confirmed_by", confirmation.confirmed_by)
    promised_on = confirmation.promised_on
    if promised_on is not None and promised_on < today:
        raise InvalidValue("promised_on", promised_on, "it lies in the past; check the day")
    if confirmation.is_express and household.supplier.express_business_days is None:
        fix = "the supplier's terms name no express; take the tick out, or enter its days first"
        raise InvalidValue("express", "ticked", fix)


def _kind(text: str) -> OrderStatus:
    try:
        return OrderStatus(text)
    except ValueError as error:
        raise InvalidValue("step", text, "choose one of the steps on the page") from error


def _moment_on(day: date, order: Order, now: datetime) -> datetime:
    """Now for today; noon for any other day, and never before the order on its own day."""
    if day == now.date():
        return now
    noon = datetime.combine(day, time(12, 0))
    return max(noon, order.placed_at) if day == order.placed_at.date() else noon
