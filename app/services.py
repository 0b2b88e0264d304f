"""What people write into the record: sessions, counts, deliveries, waste, and taking back.

One function per action. Each is one transaction, goes through the planner's own types, and
either saves everything or raises `InvalidInput` and saves nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

from app.access import Permission
from app.convert import add_session, ledger_row
from app.errors import NotFound
from app.order_writing import note_delivery, note_receipt_taken_back
from app.writing import Change, Request, Saved, gather, save
from planner.errors import InvalidValue
from planner.household import Household
from planner.ledger import Count, LedgerEntry, Receipt, Reversal, Waste
from planner.order_life import delivery_of
from planner.sessions import BottleUse, LossReason, Session, StopReason

MOST_BOTTLES = 12
MOST_LINES = 40

Word = TypeVar("Word", bound=StrEnum)


@dataclass(frozen=True, slots=True, kw_only=True)
class BottleEntry:
    """One bottle as a form gives it.

    Attributes:
        volume_ml: what it collected. [mL]
        item_code: which item; None means the catheter's usual one.
        loss: a `LossReason` in words of the record, None for a good bottle.
    """

    volume_ml: int
    item_code: str | None = None
    loss: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionEntry:
    """One session as a form gives it; `started_at` is the household's wall clock."""

    started_at: datetime
    catheter_id: str
    bottles: tuple[BottleEntry, ...]
    stop_reason: str = StopReason.NOT_SAID.value


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryLine:
    """Goods of one item, lot and use-by date in a delivery. `units` are single units."""

    item_code: str
    units: int
    lot: str = ""
    expires_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryEntry:
    """A delivery as a form gives it.

    Attributes:
        order_id: the open order it belongs to, if any.
        is_complete: nothing of that order is still to come.
    """

    received_at: datetime
    lines: tuple[DeliveryLine, ...]
    order_id: str | None = None
    is_complete: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteEntry:
    """Units thrown away outside a session."""

    at: datetime
    item_code: str
    units: int
    reason: str
    lot: str = ""


def record_session(request: Request, entry: SessionEntry) -> Saved:
    """Write down one drainage session.

    Raises:
        InvalidInput: fields `started_at`, `catheter`, `stop_reason`, `bottles[n].volume_ml`,
            `bottles[n].item`, `bottles[n].loss`.
    """

    def action(change: Change) -> str:
        change.check_moment("started_at", entry.started_at)
        session = Session(
            id=change.key(),
            catheter_id=entry.catheter_id,
            started_at=entry.started_at,
            bottles=_bottles(entry.bottles),
            stop_reason=_word(StopReason, "stop_reason", entry.stop_reason),
        )
        _refuse_twin(change.household, session)
        replace(change.household, sessions=(*change.household.sessions, session))
        row = add_session(change.db, change.household.id, session)
        row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
        return session.id

    return save(request, Permission.RECORD, action)


def count_item(request: Request, *, item_code: str, units: int, at: datetime) -> Saved:
    """Write down how many units of one item lie on the shelf, usable or not.

    Raises:
        InvalidInput: fields `at`, `item`, `units`.
    """

    def action(change: Change) -> str:
        change.check_moment("at", at)
        count = Count(id=change.key(), at=at, item_code=item_code, units=units)
        _add_entries(change, (count,))
        return count.id

    return save(request, Permission.RECORD, action)


def report_waste(request: Request, entry: WasteEntry) -> Saved:
    """Write down units thrown away.

    Raises:
        InvalidInput: fields `at`, `item`, `units`, `reason`, `lot`.
    """

    def action(change: Change) -> str:
        change.check_moment("at", entry.at)
        waste = Waste(
            id=change.key(),
            at=entry.at,
            item_code=entry.item_code,
            units=entry.units,
            reason=entry.reason,
            lot=_short("lot", entry.lot),
        )
        _add_entries(change, (waste,))
        return waste.id

    return save(request, Permission.RECORD, action)


