"""Run-out against closed forms: binomial, negative binomial, renewal theory, fixed counts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from planner import assumptions
from planner.chain import CatheterChain
from planner.demand import StockPath, chance_beyond, follow
from planner.habits import gap_chances, gap_hazards
from tests.references.chains import chain_of, daily, known_rate, timing_of

SPREAD = 0.1
"""Narrow, so that a session that fills one bottle never comes near two."""

TABLE = 1e-4
"""So much the table of the noise may cost at so narrow a spread. [probability]"""


@pytest.fixture
def still_rate(monkeypatch: pytest.MonkeyPatch) -> None:
    """The rate does not wander and noise has no outliers and no dry sessions."""
    monkeypatch.setattr(assumptions, "RATE_WALK_SD_PER_SQRT_DAY", 1e-9)
    monkeypatch.setattr(assumptions, "OUTLIER_CHANCE", 0.0)
    monkeypatch.setattr(assumptions, "DRY_CHANCE", 0.0)


def rate_with_second_bottle_chance(chance: float) -> float:
    """Log rate at which a day's fluid exceeds 500 mL with this chance."""
    return math.log(500.0) + SPREAD * float(stats.norm.ppf(chance))


def second_bottle_chain(chance: float, days: int) -> CatheterChain:
    rate = rate_with_second_bottle_chance(chance)
    return chain_of(known_rate(rate, spread=SPREAD), daily(days), limit_ml=1000)


@pytest.mark.usefixtures("still_rate")
def test_thirty_sessions_with_a_second_bottle_in_four_of_ten() -> None:
    """Identity: P(Bin(30, .4) > 15) = 0.0970568, binomial tail (scipy.stats.binom)."""
    chain = second_bottle_chain(0.4, 30)
    found = follow(chain, [StockPath(kits=45, bottles=0)]).run_outs[0].by_day[29]
    assert stats.binom.sf(15, 30, 0.4) == pytest.approx(0.097056843820749)
    assert found == pytest.approx(0.097056843820749, abs=TABLE)


@pytest.mark.usefixtures("still_rate")
def test_five_bottles_and_one_opened_every_other_time() -> None:
    """Duality of binomial and negative binomial, Feller vol. 1 ch. VI (from memory).

    A session takes place with chance 1/2 on each of ten days and there are five kits: the
    sixth success comes within ten trials with P(Bin(10, 1/2) >= 6) = 0.376953125.
    """
    chain = chain_of(known_rate(0.0), daily(10, 0.5))
    by_day = follow(chain, [StockPath(kits=5, bottles=0)]).run_outs[0].by_day
    assert by_day[9] == pytest.approx(0.376953125, abs=1e-7)
    sixth_on_trial = stats.nbinom.cdf(np.arange(10) + 1 - 6, 6, 0.5)
    assert by_day == pytest.approx(sixth_on_trial, abs=1e-7)


def test_symptom_led_sessions_are_binomial() -> None:
    """Reference library: scipy.stats.binom, one trial a day."""
    use = follow(chain_of(known_rate(0.0), daily(40, 1 / 14))).use
    for last in (0, 13, 39):
        expected = stats.binom.pmf(np.arange(41), last + 1, 1 / 14)
        assert use.sessions[last] == pytest.approx(expected, abs=1e-12)


def test_run_out_of_symptom_led_kits_is_negative_binomial() -> None:
    """Reference library: scipy.stats.nbinom, the fourth session with three kits at home."""
    chain = chain_of(known_rate(0.0), daily(60, 0.1))
    by_day = follow(chain, [StockPath(kits=3, bottles=0)]).run_outs[0].by_day
    expected = stats.nbinom.cdf(np.arange(60) + 1 - 4, 4, 0.1)
    assert by_day == pytest.approx(expected, abs=1e-6)


def test_expected_sessions_obey_the_renewal_equation() -> None:
    """u(n) = sum of f(k) u(n - k), u(0) = 1: Feller vol. 1, ch. XIII.3 (from memory)."""
    days, ages = 60, 8
    gaps = gap_chances(2, [])
    chance = np.tile(gap_hazards(2, [], ages), (days, 1))
    use = follow(chain_of(known_rate(0.0), timing_of(chance, gap_days=2.0))).use
    renewals = [1.0]
    for n in range(1, days + 1):
        renewals.append(sum(f * renewals[n - k] for k, f in gaps.items() if k <= n))
    mean = use.sessions @ np.arange(use.sessions.shape[1])
    assert mean == pytest.approx(np.cumsum(renewals[1:]), abs=1e-9)


