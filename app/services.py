"""What people write into the record: sessions, and taking back; the shelf by way of others.

One function per action. Each is one transaction, goes through the planner's own types, and
either saves everything or raises `InvalidInput` and saves nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from app.access import Permission
from app.convert import add_session, read_household
from app.errors import InvalidInput, NotFound
from app.order_writing import note_receipt_taken_back
from app.services_deliveries import (
    DeliveryEntry,
    DeliveryLine,
    WrongLine,
    receive_delivery,
)
from app.services_shelf import (
    KeptEntry,
    MoveEntry,
    WasteEntry,
    count_item,
    keep_wrong,
    move_goods,
    recall_lot,
    report_waste,
    send_wrong_back,
)
from app.writing import (
    Change,
    Request,
    Saved,
    add_entries,
    check_length,
    gather,
    known_word,
    save,
)
from planner.errors import InvalidValue
from planner.fitting_kits import overfull_fault
from planner.household import Household
from planner.ledger import Receipt, Reversal
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.stock import items_taken, shelf_at

MOST_BOTTLES = 12


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
            stop_reason=known_word(StopReason, "stop_reason", entry.stop_reason),
        )
        _refuse_twin(change.household, session)
        record = replace(change.household, sessions=(*change.household.sessions, session))
        _refuse_overfull(record, session)
        row = add_session(change.db, change.household.id, session)
        row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
        return session.id

    return save(request, Permission.RECORD, action)


def undo(request: Request, reverses_id: str) -> Saved:
    """Take back a session, an entry or a whole delivery; it and its reversal stay in the record.

    A delivery that is taken back makes its order open again.

    Args:
        request: who, when, which form.
        reverses_id: id of the session or entry, or what the ids of a delivery's entries have in
            common.

    Raises:
        NotFound: when the record has no such session or entry.
        InvalidInput: field `entry`, when it was taken back before or is itself a reversal.
    """

    def action(change: Change) -> str:
        household = change.household
        entries = {entry.id: entry for entry in household.ledger}
        known = entries.keys() | {session.id for session in household.sessions}
        together = [key for key in entries if key.startswith(f"{reverses_id}-")]
        targets = [reverses_id] if reverses_id in known else together
        if not targets:
            raise NotFound
        gone = household.taken_back_ids
        standing = [
            key for key in targets if key not in gone and not isinstance(entries.get(key), Reversal)
        ]
        if not standing:
            raise InvalidValue("entry", reverses_id, "it was taken back already")
        reversals = [
            Reversal(id=change.key(n), at=change.now, reverses_id=key)
            for n, key in enumerate(standing, 1 if len(standing) > 1 else 0)
        ]
        _reverse(change, reversals)
        return reversals[0].id

    return save(request, Permission.RECORD, action)


def _bottles(entries: tuple[BottleEntry, ...]) -> tuple[BottleUse, ...]:
    check_length("bottles", len(entries), MOST_BOTTLES)

    def make(_n: int, entry: BottleEntry) -> BottleUse:
        loss = None if entry.loss is None else known_word(LossReason, "loss", entry.loss)
        return BottleUse(volume_ml=entry.volume_ml, item_code=entry.item_code, loss=loss)

    return gather("bottles", entries, make)


def _refuse_twin(household: Household, session: Session) -> None:
    """One catheter is drained once at a moment; the same moment again is a slip."""
    moment = (session.catheter_id, session.started_at)
    if any((one.catheter_id, one.started_at) == moment for one in household.valid_sessions):
        fix = "a session at this moment is in the record already; take it back or change the time"
        raise InvalidValue("started_at", f"{session.started_at:%Y-%m-%d %H:%M}", fix)


def _refuse_overfull(record: Household, session: Session) -> None:
    """A bottle without an item holds no more than those of the kits that the shelf had then.

    The record allows for the largest kit that fits, since its goods may be written down late.
    """
    catheter = record.catheter(session.catheter_id)
    if not catheter.other_kit_codes:
        return
    before = replace(record, sessions=tuple(one for one in record.sessions if one != session))
    there = {one.item_code for one in shelf_at(before, session.started_at).lots}
    kit, taken = record.item(catheter.kit_code), items_taken(record)[session.id]
    faults = [
        overfull_fault(bottle, kit, f"bottles[{n}]")
        for n, (bottle, code) in enumerate(zip(session.bottles, taken, strict=True), 1)
        if bottle.item_code is None
        and bottle.volume_ml > kit.bottle_ml
        and code in catheter.other_kit_codes
        and code not in there
    ]
    if faults:
        raise InvalidInput(faults)


def _reverse(change: Change, reversals: Iterable[Reversal]) -> None:
    """Take entries back one by one, each order seeing what the one before it left."""
    for reversal in reversals:
        add_entries(change, (reversal,))
        receipts = (one for one in change.household.ledger if isinstance(one, Receipt))
        receipt = next((one for one in receipts if one.id == reversal.reverses_id), None)
        if receipt is not None and receipt.order_id is not None:
            note_receipt_taken_back(change, receipt)
        household = read_household(change.db, change.household.id)
        assert household is not None
        change = replace(change, household=household)


__all__ = [
    "BottleEntry",
    "DeliveryEntry",
    "DeliveryLine",
    "KeptEntry",
    "MoveEntry",
    "Request",
    "Saved",
    "SessionEntry",
    "WasteEntry",
    "WrongLine",
    "count_item",
    "keep_wrong",
    "move_goods",
    "recall_lot",
    "receive_delivery",
    "record_session",
    "report_waste",
    "send_wrong_back",
    "undo",
]
