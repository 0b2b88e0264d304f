"""What lies on the shelf: the ledger added up, lot by lot, first expired first out.

The shelf is a pure function of the set of entries: late entries sort themselves in by
their own moment, so the order of typing never matters.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from planner.consumption import items_opened
from planner.household import Household
from planner.ledger import Count, Recall, Receipt, StandingEntry, Waste
from planner.sessions import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLot:
    """Units of one item with one lot and one use-by date.

    Attributes:
        expires_on: last day on which the goods may be used; None when not noted.
    """

    item_code: str
    lot: str
    expires_on: date | None
    units: int
    recalled: bool = False

    def is_usable(self, day: date) -> bool:
        """Whether these goods may be used on a day."""
        return not self.recalled and not self.is_expired(day)

    def is_expired(self, day: date) -> bool:
        """Whether their use-by date has passed."""
        return self.expires_on is not None and self.expires_on < day


@dataclass(frozen=True, slots=True, kw_only=True)
class CountDifference:
    """A count that did not match the record: counted minus recorded. [units]"""

    at: datetime
    item_code: str
    recorded: int
    counted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The shelf at the end of a day.

    Attributes:
        lots: what is there, soonest expiry first; no empty lots.
        differences: counts that did not match, in order of time.
        missing: units that the record used without having them, by item.
        counted_items: items that were counted at least once.
    """

    on: date
    lots: tuple[ShelfLot, ...]
    differences: tuple[CountDifference, ...] = ()
    missing: dict[str, int] = field(default_factory=dict)
    counted_items: frozenset[str] = frozenset()

    def usable_lots(self, item_code: str) -> tuple[ShelfLot, ...]:
        """Lots of an item that may be used on the shelf's day, soonest expiry first."""
        return tuple(
            lot for lot in self.lots if lot.item_code == item_code and lot.is_usable(self.on)
        )

    def usable_units(self, item_code: str) -> int:
        """Units of an item that may be used. [units]"""
        return sum(lot.units for lot in self.usable_lots(item_code))

    def expired_units(self, item_code: str) -> int:
        """Units past their date, recalled ones left out. [units]"""
        return sum(
            lot.units
            for lot in self.lots
            if lot.item_code == item_code and lot.is_expired(self.on) and not lot.recalled
        )

    def recalled_units(self, item_code: str) -> int:
        """Units of recalled lots. [units]"""
        return sum(lot.units for lot in self.lots if lot.item_code == item_code and lot.recalled)


def shelf_on(household: Household, day: date) -> Shelf:
    """Add up the ledger and the sessions to the end of a day."""
    builder = _ShelfBuilder(household)
    for event in _in_order(household, day):
        builder.apply(event)
    return builder.shelf(day)


_RANK = {Receipt: 0, Recall: 1, Session: 2, Waste: 3, Count: 4}


def _in_order(household: Household, day: date) -> Iterator[Session | StandingEntry]:
    events: list[tuple[datetime, int, str, Session | StandingEntry]] = [
        (session.started_at, _RANK[Session], session.id, session)
        for session in household.valid_sessions
    ]
    events += [(entry.at, _RANK[type(entry)], entry.id, entry) for entry in household.valid_entries]
    events.sort(key=lambda event: event[:3])
    return (event for at, _, _, event in events if at.date() <= day)


class _ShelfBuilder:
    """Lots in the making. Kept private: callers see frozen values only."""

    def __init__(self, household: Household) -> None:
        self._household = household
        self._lots: list[ShelfLot] = []
        self._differences: list[CountDifference] = []
        self._missing: dict[str, int] = {}
        self._counted: set[str] = set()
        self._recalled: set[tuple[str, str]] = set()

    def shelf(self, day: date) -> Shelf:
        lots = (lot for lot in self._lots if lot.units > 0)
        return Shelf(
            on=day,
            lots=tuple(sorted(lots, key=lambda lot: (lot.item_code, *_soonest_first(lot)))),
            differences=tuple(self._differences),
            missing=dict(self._missing),
            counted_items=frozenset(self._counted),
        )

    def apply(self, event: Session | StandingEntry) -> None:
        match event:
            case Session():
                self._use(event)
            case Receipt():
                self._put(event.item_code, event.lot, event.expires_on, event.units)
            case Waste():
                self._take(event.item_code, event.units, event.at.date(), lot=event.lot)
            case Recall():
                self._recall(event)
            case Count():
                self._count(event)

    def _use(self, session: Session) -> None:
        day = session.drained_on
        catheter = self._household.catheter(session.catheter_id)
        loose = self._usable(catheter.bottle_code, day) if catheter.bottle_code else 0
        for code in items_opened(session, catheter, loose_bottles=loose):
            self._take(code, 1, day)

    def _recall(self, recall: Recall) -> None:
        self._recalled.add((recall.item_code, recall.lot))
        self._lots = [
            replace(lot, recalled=True)
            if (lot.item_code, lot.lot) == (recall.item_code, recall.lot)
            else lot
            for lot in self._lots
        ]

    def _count(self, count: Count) -> None:
        recorded = sum(lot.units for lot in self._lots if lot.item_code == count.item_code)
        self._counted.add(count.item_code)
        self._missing.pop(count.item_code, None)
        if count.units < recorded:
            self._take(count.item_code, recorded - count.units, count.at.date())
        elif count.units > recorded:
            expires_on = self._soonest_expiry(count.item_code, count.at.date())
            self._put(count.item_code, "", expires_on, count.units - recorded)
        if count.units != recorded:
            self._differences.append(
                CountDifference(
                    at=count.at,
                    item_code=count.item_code,
                    recorded=recorded,
                    counted=count.units,
                )
            )

    def _soonest_expiry(self, code: str, day: date) -> date | None:
        """Units found without papers are taken to expire with the soonest known lot."""
        known = [
            lot.expires_on
            for lot in self._lots
            if lot.item_code == code and lot.expires_on is not None and lot.is_usable(day)
        ]
        return min(known, default=None)

    def _usable(self, code: str, day: date) -> int:
        return sum(lot.units for lot in self._lots if lot.item_code == code and lot.is_usable(day))

    def _put(self, code: str, lot: str, expires_on: date | None, units: int) -> None:
        recalled = (code, lot) in self._recalled
        for n, known in enumerate(self._lots):
            same = (known.item_code, known.lot, known.expires_on, known.recalled)
            if same == (code, lot, expires_on, recalled):
                self._lots[n] = replace(known, units=known.units + units)
                return
        fresh = ShelfLot(
            item_code=code, lot=lot, expires_on=expires_on, units=units, recalled=recalled
        )
        self._lots.append(fresh)

    def _take(self, code: str, units: int, day: date, *, lot: str = "") -> None:
        """Take units: the named lot first, then usable ones by expiry, then any.

        Without a named lot usable units go first, which errs on the safe side.
        """

        def rank(place: int) -> tuple[bool, bool, date, str]:
            one = self._lots[place]
            return (not (lot and one.lot == lot), not one.is_usable(day), *_soonest_first(one))

        places = [n for n, one in enumerate(self._lots) if one.item_code == code]
        for place in sorted(places, key=rank):
            taken = min(units, self._lots[place].units)
            self._lots[place] = replace(self._lots[place], units=self._lots[place].units - taken)
            units -= taken
        if units:
            self._missing[code] = self._missing.get(code, 0) + units


def _soonest_first(lot: ShelfLot) -> tuple[date, str]:
    return (lot.expires_on or date.max, lot.lot)
