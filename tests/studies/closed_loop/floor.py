"""The least that any way of ordering keeps at home: perfect foresight in whole boxes.

    python -m tests.studies.closed_loop.floor --households 60

Goods arrive on the morning of the first session that would find too few, and each order lasts
for at least so many days. No spare is kept, since nothing is in doubt: whoever cannot see ahead
keeps more at the same number of orders.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.household import PlanSettings
from tests.studies.closed_loop.carers import RuleOfThumb
from tests.studies.closed_loop.living import MEASURED_FROM_DAY, Life
from tests.studies.closed_loop.trade_off import DAYS_PER_MONTH, LEAST_MEASURED_DAYS
from tests.studies.closed_loop.worlds import World, draw_world

CYCLES = (1, 14, 18, 21, 25, 28)


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Unit-days, orders and days, all from the first measured day on."""

    unit_days: int
    orders: int
    days: int


def least(use: Mapping[str, Sequence[int]], box: Mapping[str, int], cycle_days: int) -> Floor:
    """Follow a shelf that is filled in the last moment.

    Args:
        use: units of each item used on each day.
        box: units per box of each item.
        cycle_days: days that each order has to last at least.
    """
    days = len(next(iter(use.values())))
    stock = dict.fromkeys(use, 0)
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


def use_in(world: World) -> dict[str, list[int]]:
    """Units that sessions use on each day of the study when nothing is ever short."""
    life = Life(world, RuleOfThumb(reorder_days=60.0), PlanSettings())
    life.run()
    use = {item.code: [0] * (world.ends_on - world.study_on).days for item in world.items}
    for session in life.sessions:
        day = (session.drained_on - world.study_on).days
        for bottle in session.bottles if day >= 0 else ():
            use[bottle.item_code or world.catheter.kit_code][day] += 1
    return use


def main() -> None:
    """Print the least mean units by the days that an order lasts."""
    parser = argparse.ArgumentParser(description="The least that any way of ordering keeps.")
    parser.add_argument("--households", type=int, default=60)
    args = parser.parse_args()
    worlds = [draw_world(seed) for seed in range(1, args.households + 1)]
    uses = [(use_in(one), {item.code: item.units_per_box for item in one.items}) for one in worlds]
    print("| an order lasts at least | mean units | orders a month |\n|---:|---:|---:|")
    for cycle_days in CYCLES:
        found = [least(use, box, cycle_days) for use, box in uses]
        long = [one for one in found if one.days >= LEAST_MEASURED_DAYS]
        units = sum(one.unit_days / one.days for one in long) / len(long)
        orders = DAYS_PER_MONTH * sum(one.orders for one in long) / sum(one.days for one in long)
        print(f"| {cycle_days} days | {units:.1f} | {orders:.2f} |")


if __name__ == "__main__":
    main()
