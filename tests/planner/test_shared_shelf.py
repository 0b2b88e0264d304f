"""Several catheters on one shelf: exact where promised, an upper bound elsewhere."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from planner.demand import (
    ComingGoods,
    ExpiringUnits,
    StockPath,
    UseChances,
    combined_use,
    follow,
    run_out_bound_by_day,
)
from tests.references.chains import chain_of, daily, known_rate

DAYS = 40
CHANCE = 0.3


@pytest.fixture(scope="module")
def two_catheters() -> UseChances:
    """Two catheters, each drained on a day with chance .3, one bottle a session."""
    return combined_use([follow(chain_of(known_rate(0.0), daily(DAYS, CHANCE))).use] * 2)


def test_use_of_two_catheters_is_the_sum(two_catheters: UseChances) -> None:
    """Reference library: scipy.stats.binom, two trials a day."""
    expected = stats.binom.pmf(np.arange(30), 2 * DAYS, CHANCE)
    assert two_catheters.sessions[-1][:30] == pytest.approx(expected, abs=1e-12)


def test_kits_of_two_catheters_run_out_exactly(two_catheters: UseChances) -> None:
    """Reference library: scipy.stats.binom, more sessions than kits."""
    found = run_out_bound_by_day(two_catheters, StockPath(kits=9, bottles=0)).by_day
    expected = [stats.binom.sf(9, 2 * (day + 1), CHANCE) for day in range(DAYS)]
    assert found == pytest.approx(expected, abs=1e-6)


STOCKS = {
    "a lot that expires": StockPath(
        kits=14, bottles=0, expiring_kits=(ExpiringUnits(last_day=12, units=8),)
    ),
    "goods in transit": StockPath(
        kits=5,
        bottles=0,
        coming=(ComingGoods(kits=6, bottles=0, ready_chance=(0.0,) * 8 + (0.7, 0.3)),),
    ),
    "two lots and two deliveries": StockPath(
        kits=9,
        bottles=0,
        expiring_kits=(ExpiringUnits(last_day=6, units=3), ExpiringUnits(last_day=20, units=3)),
        coming=(
            ComingGoods(kits=4, bottles=0, ready_chance=(0.0,) * 9 + (0.6, 0.4)),
            ComingGoods(kits=5, bottles=0, ready_chance=(0.0,) * 15 + (1.0,)),
        ),
    ),
}


@pytest.mark.parametrize("name", STOCKS)
def test_the_bound_is_never_below_the_truth(name: str, two_catheters: UseChances) -> None:
    """Truth: 40,000 paths with lots, dates and deliveries kept one by one."""
    stock = STOCKS[name]
    bound = run_out_bound_by_day(two_catheters, stock).by_day
    truth = play_out(stock, paths=40_000)
    assert truth[-1] > 0.3
    assert np.all(bound >= truth - 0.01)


def play_out(stock: StockPath, *, paths: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    rng = np.random.default_rng(3)
    undated = stock.kits - sum(lot.units for lot in stock.expiring_kits)
    lots = [np.full(paths, lot.units) for lot in stock.expiring_kits]
    lots.append(np.full(paths, undated))
    ready = [
        rng.choice(len(one.ready_chance), size=paths, p=one.ready_chance) for one in stock.coming
    ]
    alive = np.ones(paths, dtype=bool)
    gone = []
    for day in range(DAYS):
        for goods, ready_on in zip(stock.coming, ready, strict=True):
            lots[-1] += goods.kits * (ready_on == day)
        wanted = rng.binomial(2, CHANCE, size=paths)
        for held in lots:
            taken = np.minimum(held, wanted)
            np.subtract(held, taken, out=held)
            wanted -= taken
        alive &= wanted == 0
        for lot, held in zip(stock.expiring_kits, lots, strict=False):
            if lot.last_day == day:
                held[:] = 0
        gone.append(1.0 - alive.mean())
    return np.array(gone)


def test_kits_of_two_catheters_with_loose_bottles_are_gone_when_sessions_took_them() -> None:
    """Every session opens a kit, however many loose bottles there are for further ones."""
    use = combined_use([follow(chain_of(known_rate(0.0), daily(DAYS, CHANCE))).use] * 2)
    found = run_out_bound_by_day(use, StockPath(kits=9, bottles=30)).kits_left
    expected = stats.binom.cdf(9, 2 * np.arange(1, DAYS + 1), CHANCE)
    assert 1.0 - found[:, 0] + use.sessions[:, 9] == pytest.approx(expected, abs=1e-6)
    assert found.sum(axis=1) == pytest.approx(np.ones(DAYS), abs=1e-9)