def receive_delivery(request: Request, entry: DeliveryEntry) -> Saved:
    """Put a delivery on the shelf, and close the order it belongs to.

    Raises:
        InvalidInput: fields `received_at`, `order`, `lines`, `lines[n].item`,
            `lines[n].units`, `lines[n].lot`, `lines[n].expires_on`.
    """

    def action(change: Change) -> str:
        change.check_moment("received_at", entry.received_at)
        _check_length("lines", len(entry.lines), MOST_LINES)
        receipts = gather("lines", entry.lines, lambda n, line: _receipt(change, entry, n, line))
        if entry.order_id is not None:
            note_delivery(
                change,
                entry.order_id,
                delivery_of(receipts[0]),
                at=entry.received_at,
                is_complete=entry.is_complete,
            )
        _add_entries(change, receipts)
        return receipts[0].id

    return save(request, Permission.RECORD, action)


def undo(request: Request, reverses_id: str) -> Saved:
    """Take back a session or an entry; both it and its reversal stay in the record.

    A delivery that is taken back makes its order open again.

    Raises:
        NotFound: when the record has no such session or entry.
        InvalidInput: field `entry`, when it was taken back before or is itself a reversal.
    """

    def action(change: Change) -> str:
        household = change.household
        entries = {entry.id: entry for entry in household.ledger}
        if reverses_id not in entries and reverses_id not in {s.id for s in household.sessions}:
            raise NotFound
        target = entries.get(reverses_id)
        if isinstance(target, Reversal) or reverses_id in household.taken_back_ids:
            raise InvalidValue("entry", reverses_id, "it was taken back already")
        reversal = Reversal(id=change.key(), at=change.now, reverses_id=reverses_id)
        _add_entries(change, (reversal,))
        if isinstance(target, Receipt) and target.order_id is not None:
            note_receipt_taken_back(change, target)
        return reversal.id

    return save(request, Permission.RECORD, action)


def _bottles(entries: tuple[BottleEntry, ...]) -> tuple[BottleUse, ...]:
    _check_length("bottles", len(entries), MOST_BOTTLES)

    def make(_n: int, entry: BottleEntry) -> BottleUse:
        loss = None if entry.loss is None else _word(LossReason, "loss", entry.loss)
        return BottleUse(volume_ml=entry.volume_ml, item_code=entry.item_code, loss=loss)

    return gather("bottles", entries, make)


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
        lot=_short("lot", line.lot),
        expires_on=line.expires_on,
        order_id=entry.order_id,
    )


def _word(words: type[Word], field: str, text: str) -> Word:
    try:
        return words(text)
    except ValueError as error:
        raise InvalidValue(field, text, f"choose one of {', '.join(words)}") from error


def _short(field: str, text: str) -> str:
    limit = 40
    if len(text) > limit:
        raise InvalidValue(field, text, f"use at most {limit} characters")
    return text.strip()


def _check_length(field: str, length: int, most: int) -> None:
    if not 1 <= length <= most:
        raise InvalidValue(field, f"{length} lines", f"give 1 to {most}")


def _refuse_twin(household: Household, session: Session) -> None:
    """One catheter is drained once at a moment; the same moment again is a slip."""
    moment = (session.catheter_id, session.started_at)
    if any((one.catheter_id, one.started_at) == moment for one in household.valid_sessions):
        fix = "a session at this moment is in the record already; take it back or change the time"
        raise InvalidValue("started_at", f"{session.started_at:%Y-%m-%d %H:%M}", fix)


def _add_entries(change: Change, entries: Iterable[LedgerEntry]) -> None:
    added = tuple(entries)
    replace(change.household, ledger=(*change.household.ledger, *added))
    for entry in added:
        row = ledger_row(change.household.id, entry)
        row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
        change.db.add(row)
    change.db.flush()


__all__ = [
    "BottleEntry",
    "DeliveryEntry",
    "DeliveryLine",
    "Request",
    "Saved",
    "SessionEntry",
    "WasteEntry",
    "count_item",
    "receive_delivery",
    "record_session",
    "report_waste",
    "undo",
]
