"""What lies on the shelf: the ledger added up, lot by lot, first expired first out.

The shelf is a pure function of the set of entries: late entries sort themselves in by
their own moment, so the order of typing never matters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from types import MappingProxyType

from planner.consumption import KitsAtHand, items_opened
from planner.dates import end_of_day, in_any
from planner.household import Catheter, Household
from planner.ledger import (
    LEAVES_UNUSABLE,
    Count,
    Departure,
    LeavingEntry,
    Place,
    Recall,
    Receipt,
    StandingEntry,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.sessions import Session
from planner.shelf_lots import CountDifference, ShelfLot, by_date, by_item_and_date, kits_by_use
from planner.wrong_goods import WrongGoods

_AS_RECORDED: Mapping[str, tuple[Session, Catheter]] = MappingProxyType({})
_AT_HOME_FIRST = (Place.HOME, Place.BAG)
_BAG_FIRST = (Place.BAG, Place.HOME)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The shelf at the end of a day.

    Attributes:
        lots: what is there, soonest expiry first; no empty lots.
        differences: counts that did not match, in order of time.
        missing: units that the record used without having them, by item.
        counted_items: items that were counted at least once.
        wrong_goods: wrong deliveries with the units that neither left nor were kept.
    """

    on: date
    lots: tuple[ShelfLot, ...]
    differences: tuple[CountDifference, ...] = ()
    missing: dict[str, int] = field(default_factory=dict)
    counted_items: frozenset[str] = frozenset()
    wrong_goods: tuple[WrongDelivery, ...] = ()

    def lots_of(self, item_code: str, place: Place) -> tuple[ShelfLot, ...]:
        """Lots of an item in one place, usable or not, soonest expiry first."""
        return tuple(one for one in self.lots if (one.item_code, one.place) == (item_code, place))

    def usable_lots(self, item_code: str) -> tuple[ShelfLot, ...]:
        """Lots at home that may be used on the shelf's day, soonest expiry first."""
        return tuple(one for one in self.lots_of(item_code, Place.HOME) if one.is_usable(self.on))

    def kits_in_order(self, kit_code: str, other_codes: Sequence[str]) -> tuple[ShelfLot, ...]:
        """Usable lots at home of all kits that fit, in the order in which they are opened.

        Args:
            kit_code: the kit that is ordered.
            other_codes: the others, in the order in which they are named.
        """
        return kits_by_use(self.lots, (*other_codes, kit_code), self.on)

    def usable_units(self, item_code: str) -> int:
        """Units at home that may be used. [units]"""
        return sum(lot.units for lot in self.usable_lots(item_code))

    def home_units(self, item_code: str) -> int:
        """Units at home, usable or not: what a count should find. [units]"""
        return sum(lot.units for lot in self.lots_of(item_code, Place.HOME))

    def away_units(self, item_code: str) -> int:
        """Units in the travel bag that may be used. [units]"""
        return sum(
            one.units for one in self.lots_of(item_code, Place.BAG) if one.is_usable(self.on)
        )

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
    return _shelf_before(household, end_of_day(day), day)


def shelf_at(household: Household, moment: datetime) -> Shelf:
    """Add up the ledger and the sessions up to and including a moment."""
    return _shelf_before(household, moment + timedelta.resolution, moment.date())


def items_taken(
    household: Household, as_then: Mapping[str, tuple[Session, Catheter]] = _AS_RECORDED
) -> dict[str, tuple[str, ...]]:
    """Item codes that each session took from the shelf, one for each bottle, by its id.

    Args:
        household: the record; sessions that were taken back took nothing.
        as_then: sessions that go by other words, or another catheter, than the record has.
    """
    builder = _ShelfBuilder(household, as_then)
    for event in _in_order(household, datetime.max):
        builder.apply(event)
    return builder.opened


