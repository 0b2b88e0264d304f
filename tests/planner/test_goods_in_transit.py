"""Goods in transit that may come in any order, and more of them than are told apart."""

from __future__ import annotations

import numpy as np
import pytest

from planner import demand, joint
from planner.demand import MOST_GOODS_APART, ComingGoods, StockPath, run_out_of
from tests.references.chains import chain_of, daily, known_rate

DAYS = 20


def coming(kits: int, on_day: int) -> ComingGoods:
    return ComingGoods(kits=kits, bottles=0, ready_chance=(0.0,) * on_day + (1.0,))


def runs_out_on(*goods: ComingGoods) -> int:
    """The day a shelf of two kits fails, when one kit is used every day."""
    path = StockPath(kits=2, bottles=0, coming=goods)
    gone = run_out_of(chain_of(known_rate(0.0), daily(DAYS)), path).by_day
    assert np.minimum(gone, 1.0 - gone).max() < 1e-5
    return int(np.argmax(gone > 0.5))


@pytest.mark.parametrize("is_plain", [True, False])
def test_goods_that_come_first_are_used_first(
    monkeypatch: pytest.MonkeyPatch, *, is_plain: bool
) -> None:
    if is_plain:
        monkeypatch.setattr(demand, "step_through", joint.step_through)
    assert runs_out_on(coming(5, on_day=9), coming(3, on_day=2)) == 5
    assert runs_out_on(coming(5, on_day=5), coming(3, on_day=2)) == 10


def test_the_last_of_many_count_once_all_of_them_have_come() -> None:
    soon = [coming(1, on_day=1), coming(1, on_day=10)]
    assert len(soon) == MOST_GOODS_APART - 1
    assert runs_out_on(*soon, coming(5, on_day=3), coming(5, on_day=2)) == 14
    assert runs_out_on(*soon, coming(5, on_day=4), coming(5, on_day=2)) == 3
