"""Several catheters on one shelf: exact where promised, an upper bound elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from planner import assumptions
from planner.demand import ComingGoods, ExpiringUnits, StockPath, UseChances
from planner.shared_shelf import WORTH_MAKING_EXACT, SharedUse, shared_use
from tests.references.chains import chain_of, daily, known_rate

DAYS = 40
CHANCE = 0.3


@pytest.fixture(scope="module")
def shared() -> SharedUse:
    """Two catheters, each drained on a day with chance .3, one bottle a session."""
    return shared_use([chain_of(known_rate(0.0), daily(DAYS, CHANCE))] * 2, ())


@pytest.fixture(scope="module")
def two_catheters(shared: SharedUse) -> UseChances:
    return shared.use


def test_use_of_two_catheters_is_the_sum(two_catheters: UseChances) -> None:
    """Reference library: scipy.stats.binom, two trials a day."""
    expected = stats.binom.pmf(np.arange(30), 2 * DAYS, CHANCE)
    assert two_catheters.sessions[-1][:30] == pytest.approx(expected, abs=1e-12)


def test_kits_of_two_catheters_run_out_exactly(shared: SharedUse) -> None:
    """Reference library: scipy.stats.binom, more sessions than kits."""
    found = shared.run_out(StockPath(kits=9, bottles=0)).by_day
    expected = [stats.binom.sf(9, 2 * (day + 1), CHANCE) for day in range(DAYS)]
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("kits", "bottles"), [(12, 0), (12, 5), (12, 9), (12, 40), (30, 6)])
def test_sessions_and_further_bottles_are_known_together(kits: int, bottles: int) -> None:
    """Two certain drains a day; both stop at the second bottle, but for the few that are dry.

    Reference library: scipy.stats.binom, further bottles of so many sessions that are not dry.
    """
    days = 12
    chain = chain_of(known_rate(math.log(2000.0), spread=0.05), daily(days), loose_ml=500)
    found = shared_use([chain] * 2, ()).run_out(StockPath(kits=kits, bottles=bottles))
    sessions = 2 * np.arange(1, days + 1)
    spare = kits - sessions + bottles
    further = stats.binom.sf(spare, sessions, 1.0 - assumptions.DRY_CHANCE)
    expected = np.where(sessions > kits, 1.0, further)
    assert found.by_day == pytest.approx(expected, abs=1e-4)
    assert found.most_above == pytest.approx(0.0, abs=1e-9)


STOCKS = {
    "a lot that expires": StockPath(
        kits=14, bottles=0, expiring_kits=(ExpiringUnits(last_day=12, units=8),)
    ),
    "goods in transit": StockPath(
        kits=5,
        bottles=0,
        coming=(ComingGoods(kits=6, bottles=0, ready_chance=(0.0,) * 8 + (0.7, 0.3)),),
    ),
    "many that end before a few": StockPath(
        kits=14,
        bottles=0,
        expiring_kits=(ExpiringUnits(last_day=3, units=6), ExpiringUnits(last_day=8, units=4)),
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
PATHS = 40_000
FOUR_ERRORS = 4.0 * 0.5 / math.sqrt(PATHS)


@pytest.mark.parametrize("name", STOCKS)
def test_the_bound_is_never_below_the_truth(name: str, shared: SharedUse) -> None:
    """Truth: 40,000 paths with lots, dates and deliveries kept one by one."""
    truth = play_out(STOCKS[name], paths=PATHS)
    assert truth[-1] > 0.3
    first = shared.bound(STOCKS[name], DAYS)
    closer = shared.run_out(STOCKS[name])
    for one in (first, closer):
        assert one.at_least is not None
        assert np.all(one.by_day >= truth - FOUR_ERRORS)
        assert np.all(one.at_least <= truth + FOUR_ERRORS)
    assert np.all(closer.by_day <= first.by_day + 1e-9)


@pytest.mark.parametrize("name", ["a lot that expires", "goods in transit"])
def test_one_lot_or_one_delivery_of_kits_is_exact(name: str, shared: SharedUse) -> None:
    found = shared.run_out(STOCKS[name])
    truth = play_out(STOCKS[name], paths=PATHS)
    assert np.abs(found.by_day - truth).max() < FOUR_ERRORS
    assert found.most_above <= WORTH_MAKING_EXACT
    assert shared.bound(STOCKS[name], DAYS).most_above > 0.01


def test_kits_that_pass_their_date_are_counted(shared: SharedUse) -> None:
    """Reference library: scipy.stats.binom; eight kits less what is used by day 12."""
    found = shared.run_out(STOCKS["a lot that expires"])
    used = stats.binom.pmf(np.arange(8), 2 * 13, CHANCE)
    assert found.kits_expired == pytest.approx(float(used @ (8 - np.arange(8))), abs=1e-5)
    assert found.kits_left.sum(axis=1) == pytest.approx(np.ones(DAYS), abs=1e-6)
    # Six kits have no date: no more than these can be left once the others have ended.
    assert found.kits_left[13:, 7:].max() == pytest.approx(0.0, abs=1e-6)


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


def test_kits_of_two_catheters_with_loose_bottles_are_gone_when_sessions_took_them(
    shared: SharedUse,
) -> None:
    """Every session opens a kit, however many loose bottles there are for further ones."""
    found = shared.run_out(StockPath(kits=9, bottles=30)).kits_left
    expected = stats.binom.cdf(9, 2 * np.arange(1, DAYS + 1), CHANCE)
    assert 1.0 - found[:, 0] + shared.use.sessions[:, 9] == pytest.approx(expected, abs=1e-6)
    assert found.sum(axis=1) == pytest.approx(np.ones(DAYS), abs=1e-9)


def test_kits_of_other_sizes_at_home_are_not_counted_on_by_each_catheter() -> None:
    """Ten large kits serve ten sessions of both together, not ten of each."""
    chain = chain_of(known_rate(math.log(700.0)), daily(DAYS))
    large, ordered = shared_use([chain] * 2, (1000,) * 10), shared_use([chain] * 2, ())
    assert large.use.bottles == pytest.approx(ordered.use.bottles)
