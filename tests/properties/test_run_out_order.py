"""What must hold between any two shelves: more, later and sooner delivered never hurts."""

from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chain import CatheterChain
from planner.demand import ComingGoods, ExpiringUnits, StockPath, follow
from planner.normal import Floats
from planner.outlook import forecast_shelves
from tests.builders import BOTTLE, TODAY, make_household, sessions_every

DAYS = 20
ROUNDING = 2e-6
"""What is left out as too unlikely adds up to this at most."""


@lru_cache(maxsize=1)
def chain() -> CatheterChain:
    """Every other day, volumes about one bottle, kits and loose bottles."""
    home = make_household(
        catheter={"bottle_code": BOTTLE}, sessions=sessions_every(2, 20, 430, 500, 380, 470)
    )
    return forecast_shelves(home, TODAY, DAYS)[0].catheters[0].chain


def ready_on(first: int, chances: list[int]) -> tuple[float, ...]:
    by_day = [0.0] * DAYS
    for late, chance in enumerate(chances):
        if first + late < DAYS:
            by_day[first + late] = chance / sum(chances)
    return tuple(by_day)


@st.composite
def lots(draw: st.DrawFn, most: int) -> tuple[ExpiringUnits, ...]:
    """Lots with distinct dates, together no more units than there are."""
    days = draw(st.lists(st.integers(0, DAYS - 1), max_size=2, unique=True))
    left = most
    found = []
    for last_day in sorted(days):
        units = draw(st.integers(0, left))
        left -= units
        if units:
            found.append(ExpiringUnits(last_day=last_day, units=units))
    return tuple(found)


@st.composite
def shelves(draw: st.DrawFn) -> StockPath:
    kits, bottles = draw(st.integers(0, 14)), draw(st.integers(0, 5))
    coming = []
    if draw(st.booleans()):
        ready = ready_on(
            draw(st.integers(1, 12)),
            draw(st.lists(st.integers(1, 9), min_size=1, max_size=4)),
        )
        coming.append(
            ComingGoods(
                kits=draw(st.integers(1, 10)), bottles=draw(st.integers(0, 5)), ready_chance=ready
            )
        )
    return StockPath(
        kits=kits,
        bottles=bottles,
        expiring_kits=draw(lots(kits)),
        expiring_bottles=draw(lots(bottles)),
        coming=tuple(coming),
    )


def run_outs(*paths: StockPath) -> list[Floats]:
    return [one.by_day for one in follow(chain(), paths).run_outs]


@settings(max_examples=12, deadline=None, derandomize=True)
@given(shelves())
def test_run_out_only_becomes_more_likely_with_time(shelf: StockPath) -> None:
    (by_day,) = run_outs(shelf)
    assert np.all(np.diff(by_day) >= -1e-12)
    assert by_day[0] >= 0.0
    assert by_day[-1] <= 1.0


@settings(max_examples=12, deadline=None, derandomize=True)
@given(shelves(), st.integers(0, 4), st.integers(0, 4))
def test_more_stock_never_means_an_earlier_run_out(
    shelf: StockPath, kits: int, bottles: int
) -> None:
    more = dataclasses.replace(shelf, kits=shelf.kits + kits, bottles=shelf.bottles + bottles)
    less_by_day, more_by_day = run_outs(shelf, more)
    assert np.all(more_by_day <= less_by_day + ROUNDING)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(shelves(), st.integers(1, 10))
def test_a_later_use_by_date_never_hurts(shelf: StockPath, days: int) -> None:
    later = dataclasses.replace(
        shelf,
        expiring_kits=tuple(
            dataclasses.replace(lot, last_day=lot.last_day + days) for lot in shelf.expiring_kits
        ),
        expiring_bottles=tuple(
            dataclasses.replace(lot, last_day=lot.last_day + days) for lot in shelf.expiring_bottles
        ),
    )
    sooner_by_day, later_by_day = run_outs(shelf, later)
    assert np.all(later_by_day <= sooner_by_day + ROUNDING)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(shelves(), st.integers(1, 6))
def test_goods_on_their_way_never_hurt_and_sooner_is_no_worse(shelf: StockPath, days: int) -> None:
    without = dataclasses.replace(shelf, coming=())
    sooner = dataclasses.replace(
        shelf,
        coming=tuple(
            dataclasses.replace(goods, ready_chance=(*goods.ready_chance[days:], *[0.0] * days))
            for goods in shelf.coming
            if sum(goods.ready_chance[:days]) == 0.0
        ),
    )
    alone, usual, early = run_outs(without, shelf, sooner)
    assert np.all(usual <= alone + ROUNDING)
    if sooner.coming == () and shelf.coming != ():
        return
    assert np.all(early <= usual + ROUNDING)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(shelves())
def test_kits_left_and_the_run_out_make_one(shelf: StockPath) -> None:
    (found,) = follow(chain(), [dataclasses.replace(shelf, coming=())]).run_outs
    assert np.allclose(found.kits_left.sum(axis=1), 1.0, atol=ROUNDING)
