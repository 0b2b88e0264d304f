"""What people write about the shelf: counts, losses, goods that move or leave, recalls."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.access import Permission
from app.errors import NotFound
from app.writing import Change, Request, Saved, add_entries, known_word, save, short_text
from planner.errors import InvalidValue
from planner.household import Household
from planner.ledger import (
    Count,
    Departure,
    DifferenceCause,
    LeavingEntry,
    LeavingReason,
    Place,
    Recall,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.stock import shelf_at, shelf_on, units_that_can_go


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteEntry:
    """Units thrown away outside a session."""

    at: datetime
    item_code: str
    units: int
    reason: str
    lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveEntry:
    """Units that go somewhere else.

    Attributes:
        where: a `Place` for the travel bag and back, a `LeavingReason` for what leaves for good.
    """

    at: datetime
    item_code: str
    units: int
    where: str
    lot: str = ""


def count_item(
    request: Request, *, item_code: str, units: int, at: datetime, cause: str = ""
) -> Saved:
    """Write down how many units of one item lie on the shelf, usable or not.

    Args:
        request: who, when, which form.
        item_code: what was counted.
        units: how many are there. [units]
        at: when.
        cause: a `DifferenceCause` where the count and the record differ; empty when not asked.

    Raises:
        InvalidInput: fields `at`, `item`, `units`, `cause`.
    """

    def action(change: Change) -> str:
        change.check_moment("at", at)
        word = known_word(DifferenceCause, "cause", cause) if cause else None
        count = Count(id=change.key(), at=at, item_code=item_code, units=units, cause=word)
        add_entries(change, (count,))
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
            lot=short_text("lot", entry.lot),
        )
        _add_leaving(change, waste)
        return waste.id

    return save(request, Permission.RECORD, action)


def move_goods(request: Request, entry: MoveEntry) -> Saved:
    """Write down units that go into the travel bag, come back from it, or leave for good.

    Raises:
        InvalidInput: fields `at`, `item`, `units`, `where`, `lot`.
    """

    def action(change: Change) -> str:
        change.check_moment("at", entry.at)
        moved = _moved(change.key(), entry)
        _add_leaving(change, moved)
        return moved.id

    return save(request, Permission.RECORD, action)


def _moved(key: str, entry: MoveEntry) -> Transfer | Departure:
    lot = short_text("lot", entry.lot)
    if entry.where in list(Place):
        return Transfer(
            id=key,
            at=entry.at,
            item_code=entry.item_code,
            units=entry.units,
            to=Place(entry.where),
            lot=lot,
        )
    if entry.where not in list(LeavingReason):
        fix = f"choose one of {', '.join((*Place, *LeavingReason))}"
        raise InvalidValue("where", entry.where, fix)
    return Departure(
        id=key,
        at=entry.at,
        item_code=entry.item_code,
        units=entry.units,
        reason=LeavingReason(entry.where),
        lot=lot,
    )


def _add_leaving(change: Change, entry: LeavingEntry) -> None:
    """Add an entry that needs goods to be there."""
    home = change.household
    home.item(entry.item_code)
    _check_lot(home, entry)
    most = units_that_can_go(home, entry)
    if entry.units > most:
        where = f" of lot {entry.lot}" if entry.lot else ""
        first = "unpack the bag" if _is_in_bag(home, entry) else "count the shelf"
        fix = f"the record has only {most}{where} to take; correct the number, or {first} first"
        raise InvalidValue("units", entry.units, fix)
    add_entries(change, (entry,))


def _is_in_bag(household: Household, entry: LeavingEntry) -> bool:
    """Whether more of what is to leave the home lies in the travel bag."""
    if isinstance(entry, Waste) or (isinstance(entry, Transfer) and entry.to is Place.HOME):
        return False
    bag = shelf_at(household, entry.at).lots_of(entry.item_code, Place.BAG)
    return any(entry.lot in ("", one.lot) for one in bag)


def _check_lot(household: Household, entry: LeavingEntry) -> None:
    there = shelf_on(household, entry.at.date()).lots
    lots = {one.lot for one in there if one.item_code == entry.item_code}
    if entry.lot and entry.lot not in lots:
        known = ", ".join(sorted(filter(None, lots))) or "none"
        fix = f"the record has no such lot; leave it empty or choose one of these: {known}"
        raise InvalidValue("lot", entry.lot, fix)


def recall_lot(request: Request, *, item_code: str, lot: str) -> Saved:
    """Write down that a lot was called back; it need not be here, it may still come.

    Raises:
        InvalidInput: fields `item`, `lot`.
    """

    def action(change: Change) -> str:
        called = short_text("lot", lot)
        change.household.item(item_code)
        if is_recalled(change.household, item_code, called):
            raise InvalidValue("lot", called, "it is marked as recalled already; nothing to do")
        recall = Recall(id=change.key(), at=change.now, item_code=item_code, lot=called)
        add_entries(change, (recall,))
        return recall.id

    return save(request, Permission.RECORD, action)


def is_recalled(household: Household, item_code: str, lot: str) -> bool:
    """Whether a lot is marked as called back."""
    recalls = (one for one in household.valid_entries if isinstance(one, Recall))
    return (item_code, lot) in {(one.item_code, one.lot) for one in recalls}


def send_wrong_back(request: Request, delivery_id: str, units: int | None = None) -> Saved:
    """Write down that goods of a wrong delivery have left.

    Args:
        request: who, when, which form.
        delivery_id: the wrong delivery.
        units: how many left; None for all that are here. [units]

    Raises:
        NotFound: when the record has no such wrong delivery.
        InvalidInput: field `delivery`, when all have left before, or `units`.
    """

    def action(change: Change) -> str:
        gone = WrongReturn(id=change.key(), at=change.now, delivery_id=delivery_id, units=units)
        _check_wrong_units(change, delivery_id, units)
        add_entries(change, (gone,))
        return gone.id

    return save(request, Permission.RECORD, action)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptEntry:
    """Goods of a wrong delivery that stay, as units of an item of the household."""

    delivery_id: str
    item_code: str
    units: int
    lot: str = ""
    expires_on: date | None = None


def keep_wrong(request: Request, entry: KeptEntry) -> Saved:
    """Put goods of a wrong delivery on the shelf, since they stay after all.

    Raises:
        NotFound: when the record has no such wrong delivery.
        InvalidInput: fields `delivery`, `item`, `units`, `lot`, `expires_on`.
    """

    def action(change: Change) -> str:
        _check_wrong_units(change, entry.delivery_id, entry.units)
        change.household.item(entry.item_code)
        kept = WrongKept(
            id=change.key(),
            at=change.now,
            delivery_id=entry.delivery_id,
            item_code=entry.item_code,
            units=entry.units,
            lot=short_text("lot", entry.lot),
            expires_on=entry.expires_on,
        )
        add_entries(change, (kept,))
        return kept.id

    return save(request, Permission.RECORD, action)


def _check_wrong_units(change: Change, delivery_id: str, units: int | None) -> None:
    """Refuse more of a wrong delivery than is still here."""
    deliveries = (one for one in change.household.valid_entries if isinstance(one, WrongDelivery))
    if delivery_id not in {one.id for one in deliveries}:
        raise NotFound
    here = {one.id: one.units for one in shelf_at(change.household, change.now).wrong_goods}
    if delivery_id not in here:
        raise InvalidValue("delivery", delivery_id, "it has left already")
    if units is not None and units > here[delivery_id]:
        fix = f"only {here[delivery_id]} of these goods are here; correct the number"
        raise InvalidValue("units", units, fix)
