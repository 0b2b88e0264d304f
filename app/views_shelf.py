"""What the shelf page shows: items, lots, and the latest entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from app import wording
from planner.household import Household
from planner.ledger import Count, LedgerEntry, Recall, Receipt, Reversal, Waste
from planner.results import ItemOnHand, Plan
from planner.stock import ShelfLot, shelf_on
from planner.supply import Order

RECENT_ENTRIES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """One lot as shown."""

    lot: str
    use_by: str
    units: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """One item as shown: what may be used, and everything told apart from it."""

    code: str
    name: str
    usable: str
    notes: tuple[str, ...]
    lots: tuple[LotLine, ...]


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
    return tuple(
        ItemLine(
            code=one.item_code,
            name=names.items[one.item_code],
            usable=wording.units_text(one.usable, names.kinds[one.item_code]),
            notes=_notes(one, names),
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
        (one.in_transit, "on the way, not counted yet"),
    )
    return tuple(f"{wording.units_text(n, kind)} {text}" for n, text in notes if n)


def _lot_line(lot: ShelfLot, today: date, units: str) -> LotLine:
    state = "usable"
    if lot.recalled:
        state = "recalled – do not use"
    elif lot.is_expired(today):
        state = "past its date – do not use"
    use_by = "not noted"
    if lot.expires_on is not None:
        use_by = wording.day_text(lot.expires_on, today=today, with_year=True)
    return LotLine(lot=lot.lot or "not noted", use_by=use_by, units=units, state=state)


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
    match entry:
        case Receipt():
            lot = f", lot {entry.lot}" if entry.lot else ""
            return f"Received {_units(entry.item_code, entry.units, names)}{lot}"
        case Count():
            return f"Counted {_units(entry.item_code, entry.units, names)}"
        case Waste():
            return f"Thrown away {_units(entry.item_code, entry.units, names)}: {entry.reason}"
        case Recall():
            return f"Recalled: {names.items.get(entry.item_code, '')}, lot {entry.lot}"
        case _:
            return ""


def _units(code: str, units: int, names: wording.Names) -> str:
    return f"{wording.units_text(units, names.kinds[code])} ({names.items[code]})"


def open_orders(record: Household) -> tuple[tuple[str, str], ...]:
    """Orders on their way, by id, each with a short name."""
    return tuple(
        (
            one.id,
            _boxes(one) + f" ordered on {wording.day_text(one.placed_at.date())}",
        )
        for one in record.orders
        if one.is_open
    )


def _boxes(order: Order) -> str:
    return wording.count_text(sum(line.boxes for line in order.lines), "boxes")


def item_choices(record: Household) -> list[tuple[str, str]]:
    """Items to choose from, by code."""
    return [(one.code, one.name) for one in record.items]