def test_sessions_settle_at_one_per_mean_gap() -> None:
    """Renewal theorem: u(n) tends to one over the mean gap, Feller ch. XIII.3 (from memory)."""
    days = 120
    gaps = gap_chances(3, [3, 3, 4, 2, 5])
    chance = np.tile(gap_hazards(3, [3, 3, 4, 2, 5], 11), (days, 1))
    use = follow(chain_of(known_rate(0.0), timing_of(chance, gap_days=3.0))).use
    mean = use.sessions @ np.arange(use.sessions.shape[1])
    assert mean[-1] - mean[-2] == pytest.approx(
        1.0 / sum(gap * share for gap, share in gaps.items()), abs=1e-6
    )


@pytest.mark.usefixtures("still_rate")
@pytest.mark.parametrize(("daily_ml", "each"), [(100.0, 1), (740.0, 2)])
def test_without_any_doubt_use_is_a_plain_count(daily_ml: float, each: int) -> None:
    """Deterministic limit: a bottle count per session, one session a day."""
    chain = chain_of(known_rate(math.log(daily_ml), spread=0.01), daily(30), limit_ml=1000)
    followed = follow(chain, [StockPath(kits=20, bottles=0)])
    assert followed.use.bottles[29, 30 * each] == pytest.approx(1.0, abs=1e-6)
    by_day = followed.run_outs[0].by_day
    first_short = 20 // each
    assert by_day[first_short - 1] == pytest.approx(0.0, abs=1e-6)
    assert by_day[first_short] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.usefixtures("still_rate")
@pytest.mark.parametrize("service", [0.9, 0.95, 0.99])
def test_smallest_stock_for_a_service_level_is_the_quantile(service: float) -> None:
    """Base-stock rule: least S with P(demand <= S) >= service; scipy.stats.binom.ppf."""
    use = follow(second_bottle_chain(0.4, 28)).use
    smallest = next(
        s for s in range(28, 60) if chance_beyond(use, 27, kits=s, bottles=0) <= 1.0 - service
    )
    assert smallest == 28 + stats.binom.ppf(service, 28, 0.4)


@pytest.mark.usefixtures("still_rate")
def test_losses_add_a_negative_binomial_to_every_session() -> None:
    """Twenty sure sessions of one bottle, each lost in 2 of 100: scipy.stats.nbinom."""
    chain = chain_of(known_rate(math.log(50.0), spread=0.1), daily(20), loss_chance=0.02)
    bottles = follow(chain).use.bottles[19]
    expected = stats.nbinom.pmf(np.arange(6), 20, 0.98)
    assert bottles[20:26] == pytest.approx(expected, abs=2e-5)


@pytest.mark.usefixtures("still_rate")
def test_loose_bottles_serve_second_bottles_before_kits_do() -> None:
    """Ten sure sessions with n second bottles, n binomial: short when n > bottles + spare kits."""
    chain = second_bottle_chain(0.4, 10)
    paths = [StockPath(kits=kits, bottles=loose) for kits, loose in ((10, 4), (11, 3), (12, 2))]
    for path, found in zip(paths, follow(chain, paths).run_outs, strict=True):
        assert path.kits + path.bottles == 14
        assert found.by_day[9] == pytest.approx(stats.binom.sf(4, 10, 0.4), abs=TABLE)


def test_a_random_walk_of_the_rate_spreads_as_its_variance_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Normal law: after n days log volume has variance sd^2 + n walk^2 + spread^2.

    So the mean of the bottles a day is 1 plus the normal tails beyond each threshold.
    """
    monkeypatch.setattr(assumptions, "OUTLIER_CHANCE", 0.0)
    monkeypatch.setattr(assumptions, "DRY_CHANCE", 0.0)
    days, sd, drift, spread = 60, 0.3, -0.01, 0.45
    walk = assumptions.RATE_WALK_SD_PER_SQRT_DAY
    known = known_rate(math.log(400.0), sd=sd, drift=drift, spread=spread)
    bottles = follow(chain_of(known, daily(days), limit_ml=6000)).use.bottles
    per_day = np.diff(bottles @ np.arange(bottles.shape[1]), prepend=0.0)
    for day in (0, 20, 59):
        total = math.sqrt(sd**2 + day * walk**2 + spread**2)
        median = math.log(400.0) + drift * day
        tails = stats.norm.sf((np.log(500.0 * np.arange(1, 12)) - median) / total)
        assert per_day[day] == pytest.approx(1.0 + tails.sum(), abs=2e-3)
