"""What to pack: goods for days away from home, with the protection the household wants.

Sessions away are forecast as at home, from the same chains; only the days away are counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from planner.chain import CatheterChain
from planner.dates import DateRange
from planner.demand import UseChances, chance_beyond, combined_use
from planner.errors import InvalidValue
from planner.household import Household
from planner.joint import JointUse
from planner.normal import Floats
from planner.outlook import ShelfForecast, forecast_shelves
from planner.stock import Shelf, shelf_on
from planner.what_if import require_near

SHORTEST_FORECAST_DAYS = 14
MOST_SPARE_DAYS = 14
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedItem:
    """One item of a packing list. All numbers are single units.

    Attributes:
        units: how many to take along.
        lasting: units on the shelf today that are in date through the last day away.
    """

    item_code: str
    units: int
    lasting: int

    @property
    def missing(self) -> int:
        """Units that are not on the shelf today. [units]"""
        return max(self.units - self.lasting, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedShelf:
    """What the catheters that open one kit need while away.

    Attributes:
        usual_sessions: sessions that are exceeded in at most half the cases.
        most_sessions: sessions that are exceeded at most with chance 1 - protection; as many
            dressing packs are needed, and each kit holds one.
        chance_short: chance that the goods listed are not enough, an upper bound. [fraction]
    """

    kit: PackedItem
    bottle: PackedItem | None
    usual_sessions: int
    most_sessions: int
    chance_short: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingList:
    """Goods for days away.

    Attributes:
        days: the days packed for, those in reserve included.
    """

    days: DateRange
    protection: float
    shelves: tuple[PackedShelf, ...]

    @property
    def items(self) -> tuple[PackedItem, ...]:
        """Every item to take along, each once, those that need none left out."""
        found: dict[str, PackedItem] = {}
        for shelf in self.shelves:
            for one in (shelf.kit, shelf.bottle):
                if one is not None and one.units:
                    before = found.get(one.item_code)
                    units = one.units + (before.units if before else 0)
                    found[one.item_code] = replace(one, units=units)
        return tuple(found.values())


def what_to_pack(
    household: Household,
    as_of: date,
    starts_on: date,
    ends_on: date,
    *,
    spare_days: int = 0,
) -> PackingList:
    """The fewest whole units that last while away, with the protection of the settings.

    A session takes a kit. Further bottles come from loose bottles as far as the shelf has
    some that stay in date, then from further kits. Kits of one size are listed: those that are
    ordered, or, with too few of them at home, others that fit and of which there are enough.

    Args:
        household: the record, without a pause for these days.
        as_of: day of the plan.
        starts_on: first day away, not before `as_of`.
        ends_on: first day at home again.
        spare_days: further days to pack for, in case of coming home late. [days]

    Raises:
        InvalidValue: fields `starts_on`, `ends_on`, `spare_days`.
    """
    require_near("starts_on", starts_on, as_of)
    require_near("ends_on", ends_on, as_of)
    if ends_on <= starts_on:
        raise InvalidValue("ends_on", ends_on, "it must be after the first day away")
    if not 0 <= spare_days <= MOST_SPARE_DAYS:
        raise InvalidValue("spare_days", spare_days, f"give 0 to {MOST_SPARE_DAYS} days")
    days = DateRange(starts_on, ends_on + timedelta(days=spare_days))
    last = ends_on + timedelta(days=spare_days - 1)
    first_day, end_day = (starts_on - as_of).days, (last - as_of).days + 1
    shelf = shelf_on(household, as_of)
    protection = household.settings.protection

    def forecasts(of: Household) -> tuple[ShelfForecast, ...]:
        return forecast_shelves(of, as_of, max(end_day, SHORTEST_FORECAST_DAYS))

    def packed(one: ShelfForecast) -> PackedShelf:
        return _packed(one, use_between(one, first_day, end_day), shelf, last, protection)

    def of_others(one: ShelfForecast) -> Iterator[PackedShelf]:
        for code in one.other_kit_codes:
            other = _with_kit(household, one.kit_code, code)
            found = forecasts(other) if other is not None else ()
            yield from (packed(each) for each in found if each.kit_code == code)

    def of_one_size(one: ShelfForecast) -> PackedShelf:
        ordered = packed(one)
        if not ordered.kit.missing:
            return ordered
        return next((each for each in of_others(one) if not each.kit.missing), ordered)

    return PackingList(
        days=days,
        protection=protection,
        shelves=tuple(of_one_size(one) for one in forecasts(household)),
    )


def _with_kit(household: Household, kit_code: str, other_code: str) -> Household | None:
    """The record as if another kit were the usual one; None where it does not fit them all."""
    users = [one for one in household.catheters if one.kit_code == kit_code]
    if not all(other_code in one.other_kit_codes for one in users):
        return None
    swapped = tuple(
        replace(
            one,
            kit_code=other_code,
            other_kit_codes=tuple(code for code in one.kits_that_fit if code != other_code),
        )
        if one in users
        else one
        for one in household.catheters
    )
    return replace(household, catheters=swapped)


def use_between(forecast: ShelfForecast, first_day: int, end_day: int) -> UseChances:
    """Distribution of what a shelf's catheters use from one day up to another, exclusive.

    Args:
        forecast: the catheters with their chains from the day of the plan.
        first_day: first day that counts, from the day of the plan. [days]
        end_day: first day that no longer counts. [days]

    Returns:
        One row only: sessions and bottles of these days together.
    """
    return combined_use([_use(one.chain, first_day, end_day) for one in forecast.catheters])


def _use(chain: CatheterChain, first_day: int, end_day: int) -> UseChances:
    """What one catheter uses on these days."""
    # The same chain, counting sessions instead of bottles.
    by_session = tuple(replace(one, bottles=1) for one in chain.outcomes)
    sessions = _Count(replace(chain, outcomes=by_session))
    bottles = _Count(chain)
    for day in range(end_day):
        chances = [chain.outcome_chances(day)]
        for count in (sessions, bottles):
            count.step(day, chances, is_counted=day >= first_day)
    return UseChances(sessions=sessions.result()[None, :], bottles=bottles.result()[None, :])


class _Count:
    """Units that a chain opens, from a day on."""

    def __init__(self, chain: CatheterChain) -> None:
        variants = range(len(chain.start))
        self._grids = [JointUse(chain, one, loose_bottles=(0,)) for one in variants]
        self._levels = [0 for _ in variants]

    def step(self, day: int, chances: Sequence[Floats], *, is_counted: bool) -> None:
        for variant, grid in enumerate(self._grids):
            grid.step(day, chances)
            if not is_counted:
                # All that was used so far is lifted to one level, from which the count begins.
                level = len(grid.units_distribution()) - 1
                grid.lift_kits(level)
                self._levels[variant] = level

    def result(self) -> Floats:
        """Distribution of units over all variants."""
        pairs = zip(self._grids, self._levels, strict=True)
        rows = [grid.units_distribution()[level:] for grid, level in pairs]
        total = np.zeros(max(len(row) for row in rows))
        for row in rows:
            total[: len(row)] += row
        return total


def _packed(
    forecast: ShelfForecast, use: UseChances, shelf: Shelf, last: date, protection: float
) -> PackedShelf:
    risk = 1.0 - protection
    spare = _lasting(forecast.bottle_code, shelf, last) if forecast.bottle_code else 0
    # Half of the risk is left to further bottles where loose ones can serve them. Once those
    # at home are all packed, further kits serve them.
    kits = _fewest(use.sessions[0], risk / 2) if spare else _fewest(use.bottles[0], risk)
    bottles = 0
    while chance_beyond(use, 0, kits=kits, bottles=bottles) > risk + _ROUNDING:
        kits, bottles = (kits, bottles + 1) if bottles < spare else (kits + 1, bottles)
    return PackedShelf(
        kit=_item(forecast.kit_code, kits, shelf, last),
        bottle=_item(forecast.bottle_code, bottles, shelf, last) if forecast.bottle_code else None,
        usual_sessions=_fewest(use.sessions[0], 0.5),
        most_sessions=_fewest(use.sessions[0], risk),
        chance_short=chance_beyond(use, 0, kits=kits, bottles=bottles),
    )


def _fewest(chances: Floats, risk: float) -> int:
    """The fewest units that are exceeded at most with this chance."""
    beyond = np.cumsum(chances[::-1])[::-1]
    over = np.append(beyond[1:], 0.0)
    return int(np.argmax(over <= risk + _ROUNDING))


def _item(code: str, units: int, shelf: Shelf, last: date) -> PackedItem:
    return PackedItem(item_code=code, units=units, lasting=_lasting(code, shelf, last))


def _lasting(code: str, shelf: Shelf, last: date) -> int:
    """Units on the shelf that may still be used on the last day."""
    return sum(
        lot.units
        for lot in shelf.usable_lots(code)
        if lot.expires_on is None or lot.expires_on >= last
    )
