"""What the shelf page shows: items, lots, warnings, and the latest entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from app import wording
from app.texts import tr
from planner.household import Household
from planner.items import ItemKind
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
from planner.results import ItemOnHand, Plan
from planner.shelf_lots import ShelfLot
from planner.stock import shelf_on
from planner.supply import Order

RECENT_ENTRIES = 12

_LEFT = {
    LeavingReason.RETURNED: "Sent back",
    LeavingReason.DISPOSED: "Disposed of",
    LeavingReason.CLINIC: "To a clinic",
    LeavingReason.GIVEN_AWAY: "Given away",
}
_CARRIED = {Place.BAG: "Packed in the travel bag:", Place.HOME: "Back from the travel bag:"}
_CAUSES = {
    DifferenceCause.SESSIONS_NOT_WRITTEN: ": sessions were not written down",
    DifferenceCause.BOTTLE_LOST: ": something was lost",
    DifferenceCause.TAKEN_ALONG: ": taken along or given away",
    DifferenceCause.DELIVERY_NOT_ENTERED: ": a delivery was not written down",
    DifferenceCause.NOT_KNOWN: ": not known why it differed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """One lot as shown."""

    lot: str
    use_by: str
    units: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """One item as shown: what may be used, and everything told apart from it.

    Attributes:
        in_bag: usable units in the travel bag. [units]
    """

    code: str
    name: str
    usable: str
    notes: tuple[str, ...]
    in_bag: int
    lots: tuple[LotLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallLine:
    """Goods of a recalled lot that are still here."""

    item_code: str
    lot: str
    text: str
    units: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongLine:
    """Goods that came by mistake and are still here."""

    key: str
    text: str
    units: int
    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """One entry of the shelf's record as shown."""

    key: str
    day: str
    what: str
    by: str
    taken_back: bool


def item_lines(record: Household, plan: Plan, today: date) -> tuple[ItemLine, ...]:
    """Every item with what may be used and what must be told apart from it."""
    names = wording.names_of(record)
    shelf = shelf_on(record, today)
    beside = {
        code: tr(
            "Fits as well as {kit}. The soonest date goes first, whatever the size. "
            "It is not ordered.",
            kit=names.items[one.kit_code],
        )
        for one in record.catheters
        for code in one.other_kit_codes
    }
    return tuple(
        ItemLine(
            code=one.item_code,
            name=names.items[one.item_code],
            usable=wording.units_text(one.usable, names.kinds[one.item_code]),
            notes=(*_notes(one, names), *filter(None, (beside.get(one.item_code),))),
            in_bag=one.away,
            lots=tuple(
                _lot_line(lot, today, wording.units_text(lot.units, names.kinds[lot.item_code]))
                for lot in shelf.lots
                if lot.item_code == one.item_code
            ),
        )
        for one in plan.on_hand
    )


def _notes(one: ItemOnHand, names: wording.Names) -> tuple[str, ...]:
    kind = names.kinds[one.item_code]
    notes = (
        (one.expiring_before_use, "will probably pass their use-by date first"),
        (one.expired, "past the use-by date – do not use"),
        (one.recalled, "recalled – do not use"),
        (one.away, "in the travel bag"),
        (one.in_transit, "on the way, not counted yet"),
    )
    return tuple(
        tr(f"{{units}} {text}", units=wording.units_text(n, kind)) for n, text in notes if n
    )


def _lot_line(lot: ShelfLot, today: date, units: str) -> LotLine:
    state = "usable"
    if lot.recalled:
        state = "recalled – do not use"
    elif lot.is_expired(today):
        state = "past its date – do not use"
    if lot.place is Place.BAG:
        state = "in the travel bag" if state == "usable" else f"{state} (in the travel bag)"
    use_by = tr("not noted")
    if lot.expires_on is not None:
        use_by = wording.day_text(lot.expires_on, today=today, with_year=True)
    return LotLine(lot=lot.lot or tr("not noted"), use_by=use_by, units=units, state=tr(state))


