"""The best order of a tiny household, found by trying every date and every mix of boxes.

Written apart from the planner. Everything about the household is known: on prescribed weekdays
a session takes place with one chance, its volume is log-normal around the days since the last
one, and nothing is lost. What can happen is carried forward in a plain dictionary from each
shelf, lot by lot, to its chance, day by day.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from statistics import NormalDist

LATE_CHANCES = (0.80, 0.12, 0.04, 0.02, 0.015, 0.005)
"""Business days late, the planner's starting expectation written out once more."""

READY_AFTER_DAYS = 1
MOST_BOXES = 16
NEGLIGIBLE = 1e-10
_LONGEST_AGE = 60

Lots = tuple[tuple[int, int], ...]
"""(last usable day, units), soonest first; days count from the day of the plan."""

FOREVER = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Transit:
    """An open order: units, and the weekday on which it should arrive."""

    kits: int
    bottles: int
    usual_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiny:
    """A household of which everything is known.

    Attributes:
        weekdays: prescribed days, Monday = 0.
        kept: chance that a prescribed session takes place.
        ml_per_day, spread: median fluid a day, and standard deviation of its logarithm.
        start_age: days since the last drain on the day of the plan.
        box_sizes: units per box of kits and of loose bottles, 0 without loose bottles.
        van_weekdays: weekdays on which goods arrive; None for any business day.
        authorized: units of kits allowed in so many days, or None.
    """

    today: date
    weekdays: tuple[int, ...]
    kept: float
    ml_per_day: float
    spread: float
    start_age: int
    capacity_ml: int
    kits: Lots
    bottles: Lots
    box_sizes: tuple[int, int]
    lead: int
    van_weekdays: tuple[int, ...] | None
    protection: float
    cover_days: int
    transit: Transit | None = None
    authorized: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BestOrder:
    """What trying everything found.

    Attributes:
        boxes: boxes of kits and of loose bottles, before any authorized quantity.
        allowed_kit_boxes: boxes of kits that the authorized quantity leaves; None without one.
        closest: least distance of any chance that decided from the chance allowed.
    """

    order_by: date
    too_late: bool
    boxes: tuple[int, int]
    allowed_kit_boxes: int | None
    closest: float


def best_order(tiny: Tiny) -> BestOrder:
    """The last date that is safe, and the fewest boxes that last."""
    allowed = 1.0 - tiny.protection
    by_day = chance_short_by_day(tiny, (0, 0), _far(tiny))
    already = _risk_already(tiny)
    margins: list[float] = []

    def is_safe(day: date) -> bool:
        risk = _risk_before(by_day, tiny, _arrivals(tiny, _usual_arrival(tiny, day))) - already
        margins.append(abs(risk - allowed))
        return risk <= allowed

    first = _business(tiny.today)
    order_by, too_late = first, not is_safe(first)
    while not too_late:
        following = _business(order_by + timedelta(days=1))
        if not is_safe(following):
            break
        order_by = following
    last_day = _last_day(tiny, order_by)
    shelf = _with_sooner_goods(tiny, order_by)
    for boxes in _mixes(tiny):
        short = chance_short_by_day(shelf, boxes, last_day + 1)[last_day]
        margins.append(abs(short - allowed))
        if short <= allowed:
            break
    return BestOrder(
        order_by=order_by,
        too_late=too_late,
        boxes=boxes,
        allowed_kit_boxes=_authorized_boxes(tiny, order_by),
        closest=min(margins),
    )


def chance_short_by_day(tiny: Tiny, boxes: tuple[int, int], days: int) -> list[float]:
    """Chance that a session found too little by the end of each day, these boxes at home."""
    extra_kits, extra_bottles = boxes[0] * tiny.box_sizes[0], boxes[1] * tiny.box_sizes[1]
    kits, bottles = _with(tiny.kits, extra_kits), _with(tiny.bottles, extra_bottles)
    total = [0.0] * days
    for ready, chance in _ready_days(tiny):
        for day, short in enumerate(_follow(tiny, kits, bottles, ready, days)):
            total[day] += chance * short
    return total


def _follow(tiny: Tiny, kits: Lots, bottles: Lots, ready: int | None, days: int) -> Iterator[float]:
    here = {(tiny.start_age, kits, bottles): 1.0}
    short = 0.0
    for day in range(days):
        nxt: dict[tuple[int, Lots, Lots], float] = {}
        due = (tiny.today + timedelta(days=day)).weekday() in tiny.weekdays
        for (age, k, b), chance in here.items():
            kit_lots, bottle_lots = _in_date(k, day), _in_date(b, day)
            if day == ready and tiny.transit is not None:
                kit_lots = _with(kit_lots, tiny.transit.kits)
                bottle_lots = _with(bottle_lots, tiny.transit.bottles)
            drains = tiny.kept if due else 0.0
            if drains < 1.0:
                state = (min(age + 1, _LONGEST_AGE), kit_lots, bottle_lots)
                nxt[state] = nxt.get(state, 0.0) + chance * (1.0 - drains)
            if drains > 0.0:
                for count, share in _bottles_opened(
                    tiny.ml_per_day * age, tiny.spread, tiny.capacity_ml
                ):
                    left = _use(kit_lots, bottle_lots, count)
                    if left is None:
                        short += chance * drains * share
                    else:
                        state = (1, *left)
                        nxt[state] = nxt.get(state, 0.0) + chance * drains * share
        here = {state: chance for state, chance in nxt.items() if chance > NEGLIGIBLE}
        yield short


