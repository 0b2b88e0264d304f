"""Whether a shelf lasts with so many boxes more, and the fewest boxes with which it does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from planner.assumptions import READY_DAYS_AFTER_ARRIVAL
from planner.caps import proposed_line
from planner.chain import CatheterChain
from planner.delivery import likely_latest, most_likely
from planner.demand import (
    ComingGoods,
    StockPath,
    chance_beyond,
    run_out_of,
)
from planner.losses import bottles_lost, kits_lost, least_short_of_dated
from planner.normal import Floats
from planner.reorder_facts import ReorderFacts
from planner.results import ProposedLine
from planner.runout import ComingOrder, ShelfRunOut, coming_goods, stock_path

MOST_BOXES = 200
CLOSE = 0.01
"""Bounds on a chance to run short that are so close need not be made exact."""


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
    is exact. Several catheters on one shelf have the upper bound only.

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

        At most that where several catheters share the shelf, or the bound is within the risk
        allowed; else exact, or within `CLOSE` of it.
        """
        most = self.at_most(kits, bottles, last_day)
        if most <= allowed_risk or self._chain is None:
            return most
        least = self.at_least(kits, bottles, last_day)
        if most - least < CLOSE and least > allowed_risk:
            return most
        return self.exactly(kits, bottles, last_day)

    def exactly(self, kits: int, bottles: int, last_day: int) -> float:
        """The chance itself, followed day by day and remembered.

        Raises:
            ValueError: when several catheters share the shelf.
        """
        if self._chain is None:
            raise ValueError("several catheters share this shelf; only bounds are known")
        by_day = self._followed.get((kits, bottles))
        if by_day is None or len(by_day) <= last_day:
            by_day = self._follow(self._chain, kits, bottles, last_day)
            self._followed[kits, bottles] = by_day
        return float(by_day[last_day])

    @property
    def _chain(self) -> CatheterChain | None:
        catheters = self.shelf.forecast.catheters
        return catheters[0].chain if len(catheters) == 1 else None

    def at_least(self, kits: int, bottles: int, last_day: int) -> float:
        """A lower bound: all that comes later comes now, and as little as can be is lost."""
        if self._chain is None:
            return 0.0
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
        kits, bottles = kits + self.path.kits, bottles + self.path.bottles
        total = 0.0
        for one in self.later:
            if one.day >= last_day:
                break  # it may come after the last day
            total += self._at_most_through(one.day, kits, bottles)
            kits, bottles = kits + one.goods.kits, bottles + one.goods.bottles
        return min(total + self._at_most_through(last_day, kits, bottles), 1.0)

    def _at_most_through(self, day: int, kits: int, bottles: int) -> float:
        dated_kits = [one for one in self.path.expiring_kits if one.last_day < day]
        dated_bottles = [one for one in self.path.expiring_bottles if one.last_day < day]
        use = self.shelf.use
        losses = [
            kits_lost(dated_kits, use, has_loose=bool(bottles)),
            bottles_lost(dated_bottles, use),
        ]
        return min(
            chance_beyond(use, day, kits=kits - lost_kits, bottles=bottles - lost_bottles)
            + more_kits
            + more_bottles
            for lost_kits, more_kits in losses[0]
            for lost_bottles, more_bottles in losses[1]
        )

    def _follow(self, chain: CatheterChain, kits: int, bottles: int, last_day: int) -> Floats:
        days = last_day + 1
        path = replace(
            self.path,
            kits=self.path.kits + kits,
            bottles=self.path.bottles + bottles,
            coming=tuple(one.goods for one in self.later),
        )
        return run_out_of(_shortened(chain, days), path).by_day


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
    """The goods, and the day of their last arrival: for several catheters, the last likely one."""
    last = order.arrivals[-1].on
    if len(shelf.forecast.catheters) > 1:
        last = likely_latest(order.arrivals, facts.household.settings.protection)
    return LaterGoods(
        goods=coming_goods(shelf.forecast, order, facts.as_of, len(shelf.use.bottles)),
        day=(last - facts.as_of).days + READY_DAYS_AFTER_ARRIVAL - 1,
    )


def _shortened(chain: CatheterChain, days: int) -> CatheterChain:
    """The chain over fewer days."""
    timing = replace(chain.timing, chance=chain.timing.chance[:, :days])
    return replace(chain, timing=timing, session_chance=chain.session_chance[:, :days])


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
