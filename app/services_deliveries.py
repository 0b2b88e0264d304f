"""What people write about deliveries: goods received, and goods that came by mistake."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime

from app.access import Permission
from app.order_writing import find_order, note_delivery, receipts_of
from app.writing import (
    Change,
    Request,
    Saved,
    add_entries,
    check_length,
    gather,
    save,
    short_text,
)
from planner.errors import InvalidValue
from planner.household import Household
from planner.ledger import Receipt, WrongDelivery
from planner.order_life import delivery_of, ordered_units

MOST_LINES = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryLine:
    """Goods of one item, lot and use-by date in a delivery. `units` are single units."""

    item_code: str
    units: int
    lot: str = ""
    expires_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongLine:
    """Goods that came by mistake, in words. `units` are single units."""

    what: str
    units: int
    lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryEntry:
    """A delivery as a form gives it.

    Attributes:
        wrong: goods that nobody ordered or that are of the wrong kind.
        order_id: the open order it belongs to, if any.
        is_complete: nothing of that order is still to come.
        came_twice: the same goods on the same day are no slip.
        came_in_excess: more than the order asked for is no slip.
    """

    received_at: datetime
    lines: tuple[DeliveryLine, ...]
    wrong: tuple[WrongLine, ...] = ()
    order_id: str | None = None
    is_complete: bool = True
    came_twice: bool = False
    came_in_excess: bool = False


def receive_delivery(request: Request, entry: DeliveryEntry) -> Saved:
    """Put a delivery on the shelf, and close the order it belongs to.

    Wrong goods alone leave their order as it was, since what was ordered has not come.

    Returns:
        The entry's id; for several entries what their ids begin with.

    Raises:
        InvalidInput: fields `received_at`, `order`, `lines`, `lines[n].item`,
            `lines[n].units`, `lines[n].lot`, `lines[n].expires_on`, `wrong[n].what`,
            `wrong[n].units`, `wrong[n].lot`, `twice` when the same is on record already, and
            `excess` when more came than the order asked for.
    """

    def action(change: Change) -> str:
        change.check_moment("received_at", entry.received_at)
        count = len(entry.lines) + len(entry.wrong)
        check_length("lines", count, MOST_LINES)
        if entry.order_id is not None:
            _check_awaited(change.household, entry.order_id)
        receipts = gather("lines", entry.lines, lambda n, line: _receipt(change, entry, n, line))
        first = len(receipts) + 1
        wrong = gather(
            "wrong", entry.wrong, lambda n, line: _wrong(change, entry, first + n - 1, line)
        )
        if not entry.came_twice:
            _refuse_twins(change.household, receipts)
        if entry.order_id is not None and not entry.came_in_excess:
            _refuse_excess(change.household, entry.order_id, receipts)
        entries: tuple[Receipt | WrongDelivery, ...] = (*receipts, *wrong)
        if entry.order_id is not None and receipts:
            note_delivery(
                change,
                entry.order_id,
                delivery_of(receipts[0]),
                at=entry.received_at,
                is_complete=entry.is_complete,
            )
        add_entries(change, entries)
        return change.key() if count > 1 else entries[0].id

    return save(request, Permission.RECORD, action)


def _receipt(change: Change, entry: DeliveryEntry, n: int, line: DeliveryLine) -> Receipt:
    known = {item.code for item in change.household.items}
    if line.item_code not in known:
        fix = f"no such item; choose one of {', '.join(sorted(known))}"
        raise InvalidValue("item", line.item_code, fix)
    return Receipt(
        id=change.key(n),
        at=entry.received_at,
        item_code=line.item_code,
        units=line.units,
        lot=short_text("lot", line.lot),
        expires_on=line.expires_on,
        order_id=entry.order_id,
    )


def _wrong(change: Change, entry: DeliveryEntry, n: int, line: WrongLine) -> WrongDelivery:
    return WrongDelivery(
        id=change.key(n),
        at=entry.received_at,
        what=line.what,
        units=line.units,
        lot=short_text("lot", line.lot),
        order_id=entry.order_id,
    )


def _refuse_twins(household: Household, receipts: tuple[Receipt, ...]) -> None:
    """The same goods for one order on one day are most often the same delivery written twice."""
    known = [one for one in household.valid_entries if isinstance(one, Receipt)]
    for new in receipts:
        if any(_fingerprint(one) == _fingerprint(new) for one in known):
            lot = f", lot {new.lot}" if new.lot else ""
            what = f"{new.units} of {household.item(new.item_code).name}{lot}"
            fix = (
                f"the same is written down for {new.at.date()} already; "
                "if it came twice, tick the box and save again"
            )
            raise InvalidValue("twice", what, fix)


def _refuse_excess(household: Household, order_id: str, receipts: tuple[Receipt, ...]) -> None:
    """More than was ordered is most often boxes counted as pieces, or another order's goods."""
    order = find_order(household, order_id)
    ordered = ordered_units(household, order)
    came = Counter[str]()
    for one in (*receipts_of(household, order_id), *receipts):
        came[one.item_code] += one.units
    for code in dict.fromkeys(one.item_code for one in receipts):
        if came[code] > ordered[code]:
            what = f"{came[code]} of {household.item(code).name}"
            fix = (
                f"the order asked for {ordered[code]}; check the number and the order; "
                "if so many came, tick the box and save again"
            )
            raise InvalidValue("excess", what, fix)


def _fingerprint(receipt: Receipt) -> tuple[object, ...]:
    return (
        receipt.order_id,
        receipt.item_code,
        receipt.lot,
        receipt.units,
        receipt.expires_on,
        receipt.at.date(),
    )


def _check_awaited(household: Household, order_id: str) -> None:
    order = next((one for one in household.orders if one.id == order_id), None)
    if order is not None and order.received_on is not None and not order.is_open:
        fix = (
            f"it is marked as received on {order.received_on} already; "
            "choose another order, or none"
        )
        raise InvalidValue("order", order_id, fix)
    if order is None or not order.is_open:
        raise InvalidValue("order", order_id, "it is not on its way; choose an open order")
