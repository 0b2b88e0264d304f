"""Entries of the shelf ledger to rows and back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TypedDict

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
    WrongKept,
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
        case WrongReturn() | WrongKept():
            row.reverses_key = entry.delivery_id
        case WrongDelivery():
            row.reason = entry.what
        case Waste():
            row.reason = entry.reason
        case Departure():
            row.reason = entry.reason.value
        case Transfer():
            row.reason = entry.to.value
        case Count():
            row.reason = entry.cause.value if entry.cause else ""
        case Receipt() | Recall():
            pass
    row.item_code = getattr(entry, "item_code", "")
    row.lot = getattr(entry, "lot", "")
    row.units = getattr(entry, "units", None) or 0
    row.expires_on = getattr(entry, "expires_on", None)
    row.order_key = getattr(entry, "order_id", None)
    return row


def ledger_entry(row: LedgerRow) -> LedgerEntry:
    """The ledger entry of a row."""
    return _READERS[row.kind](row)


class _Entry(TypedDict):
    """What every entry has."""

    id: str
    at: datetime


class _Units(_Entry):
    """What an entry about units of an item has."""

    item_code: str
    units: int


class _Goods(_Units):
    """What an entry about goods that may be of one lot has."""

    lot: str


def _entry(row: LedgerRow) -> _Entry:
    return {"id": row.key, "at": row.at}


def _units(row: LedgerRow) -> _Units:
    return {**_entry(row), "item_code": row.item_code, "units": row.units}


def _goods(row: LedgerRow) -> _Goods:
    return {**_units(row), "lot": row.lot}


_READERS: dict[str, Callable[[LedgerRow], LedgerEntry]] = {
    "receipt": lambda row: Receipt(
        **_goods(row), expires_on=row.expires_on, order_id=row.order_key
    ),
    "waste": lambda row: Waste(**_goods(row), reason=row.reason),
    "count": lambda row: Count(
        **_units(row), cause=DifferenceCause(row.reason) if row.reason else None
    ),
    "departure": lambda row: Departure(**_goods(row), reason=LeavingReason(row.reason)),
    "transfer": lambda row: Transfer(**_goods(row), to=Place(row.reason)),
    "recall": lambda row: Recall(**_entry(row), item_code=row.item_code, lot=row.lot),
    "wrongdelivery": lambda row: WrongDelivery(
        **_entry(row), what=row.reason, units=row.units, lot=row.lot, order_id=row.order_key
    ),
    "wrongreturn": lambda row: WrongReturn(
        **_entry(row), delivery_id=row.reverses_key, units=row.units or None
    ),
    "wrongkept": lambda row: WrongKept(
        **_goods(row), delivery_id=row.reverses_key, expires_on=row.expires_on
    ),
    "reversal": lambda row: Reversal(**_entry(row), reverses_id=row.reverses_key),
}
