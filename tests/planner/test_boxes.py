"""Quick bounds on running short hold the exact chance between them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.boxes import LaterGoods, ShelfNeed
from planner.demand import ComingGoods, ExpiringUnits, StockPath, follow
from planner.losses import bottles_lost, kits_lost, least_short_of_dated
from planner.outlook import forecast_shelves
from planner.plan import make_plan
from planner.runout import follow_shelf
from planner.shared_shelf import shared_use
from planner.stock import shelf_on
from tests.builders import (
    BOTTLE,
    TODAY,
    day,
    make_catheter,
    make_household,
    sessions_every,
    stocked,
)
from tests.references.chains import chain_of, daily, known_rate

DAYS = 30
SLACK = 1e-6
"""What following day by day leaves out as negligible, many times over."""

DATED_KITS = (ExpiringUnits(last_day=4, units=3), ExpiringUnits(last_day=12, units=2))
DATED_BOTTLES = (ExpiringUnits(last_day=7, units=4),)
IN_TRANSIT = LaterGoods(
    goods=ComingGoods(kits=4, bottles=2, ready_chance=(0.0,) * 9 + (0.7, 0.2, 0.1)), day=11
)
SHELVES = {
    "loose bottles": (StockPath(kits=6, bottles=4), ()),
    "dated kits": (StockPath(kits=7, bottles=0, expiring_kits=DATED_KITS), ()),
    "both dated": (
        StockPath(kits=7, bottles=5, expiring_kits=DATED_KITS, expiring_bottles=DATED_BOTTLES),
        (),
    ),
    "goods on their way": (StockPath(kits=4, bottles=1), (IN_TRANSIT,)),
}


@pytest.fixture(scope="module")
def need() -> ShelfNeed:
    """A household that drains every other day, often more than a bottle."""
    home = make_household(catheter={"bottle_code": BOTTLE}, sessions=sessions_every(2, 8, 420, 500))
    forecast = forecast_shelves(home, TODAY, DAYS)[0]
    followed = follow_shelf(forecast, shelf_on(home, TODAY), (), DAYS)
    return ShelfNeed(shelf=followed, path=StockPath(kits=0, bottles=0), later=())


@pytest.mark.parametrize("shelf", SHELVES)
@pytest.mark.parametrize("more", [(0, 0), (4, 0), (4, 3), (10, 5)])
def test_the_exact_chance_lies_between_the_bounds(
    need: ShelfNeed, shelf: str, more: tuple[int, int]
) -> None:
    path, later = SHELVES[shelf]
    need = replace(need, path=path, later=later)
    for last_day in (8, 15, DAYS - 1):
        exact = need.exactly(*more, last_day)
        assert need.at_least(*more, last_day) <= exact + SLACK
        assert exact <= need.at_most(*more, last_day) + SLACK


def test_units_beyond_each_number_are_lost_no_oftener_than_said() -> None:
    """One bottle a day, kept with chance 0.7: losses of one lot are binomial."""
    use = follow(chain_of(known_rate(0.0), daily(20, 0.7))).use
    lots = (ExpiringUnits(last_day=4, units=6),)
    used = use.bottles[4]
    for units, more in kits_lost(lots, use, has_loose=False):
        assert more == pytest.approx(sum(used[: 6 - units]), abs=1e-9)


def test_lost_for_sure_is_short_for_sure() -> None:
    """Ten kits of which eight end today; a session every day needs the ninth on day 3."""
    use = follow(chain_of(known_rate(0.0), daily(20))).use
    lots = (ExpiringUnits(last_day=0, units=8),)
    assert least_short_of_dated(use, 2, 10, lots) == pytest.approx(0.0, abs=1e-6)
    assert least_short_of_dated(use, 3, 10, lots) == pytest.approx(1.0, abs=1e-6)


def test_loose_bottles_of_single_bottle_sessions_all_pass_their_date() -> None:
    use = follow(chain_of(known_rate(0.0), daily(20))).use
    lots = (ExpiringUnits(last_day=5, units=2),)
    chances = dict(bottles_lost(lots, use))
    assert chances[1] == pytest.approx(1.0, abs=1e-6)
    assert chances[2] == pytest.approx(0.0, abs=1e-6)


def test_two_catheters_order_for_what_will_pass_its_date() -> None:
    """All kits of a shared shelf end tomorrow: more is ordered than if they kept."""
    known = {"expected_ml_per_day": 120}
    both = (make_catheter(**known), make_catheter(id="left", label="left", **known))
    boxes = {}
    for ends_on in (None, day(1)):
        home = make_household(
            catheters=both,
            sessions=(),
            ledger=stocked(20, kits_expire_on=ends_on),
            settings={"horizon_days": 35, "cover_days": 7},
        )
        boxes[ends_on] = sum(line.boxes for line in make_plan(home, TODAY).order.lines)
    assert boxes[day(1)] > boxes[None]


def test_loose_bottles_that_come_late_do_not_bring_back_kits(need: ShelfNeed) -> None:
    """Kits serve every second bottle until many loose ones come; then kits are short."""
    late = ComingGoods(kits=2, bottles=12, ready_chance=(0.0,) * 9 + (1.0,))
    need = replace(
        need,
        path=StockPath(kits=10, bottles=0),
        later=(LaterGoods(goods=late, day=8),),
    )
    for last_day in range(9, DAYS):
        exact = need.exactly(0, 0, last_day)
        assert need.at_least(0, 0, last_day) <= exact + SLACK
        assert exact <= need.at_most(0, 0, last_day) + SLACK
    assert need.exactly(0, 0, 20) > 0.2


@pytest.mark.parametrize("shelf", SHELVES)
def test_bounds_of_several_catheters_hold_what_is_shown_between_them(
    need: ShelfNeed, shelf: str
) -> None:
    path, later = SHELVES[shelf]
    forecast = need.shelf.forecast
    shared = shared_use([one.chain for one in forecast.catheters * 2], ())
    followed = replace(
        need.shelf, forecast=replace(forecast, catheters=forecast.catheters * 2), shared=shared
    )
    need = replace(need, shelf=followed, path=path, later=later)
    for last_day in (8, 15, DAYS - 1):
        for more in ((0, 0), (8, 4), (20, 10)):
            shown = need.exactly(*more, last_day)
            assert need.at_least(*more, last_day) <= shown + SLACK
            assert shown <= need.at_most(*more, last_day) + SLACK
