"""Entries of the shelf ledger to rows and back."""

from __future__ import annotations

from collections.abc import Callable

from app.models import LedgerRow
from planner.ledger import (
    Count,
    Departure,
    DifferenceCause,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongReturn,
)


def ledger_row(household_id: str, entry: LedgerEntry) -> LedgerRow:
    """The row of one ledger entry."""
    row = LedgerRow(
        household_id=household_id, key=entry.id, kind=type(entry).__name__.lower(), at=entry.at
    )
    match entry:
        case Reversal():
            row.reverses_key = entry.reverses_id
        case WrongReturn():
            row.reverses_key = entry.delivery_id
        case Receipt():
            row.expires_on = entry.expires_on
            row.order_key = entry.order_id
        case WrongDelivery():
            row.reason = entry.what
            row.order_key = entry.order_id
        case Waste():
            row.reason = entry.reason
        case Departure():
            row.reason = entry.reason.value
        case Transfer():
            row.reason = entry.to.value
        case Count():
            row.reason = entry.cause.value if entry.cause else ""
        case Recall():
            pass
    row.item_code = getattr(entry, "item_code", "")
    row.lot = getattr(entry, "lot", "")
    row.units = getattr(entry, "units", 0)
    return row


def ledger_entry(row: LedgerRow) -> LedgerEntry:
    """The ledger entry of a row."""
    return _READERS[row.kind](row)


def _receipt(row: LedgerRow) -> Receipt:
    return Receipt(
        id=row.key,
        at=row.at,
        item_code=row.item_code,
        units=row.units,
        lot=row.lot,
        expires_on=row.expires_on,
        order_id=row.order_key,
    )


def _waste(row: LedgerRow) -> Waste:
    return Waste(
        id=row.key,
        at=row.at,
        item_code=row.item_code,
        units=row.units,
        reason=row.reason,
        lot=row.lot,
    )


def _count(row: LedgerRow) -> Count:
    cause = DifferenceCause(row.reason) if row.reason else None
    return Count(id=row.key, at=row.at, item_code=row.item_code, units=row.units, cause=cause)


def _departure(row: LedgerRow) -> Departure:
    return Departure(
        id=row.key,
        at=row.at,
        item_code=row.item_code,
        units=row.units,
        reason=LeavingReason(row.reason),
        lot=row.lot,
    )


def _transfer(row: LedgerRow) -> Transfer:
    return Transfer(
        id=row.key,
        at=row.at,
        item_code=row.item_code,
        units=row.units,
        to=Place(row.reason),
        lot=row.lot,
    )


def _wrong_delivery(row: LedgerRow) -> WrongDelivery:
    return WrongDelivery(
        id=row.key,
        at=row.at,
        what=row.reason,
        units=row.units,
        lot=row.lot,
        order_id=row.order_key,
    )


_READERS: dict[str, Callable[[LedgerRow], LedgerEntry]] = {
    "receipt": _receipt,
    "waste": _waste,
    "count": _count,
    "departure": _departure,
    "transfer": _transfer,
    "wrongdelivery": _wrong_delivery,
    "recall": lambda row: Recall(id=row.key, at=row.at, item_code=row.item_code, lot=row.lot),
    "wrongreturn": lambda row: WrongReturn(id=row.key, at=row.at, delivery_id=row.reverses_key),
    "reversal": lambda row: Reversal(id=row.key, at=row.at, reverses_id=row.reverses_key),
}