def recall_lines(record: Household, today: date) -> tuple[RecallLine, ...]:
    """Recalled lots of which something is still here, in the bag as well."""
    names = wording.names_of(record)
    units: dict[tuple[str, str], int] = {}
    for lot in shelf_on(record, today).lots:
        if lot.recalled:
            place = (lot.item_code, lot.lot)
            units[place] = units.get(place, 0) + lot.units
    return tuple(
        RecallLine(
            item_code=code,
            lot=lot,
            text=tr(
                "{item}, lot {lot}: {units}",
                item=names.items[code],
                lot=lot,
                units=wording.units_text(n, names.kinds[code]),
            ),
            units=n,
        )
        for (code, lot), n in units.items()
    )


def wrong_lines(record: Household, today: date) -> tuple[WrongLine, ...]:
    """Wrong deliveries, as far as they neither left nor were kept."""
    return tuple(
        WrongLine(
            key=one.id,
            text=tr(
                "{units} of {what}, came on {day}",
                units=wording.units_text(one.units, ItemKind.OTHER),
                what=one.what,
                day=wording.day_text(one.at.date(), today=today),
            ),
            units=one.units,
            lot=one.lot,
        )
        for one in shelf_on(record, today).wrong_goods
    )


def entry_lines(record: Household, authors: Mapping[str, str]) -> tuple[EntryLine, ...]:
    """The latest entries; one that was taken back stays in the list."""
    names = wording.names_of(record)
    gone = record.taken_back_ids
    shown = [one for one in record.ledger if not isinstance(one, Reversal)]
    shown.sort(key=lambda one: (one.at, one.id), reverse=True)
    return tuple(
        EntryLine(
            key=one.id,
            day=wording.day_text(one.at.date()),
            what=_what(one, names),
            by=authors.get(one.id, ""),
            taken_back=one.id in gone,
        )
        for one in shown[:RECENT_ENTRIES]
    )


def _what(entry: LedgerEntry, names: wording.Names) -> str:
    """What an entry says, the goods apart; then the goods, then what is noted about them."""
    match entry:
        case Recall():
            item = names.items.get(entry.item_code, "")
            return tr("Recalled: {item}, lot {lot}", item=item, lot=entry.lot)
        case WrongDelivery():
            units = wording.units_text(entry.units, ItemKind.OTHER)
            said = tr("Came by mistake: {units} of {what}", units=units, what=entry.what)
            return said + _lot(entry.lot)
        case WrongReturn(units=int(left)):
            units = wording.units_text(left, ItemKind.OTHER)
            return tr("Wrong goods have left: {units}", units=units)
        case WrongReturn() | Reversal():
            return tr("Wrong goods have left")
    units = f"{wording.units_text(entry.units, names.kinds[entry.item_code])}"
    return _item_pattern(entry).format(units=f"{units} ({names.items[entry.item_code]})")


def _item_pattern(entry: Receipt | Waste | Count | Departure | Transfer | WrongKept) -> str:
    match entry:
        case Receipt():
            said, more = "Received {units}", _lot(entry.lot)
        case WrongKept():
            said, more = "Came by mistake and stays: {units}", _lot(entry.lot)
        case Waste():
            said, more = "Thrown away {units}", f": {entry.reason}"
        case Count():
            said, more = "Counted {units}", tr(_CAUSES[entry.cause]) if entry.cause else ""
        case Departure():
            said, more = f"{_LEFT[entry.reason]}: {{units}}", _lot(entry.lot)
        case Transfer():
            said, more = f"{_CARRIED[entry.to]} {{units}}", _lot(entry.lot)
    return tr(said) + more.replace("{", "{{").replace("}", "}}")


def _lot(lot: str) -> str:
    return tr(", lot {lot}", lot=lot) if lot else ""


def open_orders(record: Household) -> tuple[tuple[str, str], ...]:
    """Orders on their way, by id, each with a short name."""
    return tuple(
        (
            one.id,
            tr(
                "{boxes} ordered on {day}",
                boxes=_boxes(one),
                day=wording.day_text(one.placed_at.date()),
            ),
        )
        for one in record.orders
        if one.is_open
    )


def _boxes(order: Order) -> str:
    return wording.count_text(sum(line.boxes for line in order.lines), "boxes")


def item_choices(record: Household) -> list[tuple[str, str]]:
    """Items to choose from, by code."""
    return [(one.code, one.name) for one in record.items]
