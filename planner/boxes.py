"""Whether a shelf lasts with so many boxes more, and the fewest boxes with which it does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from planner.assumptions import READY_DAYS_AFTER_ARRIVAL
from planner.caps import proposed_line
from planner.delivery import most_likely
from planner.demand import (
    ComingGoods,
    StockPath,
    chance_beyond,
    run_out_of,
    shortened,
)
from planner.losses import bottles_lost, kits_lost, least_short_of_dated, opened_early
from planner.normal import Floats
from planner.reorder_facts import ReorderFacts
from planner.results import ProposedLine
from planner.runout import ComingOrder, ShelfRunOut, coming_goods, stock_path
from planner.shared_shelf import SharedUse

MOST_BOXES = 200
CLOSE = 0.01
"""Bounds on a chance to run short that are so close need not be made exact."""

_ANY_NUMBER = 10**6
_MORE_DAYS = 14
"""Days that the law of use of several catheters goes on, for later days that are asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boxes:
    """Whole boxes of one shelf's kit and loose bottle."""

    kit_boxes: int
    bottle_boxes: int


def fewest_boxes(lasts: Callable[[int, int], bool], box_sizes: tuple[int, int]) -> Boxes:
    """The fewest whole boxes of kits and loose bottles that last.

    Of mixes with as few boxes the one with the fewest units is taken, then the one with the
    fewest loose bottles.

    Args:
        lasts: whether so many further kits and loose bottles are enough; more of either never
            last less.
        box_sizes: units per box of kits and of loose bottles; 0 when there is no such item.
    """
    kit_size, bottle_size = box_sizes

    def units(mix: Boxes) -> tuple[int, int]:
        return mix.kit_boxes * kit_size + mix.bottle_boxes * bottle_size, mix.bottle_boxes

    for total in range(MOST_BOXES + 1):
        most_bottles = total if bottle_size else 0
        mixes = [
            Boxes(kit_boxes=total - bottles, bottle_boxes=bottles)
            for bottles in range(most_bottles + 1)
        ]
        for mix in sorted(mixes, key=units):
            if lasts(mix.kit_boxes * kit_size, mix.bottle_boxes * bottle_size):
                return mix
    return Boxes(kit_boxes=MOST_BOXES, bottle_boxes=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterGoods:
    """Goods of an open order that usually come after the new one.

    Attributes:
        day: day through which what is there before must last.
    """

    goods: ComingGoods
    day: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShelfNeed:
    """What one shelf needs, a new order not counted.

    Two quick bounds decide most amounts; the few between them are followed day by day, which
    is exact. Several catheters on one shelf have bounds from their law of use together, the
    upper one being exact where `SharedUse.run_out` is.

    Attributes:
        path: what is there, goods that come no later than the new order among it, since
            their lateness is settled by then.
        later: goods that come after it.
    """

    shelf: ShelfRunOut
    path: StockPath
    later: tuple[LaterGoods, ...]
    _followed: dict[tuple[int, int], Floats] = field(default_factory=dict, init=False, repr=False)

    def lasts(self, kits: int, bottles: int, last_day: int, allowed_risk: float) -> bool:
        """Whether so many further units keep the risk allowed through a day."""
        if self.at_least(kits, bottles, last_day) > allowed_risk:
            return False
        return self.chance_short(kits, bottles, last_day, allowed_risk) <= allowed_risk

    def chance_short(self, kits: int, bottles: int, last_day: int, allowed_risk: float) -> float:
        """Chance of running short by the end of a day with so many further units.

        At most that where the bound is within the risk allowed; else exact, or within `CLOSE`
        of it. Where several catheters share the shelf it may stay a bound.
        """
        most = self.at_most(kits, bottles, last_day)
        if most <= allowed_risk:
            return most
        least = self.at_least(kits, bottles, last_day)
        if most - least < CLOSE and least > allowed_risk:
            return most
        return self.exactly(kits, bottles, last_day)

    def exactly(self, kits: int, bottles: int, last_day: int) -> float:
        """The chance itself, followed day by day and remembered.

        For several catheters it is what `SharedUse.run_out` gives.
        """
        by_day = self._followed.get((kits, bottles))
        if by_day is None or len(by_day) <= last_day:
            by_day = self._follow(kits, bottles, last_day + 1)
            self._followed[kits, bottles] = by_day
        return float(by_day[last_day])

    def _follow(self, kits: int, bottles: int, days: int) -> Floats:
        path = self._path_with(kits, bottles)
        if self.shelf.shared is not None:
            return self.shelf.shared.run_out(path, days).by_day
        return run_out_of(shortened(self.shelf.forecast.catheters[0].chain, days), path).by_day

    def _path_with(self, kits: int, bottles: int) -> StockPath:
        return replace(
            self.path,
            kits=self.path.kits + kits,
            bottles=self.path.bottles + bottles,
            coming=tuple(one.goods for one in self.later),
        )

    def _shared(self, last_day: int) -> SharedUse | None:
        """What several catheters use, worked out for all amounts that may be asked for."""
        shared = self.shelf.shared
        if shared is not None and self.shelf.forecast.bottle_code is not None:
            days = min(last_day + 1 + _MORE_DAYS, len(self.shelf.use.bottles))
            shared.law(days, kits=_ANY_NUMBER, bottles=_ANY_NUMBER)
        return shared

    def at_least(self, kits: int, bottles: int, last_day: int) -> float:
        """A lower bound: all that comes later comes now, and as little as can be is lost."""
        shared = self._shared(last_day)
        if shared is not None:
            return shared.least_short(self._path_with(kits, bottles), last_day)
        kits += self.path.kits + sum(one.goods.kits for one in self.later)
        bottles += self.path.bottles + sum(one.goods.bottles for one in self.later)
        use = self.shelf.use
        if bottles or self.later:
            kits_short = float(use.sessions[last_day, kits + 1 :].sum())
            return max(float(use.bottles[last_day, kits + bottles + 1 :].sum()), kits_short)
        dated = [one for one in self.path.expiring_kits if one.last_day < last_day]
        return least_short_of_dated(use, last_day, kits, dated)

    def at_most(self, kits: int, bottles: int, last_day: int) -> float:
        """An upper bound: the chances to be short before each later order, and at the end."""
        shared = self._shared(last_day)
        if shared is not None:
            path = self._path_with(kits, bottles)
            return float(shared.bound(path, last_day + 1).by_day[last_day])
        kits, bottles = kits + self.path.kits, bottles + self.path.bottles
        total = 0.0
        bottles_here, came_on = bottles, None
        for one in self.later:
            if one.day >= last_day:
                break  # it may come after the last day
            total += self._at_most_through(one.day, kits, bottles, bottles_here, came_on)
            kits, bottles = kits + one.goods.kits, bottles + one.goods.bottles
            came_on = one.day if one.goods.bottles else came_on
        total += self._at_most_through(last_day, kits, bottles, bottles_here, came_on)
        return min(total, 1.0)

    def _at_most_through(
        self, day: int, kits: int, bottles: int, bottles_here: int, came_on: int | None
    ) -> float:
        """The same through one day, of goods all there but for those loose bottles that came.

        Kits that had to serve before these came are gone, though bottles are left for them.
        """
        dated_kits = [one for one in self.path.expiring_kits if one.last_day < day]
        dated_bottles = [one for one in self.path.expiring_bottles if one.last_day < day]
        use = self.shelf.use
        losses = [
            kits_lost(dated_kits, use, has_loose=bool(bottles)),
            bottles_lost(dated_bottles, use),
        ]
        return min(
            chance_beyond(
                use,
                day,
                kits=kits - lost_kits - early,
                bottles=bottles - lost_bottles + instead,
            )
            + more_kits
            + more_bottles
            + more_early
            for lost_bottles, more_bottles in losses[1]
            for early, instead, more_early in opened_early(
                use, came_on, here=bottles_here - lost_bottles, coming=bottles - bottles_here
            )
            for lost_kits, more_kits in losses[0]
        )


def shelf_needs(facts: ReorderFacts, order_by: date) -> tuple[ShelfNeed, ...]:
    """What each shelf needs when an order is placed by its last safe day."""
    new_order_on = most_likely(facts.arrivals_by(order_by))
    return tuple(_need(facts, shelf, new_order_on) for shelf in facts.shelves)


def needs_before_coming(facts: ReorderFacts) -> tuple[ShelfNeed, ...]:
    """What each shelf needs when further goods are to be there before all that is on its way."""
    yesterday = facts.as_of - timedelta(days=1)
    return tuple(_need(facts, shelf, yesterday) for shelf in facts.shelves)


def _need(facts: ReorderFacts, shelf: ShelfRunOut, new_order_on: date) -> ShelfNeed:
    path = stock_path(shelf.forecast, facts.shelf, len(shelf.use.bottles))
    later = [one for one in facts.coming if most_likely(one.arrivals) > new_order_on]
    sooner = (shelf.forecast.goods_among(one.units) for one in facts.coming if one not in later)
    kits, bottles = zip((0, 0), *sooner, strict=True)
    return ShelfNeed(
        shelf=shelf,
        path=replace(path, kits=path.kits + sum(kits), bottles=path.bottles + sum(bottles)),
        later=tuple(_later(facts, shelf, one) for one in later),
    )


def _later(facts: ReorderFacts, shelf: ShelfRunOut, order: ComingOrder) -> LaterGoods:
    """The goods, and the day of their last arrival."""
    last = order.arrivals[-1].on
    return LaterGoods(
        goods=coming_goods(shelf.forecast, order, facts.as_of, len(shelf.use.bottles)),
        day=(last - facts.as_of).days + READY_DAYS_AFTER_ARRIVAL - 1,
    )


def box_sizes(facts: ReorderFacts, shelf: ShelfRunOut) -> tuple[int, int]:
    """Units per box of a shelf's kit and loose bottle; 0 without one."""
    bottle = shelf.forecast.bottle_code
    kit_size = facts.household.item(shelf.forecast.kit_code).units_per_box
    return kit_size, facts.household.item(bottle).units_per_box if bottle else 0


def fewest_boxes_of(
    facts: ReorderFacts, needs: Sequence[ShelfNeed], until: date
) -> tuple[ProposedLine, ...]:
    """The fewest boxes with which every shelf lasts until a day, put together by item."""
    last_day = facts.last_day_before(until)
    by_item: dict[str, int] = {}
    for need in needs:
        mix = _boxes(facts, need, last_day)
        forecast = need.shelf.forecast
        pairs = ((forecast.kit_code, mix.kit_boxes), (forecast.bottle_code, mix.bottle_boxes))
        for code, count in pairs:
            if code is not None and count:
                by_item[code] = by_item.get(code, 0) + count
    return tuple(proposed_line(facts.household, code, count) for code, count in by_item.items())


def _boxes(facts: ReorderFacts, need: ShelfNeed, last_day: int) -> Boxes:
    def lasts(kits: int, bottles: int) -> bool:
        return need.lasts(kits, bottles, last_day, facts.allowed_risk_per_shelf)

    return fewest_boxes(lasts, box_sizes(facts, need.shelf))


def chance_short(
    facts: ReorderFacts, needs: Sequence[ShelfNeed], lines: Sequence[ProposedLine], until: date
) -> float:
    """Chance to run short with these lines before a day, on any shelf: at most their sum."""
    last_day = facts.last_day_before(until)
    chances = (
        need.chance_short(*_units(need, lines), last_day, facts.allowed_risk_per_shelf)
        for need in needs
    )
    return min(sum(chances), 1.0)


def all_last(
    facts: ReorderFacts, needs: Sequence[ShelfNeed], lines: Sequence[ProposedLine], until: date
) -> bool:
    """Whether all shelves together keep the risk allowed with these lines until a day."""
    last_day = facts.last_day_before(until)
    if sum(need.at_least(*_units(need, lines), last_day) for need in needs) > facts.allowed_risk:
        return False
    return chance_short(facts, needs, lines, until) <= facts.allowed_risk


def _units(need: ShelfNeed, lines: Sequence[ProposedLine]) -> tuple[int, int]:
    """Kits and loose bottles that lines bring a shelf."""
    forecast = need.shelf.forecast
    units = {line.item_code: line.units for line in lines}
    return units.get(forecast.kit_code, 0), units.get(forecast.bottle_code or "", 0)
