"""Lots on a shelf, the order in which they are used, and counts that found other numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from planner.ledger import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLot:
    """Units of one item with one lot and one use-by date, in one place.

    Attributes:
        expires_on: last day on which the goods may be used; None when not noted.
        place: on the shelf at home, or in the travel bag.
    """

    item_code: str
    lot: str
    expires_on: date | None
    units: int
    recalled: bool = False
    place: Place = Place.HOME

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


def by_date(lot: ShelfLot) -> tuple[date, str]:
    """Sorts lots of one item: the soonest expiry first, undated ones last."""
    return (lot.expires_on or date.max, lot.lot)


def by_item_and_date(lot: ShelfLot) -> tuple[str, bool, date, str, bool]:
    """Sorts all lots of a shelf: by item, at home first, by date."""
    return (lot.item_code, lot.place is Place.BAG, *by_date(lot), lot.recalled)


def kits_by_use(
    lots: Iterable[ShelfLot],
    codes: Sequence[str],
    day: date,
    *,
    places: Sequence[Place] = (Place.HOME,),
    usable_only: bool = True,
) -> tuple[ShelfLot, ...]:
    """Lots of all kits that fit a catheter, in the order in which sessions open them.

    Usable ones first, place by place, the first to expire first, whatever the size; of lots with
    the same date or none, in the order of their codes.

    Args:
        lots: a shelf's lots.
        codes: all kits that fit, in the order of `Catheter.kits_that_fit`.
        day: the day of the session.
        places: where to look, the first place first.
        usable_only: leave out what may not be used on that day.
    """

    def rank(lot: ShelfLot) -> tuple[bool, int, date, int, str]:
        expires_on, name = by_date(lot)
        place = places.index(lot.place)
        return (not lot.is_usable(day), place, expires_on, codes.index(lot.item_code), name)

    found = (one for one in lots if one.item_code in codes and one.place in places and one.units)
    kept = (one for one in found if one.is_usable(day) or not usable_only)
    return tuple(sorted(kept, key=rank))