@cache
def _bottles_opened(
    held_ml: float, spread: float, capacity_ml: int
) -> tuple[tuple[int, float], ...]:
    """Bottles that a session fills when so much is held, and the chance of each."""
    law = NormalDist(math.log(held_ml), spread)
    found, above, count = [], 1.0, 1
    while above > NEGLIGIBLE:
        beyond = 1.0 - law.cdf(math.log(count * capacity_ml))
        found.append((count, above - beyond))
        above, count = beyond, count + 1
    return tuple(found)


def _use(kits: Lots, bottles: Lots, count: int) -> tuple[Lots, Lots] | None:
    """One kit, then loose bottles, then kits for their bottle; None when they do not reach."""
    loose = min(count - 1, sum(units for _, units in bottles))
    opened = count - loose
    if opened > sum(units for _, units in kits):
        return None
    return _less(kits, opened), _less(bottles, loose)


def _less(lots: Lots, units: int) -> Lots:
    left: list[tuple[int, int]] = []
    for last_day, there in lots:
        taken = min(units, there)
        units -= taken
        if there > taken:
            left.append((last_day, there - taken))
    return tuple(left)


def _in_date(lots: Lots, day: int) -> Lots:
    return tuple(lot for lot in lots if lot[0] >= day)


def _with(lots: Lots, units: int) -> Lots:
    """With so many more units that never expire."""
    if not units:
        return lots
    dated = tuple(lot for lot in lots if lot[0] != FOREVER)
    return (*dated, (FOREVER, units + sum(n for last, n in lots if last == FOREVER)))


def _mixes(tiny: Tiny) -> Iterator[tuple[int, int]]:
    """Every mix, fewest boxes first, then fewest units, then fewest loose bottles."""
    kit_size, bottle_size = tiny.box_sizes
    mixes = [
        (kits, bottles)
        for kits, bottles in itertools.product(range(MOST_BOXES + 1), repeat=2)
        if kits + bottles <= MOST_BOXES and (bottle_size or not bottles)
    ]
    mixes.sort(key=lambda m: (sum(m), m[0] * kit_size + m[1] * bottle_size, m[1]))
    return iter(mixes)


# Dates: Monday to Friday are business days; no holidays here.


def _business(day: date) -> date:
    while day.weekday() > 4:
        day += timedelta(days=1)
    return day


def _later(day: date, business_days: int) -> date:
    for _ in range(business_days):
        day = _business(day + timedelta(days=1))
    return day


def _van(tiny: Tiny, day: date) -> date:
    while day.weekday() not in (tiny.van_weekdays or range(5)):
        day += timedelta(days=1)
    return day


def _usual_arrival(tiny: Tiny, placed_on: date) -> date:
    return _van(tiny, _later(_business(placed_on), tiny.lead))


def _arrivals(tiny: Tiny, usual_on: date) -> list[tuple[int, float]]:
    """Days from today on which goods arrive, and the chance of each; today at the earliest."""
    found = [
        (((_van(tiny, _later(usual_on, late)) if late else usual_on) - tiny.today).days, chance)
        for late, chance in enumerate(LATE_CHANCES)
    ]
    return sorted(found)


def _ready_days(tiny: Tiny) -> Iterator[tuple[int | None, float]]:
    if tiny.transit is None:
        yield None, 1.0
        return
    for day, chance in _arrivals(tiny, tiny.transit.usual_on):
        yield day + READY_AFTER_DAYS, chance


def _risk_before(by_day: list[float], tiny: Tiny, arrivals: list[tuple[int, float]]) -> float:
    """Chance of being short on or before the day the goods arrive."""
    return sum(chance * by_day[day + READY_AFTER_DAYS - 1] for day, chance in arrivals)


def _risk_already(tiny: Tiny) -> float:
    """Chance of being short before an open order that comes sooner than one placed today."""
    if tiny.transit is None or tiny.transit.usual_on > _usual_arrival(tiny, tiny.today):
        return 0.0
    by_day = chance_short_by_day(replace(tiny, transit=None), (0, 0), _far(tiny))
    return _risk_before(by_day, tiny, _arrivals(tiny, tiny.transit.usual_on))


def _with_sooner_goods(tiny: Tiny, order_by: date) -> Tiny:
    """With an open order that comes before the new one at home: its lateness is settled."""
    coming = tiny.transit
    if coming is None or coming.usual_on > _usual_arrival(tiny, order_by):
        return tiny
    return replace(
        tiny,
        kits=_with(tiny.kits, coming.kits),
        bottles=_with(tiny.bottles, coming.bottles),
        transit=None,
    )


def _last_day(tiny: Tiny, order_by: date) -> int:
    """The day through which an order lasts: the late arrival of the one after it."""
    following = _business(order_by + timedelta(days=tiny.cover_days))
    reached = 0.0
    for day, chance in _arrivals(tiny, _usual_arrival(tiny, following)):
        reached += chance
        if reached >= tiny.protection - 1e-12:
            return day
    return day


def _authorized_boxes(tiny: Tiny, order_by: date) -> int | None:
    """Boxes of kits that are left; the open order was placed the day before the plan."""
    if tiny.authorized is None:
        return None
    units, per_days = tiny.authorized
    placed_on = tiny.today - timedelta(days=1)
    if tiny.transit is not None and placed_on > order_by - timedelta(days=per_days):
        units -= tiny.transit.kits
    return max(units, 0) // tiny.box_sizes[0]


def _far(tiny: Tiny) -> int:
    """Enough days for every date that is tried."""
    return 80