def units_that_can_go(household: Household, entry: LeavingEntry) -> int:
    """Most units that this entry can take at its own moment, the entry itself left out. [units]

    Waste takes whatever is there, returned and disposed goods whatever is at home; goods for a
    clinic, somebody else or the bag must be usable. A lot that is named has to be that lot.
    """
    shelf = shelf_at(household, entry.at)
    bag, home = (shelf.lots_of(entry.item_code, place) for place in _BAG_FIRST)
    match entry:
        case Waste():
            lots = (*home, *bag)
        case Transfer(to=Place.HOME):
            lots = bag
        case Departure(reason=reason) if reason in LEAVES_UNUSABLE:
            lots = home
        case _:
            lots = shelf.usable_lots(entry.item_code)
    return sum(one.units for one in lots if entry.lot in ("", one.lot))


def _shelf_before(household: Household, moment: datetime, day: date) -> Shelf:
    builder = _ShelfBuilder(household)
    for event in _in_order(household, moment):
        builder.apply(event)
    return builder.shelf(day)


_RANK = {
    kind: rank
    for rank, kind in enumerate(
        (
            Receipt,
            WrongDelivery,
            WrongKept,
            Recall,
            Transfer,
            Session,
            Waste,
            Departure,
            WrongReturn,
            Count,
        )
    )
}
"""At one moment goods come before they are used, and a count sees all of it."""


def _in_order(household: Household, before: datetime) -> Iterator[Session | StandingEntry]:
    events: list[tuple[datetime, int, str, Session | StandingEntry]] = [
        (session.started_at, _RANK[Session], session.id, session)
        for session in household.valid_sessions
    ]
    events += [(entry.at, _RANK[type(entry)], entry.id, entry) for entry in household.valid_entries]
    events.sort(key=lambda event: event[:3])
    return (event for at, _, _, event in events if at < before)


