"""The least that any way of ordering keeps at home: perfect foresight in whole boxes.

It begins with the goods that all begin with, some of which may never be used.
Goods arrive on the morning of the first session that would find too few, and each order lasts
for at least so many days. No spare is kept, since nothing is in doubt: whoever cannot see ahead
keeps more at the same number of orders.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from planner.household import PlanSettings
from tests.studies.closed_loop.carers import RuleOfThumb
from tests.studies.closed_loop.living import MEASURED_FROM_DAY, Life, opening_goods
from tests.studies.closed_loop.worlds import World, draw_world


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Unit-days, orders and days, all from the first measured day on."""

    unit_days: int
    orders: int
    days: int


def least(
    use: Mapping[str, Sequence[int]],
    box: Mapping[str, int],
    cycle_days: int,
    opening: Mapping[str, int] | None = None,
) -> Floor:
    """Follow a shelf that is filled in the last moment.

    Args:
        use: units of each item used on each day.
        box: units per box of each item.
        cycle_days: days that each order has to last at least.
        opening: units of each item at first; none when not given.
    """
    days = len(next(iter(use.values())))
    stock = dict.fromkeys(use, 0) | dict(opening or {})
    unit_days, orders = 0, 0
    for day in range(days):
        measured = day >= MEASURED_FROM_DAY
        if any(stock[code] < use[code][day] for code in use):
            orders += measured
            for code in use:
                missing = sum(use[code][day : day + cycle_days]) - stock[code]
                stock[code] += max(0, math.ceil(missing / box[code])) * box[code]
        for code in use:
            stock[code] -= use[code][day]
        unit_days += sum(stock.values()) * measured
    return Floor(unit_days=unit_days, orders=orders, days=max(days - MEASURED_FROM_DAY, 0))


@lru_cache(maxsize=8)
def _life_in_plenty(seed: int) -> Life:
    """The household of a seed with so much at home that nothing is ever short."""
    life = Life(draw_world(seed), RuleOfThumb(reorder_days=60.0), PlanSettings())
    life.run()
    return life


def use_in(world: World) -> dict[str, list[int]]:
    """Units that sessions use on each day of the study when nothing is ever short."""
    life = _life_in_plenty(world.seed)
    use = {item.code: [0] * (world.ends_on - world.study_on).days for item in world.items}
    for session in life.sessions:
        day = (session.drained_on - world.study_on).days
        for bottle in session.bottles if day >= 0 else ():
            use[bottle.item_code or world.catheter.kit_code][day] += 1
    return use


def foresight(world: World, cycle_days: int) -> dict[str, int]:
    """The same figures as of a household that was played, for one that sees ahead."""
    box = {item.code: item.units_per_box for item in world.items}
    found = least(use_in(world), box, cycle_days, opening_goods(world))
    return {
        "days": (world.ends_on - world.study_on).days,
        "sessions": _life_in_plenty(world.seed).tally.sessions,
        "short_days": 0,
        "measured_days": found.days,
        "unit_days": found.unit_days,
        "measured_orders": found.orders,
        "expired": 0,
        "left_over": 0,
        "late_orders": 0,
    }