class _ShelfBuilder:
    """Lots in the making. Kept private: callers see frozen values only."""

    def __init__(
        self, household: Household, as_then: Mapping[str, tuple[Session, Catheter]] = _AS_RECORDED
    ) -> None:
        self._household = household
        self._as_then = as_then
        self.opened: dict[str, tuple[str, ...]] = {}
        self._lots: list[ShelfLot] = []
        self._differences: list[CountDifference] = []
        self._missing: dict[str, int] = {}
        self._counted: set[str] = set()
        self._recalled: set[tuple[str, str]] = set()
        self._wrong = WrongGoods()
        self._bottle_ml = {one.code: one.capacity_ml or 0 for one in household.items}

    def shelf(self, day: date) -> Shelf:
        lots = (lot for lot in self._lots if lot.units > 0)
        return Shelf(
            on=day,
            lots=tuple(sorted(lots, key=by_item_and_date)),
            differences=tuple(self._differences),
            missing=dict(self._missing),
            counted_items=frozenset(self._counted),
            wrong_goods=self._wrong.here,
        )

    def apply(self, event: Session | StandingEntry) -> None:
        match event:
            case Session():
                self._use(event)
            case Receipt():
                self._receive(event)
            case Waste():
                self._use_up(event.item_code, event.units, event.at.date(), lot=event.lot)
            case Departure():
                self._leave(event)
            case Transfer():
                self._carry(event)
            case Recall():
                self._recall(event)
            case WrongDelivery() | WrongKept() | WrongReturn():
                stays = self._wrong.apply(event)
                if stays is not None:
                    self._receive(stays)
            case Count():
                self._count(event)

    def _use(self, session: Session) -> None:
        day = session.drained_on
        catheter = self._household.catheter(session.catheter_id)
        session, catheter = self._as_then.get(session.id, (session, catheter))
        loose = self._usable(catheter.bottle_code, day) if catheter.bottle_code else 0
        is_away = in_any(day, self._household.pauses_of(catheter.id))
        places = _BAG_FIRST if is_away else _AT_HOME_FIRST
        kits = self._kits_at_hand(catheter, session, places)
        codes = items_opened(session, catheter, loose_bottles=loose, kits=kits)
        self.opened[session.id] = codes
        for code in codes:
            self._use_up(code, 1, day, places=places)

    def _kits_at_hand(
        self, catheter: Catheter, session: Session, places: tuple[Place, ...]
    ) -> tuple[KitsAtHand, ...]:
        """Kits in the order of use, then those that the record lacks; none without a choice."""
        if not catheter.other_kit_codes:
            return ()
        codes, day = catheter.kits_that_fit, session.drained_on
        lots = kits_by_use(self._lots, codes, day, places=places, usable_only=False)
        here = ((one.item_code, one.units) for one in lots)
        lacking = ((code, len(session.bottles)) for code in reversed(codes))
        return tuple(
            KitsAtHand(item_code=code, bottle_ml=self._bottle_ml[code], units=units)
            for code, units in (*here, *lacking)
        )

    def _leave(self, departure: Departure) -> None:
        self._use_up(
            departure.item_code,
            departure.units,
            departure.at.date(),
            lot=departure.lot,
            places=(Place.HOME,),
            usable_first=departure.reason not in LEAVES_UNUSABLE,
        )

    def _carry(self, transfer: Transfer) -> None:
        came_from = Place.BAG if transfer.to is Place.HOME else Place.HOME
        taken = self._take(
            transfer.item_code,
            transfer.units,
            transfer.at.date(),
            lot=transfer.lot,
            places=(came_from,),
        )
        for one in taken:
            self._put(replace(one, place=transfer.to))

    def _recall(self, recall: Recall) -> None:
        self._recalled.add((recall.item_code, recall.lot))
        self._lots = [
            replace(lot, recalled=True)
            if (lot.item_code, lot.lot) == (recall.item_code, recall.lot)
            else lot
            for lot in self._lots
        ]

    def _count(self, count: Count) -> None:
        code = count.item_code
        at_home = (one for one in self._lots if (one.item_code, one.place) == (code, Place.HOME))
        recorded = sum(one.units for one in at_home)
        self._counted.add(count.item_code)
        self._missing.pop(count.item_code, None)
        if count.units < recorded:
            fewer = recorded - count.units
            self._take(code, fewer, count.at.date(), places=(Place.HOME,))
        elif count.units > recorded:
            expires_on = self._soonest_expiry(code, count.at.date())
            found = count.units - recorded
            self._put(ShelfLot(item_code=code, lot="", expires_on=expires_on, units=found))
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

    def _receive(self, receipt: Receipt | WrongKept) -> None:
        self._put(
            ShelfLot(
                item_code=receipt.item_code,
                lot=receipt.lot,
                expires_on=receipt.expires_on,
                units=receipt.units,
                recalled=(receipt.item_code, receipt.lot) in self._recalled,
            )
        )

    def _put(self, added: ShelfLot) -> None:
        for n, known in enumerate(self._lots):
            if replace(known, units=added.units) == added:
                self._lots[n] = replace(known, units=known.units + added.units)
                return
        self._lots.append(added)

    def _use_up(
        self,
        code: str,
        units: int,
        day: date,
        *,
        lot: str = "",
        places: tuple[Place, ...] = _AT_HOME_FIRST,
        usable_first: bool = True,
    ) -> None:
        """Take units for good; what was not there is kept as missing."""
        taken = self._take(code, units, day, lot=lot, places=places, usable_first=usable_first)
        missing = units - sum(one.units for one in taken)
        if missing:
            self._missing[code] = self._missing.get(code, 0) + missing

    def _take(
        self,
        code: str,
        units: int,
        day: date,
        *,
        lot: str = "",
        places: tuple[Place, ...],
        usable_first: bool = True,
    ) -> list[ShelfLot]:
        """Take units: the named lot first, then usable ones, place by place, by expiry.

        Without a named lot usable units go first, which errs on the safe side.

        Returns:
            What was taken, at most so many units.
        """

        def rank(spot: int) -> tuple[bool, bool, int, date, str]:
            one = self._lots[spot]
            last = one.is_usable(day) is not usable_first
            return (bool(lot) and one.lot != lot, last, places.index(one.place), *by_date(one))

        spots = [
            n for n, one in enumerate(self._lots) if one.item_code == code and one.place in places
        ]
        taken: list[ShelfLot] = []
        for spot in sorted(spots, key=rank):
            one = self._lots[spot]
            part = min(units, one.units)
            if part:
                self._lots[spot] = replace(one, units=one.units - part)
                taken.append(replace(one, units=part))
                units -= part
        return taken
