"""The studies' scores against closed forms; SC numbers have their source beside them."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy import stats

from tests.studies import scores, use_scores
from tests.studies.baselines import METHODS


def test_score_of_a_poisson_count() -> None:
    """Poisson(3) at 5: 1.31311444, found with the reference library scoringrules 0.10.0."""
    pmf = stats.poisson.pmf(np.arange(60), 3.0)
    assert scores.ranked_probability_score(pmf, 5) == pytest.approx(1.31311444, abs=1e-8)


def test_score_of_three_equal_chances() -> None:
    """E|X - y| - E|X - X'| / 2 = 2/3 - 4/9 (Gneiting & Raftery, JASA 102:359, 2007; memory)."""
    third = 1.0 / 3.0
    assert scores.ranked_probability_score([0.0, third, third, third], 2) == pytest.approx(2 / 9)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        pytest.param(0.0, (math.sqrt(2.0) - 1.0) / math.sqrt(math.pi), id="at its middle"),
        pytest.param(1.0, 0.6024413576, id="one standard deviation off"),
    ],
)
def test_score_of_a_normal_cut_fine(at: float, expected: float) -> None:
    """CRPS of N(0, 1) (Gneiting & Raftery 2007, the normal case; memory), as a fine count."""
    step = 0.001
    edges = np.arange(-8.0, 8.0, step)
    pmf = np.diff(stats.norm.cdf(edges + 0.5 * step), prepend=0.0)
    place = round((at + 8.0) / step)
    found = step * scores.ranked_probability_score(pmf, place)
    assert found == pytest.approx(expected, abs=1e-5)


def test_score_beyond_the_last_entry_counts_every_step() -> None:
    assert scores.ranked_probability_score([1.0], 4) == pytest.approx(4.0)


def test_pinball_loss() -> None:
    """Definition, Koenker & Bassett, Econometrica 46:33-50, 1978 (memory)."""
    assert scores.pinball(0.9, 10.0, 8.0) == pytest.approx(1.8)
    assert scores.pinball(0.9, 8.0, 10.0) == pytest.approx(0.2)


def test_interval_score() -> None:
    """80 percent interval [2, 6] at 9: 4 + (2 / 0.2) 3 = 34 (Gneiting & Raftery 2007; memory)."""
    assert scores.interval_score(0.8, 9.0, 2.0, 6.0) == pytest.approx(34.0)
    assert scores.interval_score(0.8, 3.0, 2.0, 6.0) == pytest.approx(4.0)


@pytest.mark.parametrize(("low", "high"), [(0.25, 0.75), (0.1, 0.9), (0.005, 0.995), (0.0, 0.1)])
def test_transforms_of_a_right_forecast_are_uniform(low: float, high: float) -> None:
    """Every outcome as often as forecast, the one beyond the end included: exactly uniform."""
    cumulative = [0.125, 0.375, 0.75]
    outcomes = [0, 1, 1, 2, 2, 2, scores.BEYOND, scores.BEYOND]
    ranges = [scores.pit_range(cumulative, one) for one in outcomes]
    assert scores.pit_share(ranges, low, high) == pytest.approx(high - low)


def test_transforms_of_a_forecast_that_is_too_sure_lie_outside() -> None:
    cumulative = stats.binom.cdf(np.arange(21), 20, 0.5)
    wide = [0, 4, 5, 15, 16, 20]
    ranges = [scores.pit_range(cumulative, one) for one in wide]
    assert scores.pit_share(ranges, 0.1, 0.9) < 0.05


def test_quantiles_of_a_distribution_that_ends_early() -> None:
    cumulative = [0.0, 0.4, 0.5, 0.9]
    assert scores.quantile(cumulative, 0.4) == 1
    assert scores.quantile(cumulative, 0.5) == 2
    assert scores.quantile(cumulative, 0.95) == scores.BEYOND


def test_bootstrap_interval_of_a_mean() -> None:
    """Large sample: the mean plus and minus 1.96 standard errors."""
    values = np.linspace(-1.0, 3.0, 400)
    low, high = scores.bootstrap_interval(values.tolist(), seed=3)
    error = values.std() / math.sqrt(len(values))
    assert low == pytest.approx(1.0 - 1.96 * error, abs=0.15 * error)
    assert high == pytest.approx(1.0 + 1.96 * error, abs=0.15 * error)


def test_the_stored_scores_are_better_than_every_plain_method_on_every_group() -> None:
    """Over a week and over four, at every quantile: the table in RESULTS.md."""
    parts = json.loads(use_scores.RESULTS.read_text(encoding="utf-8"))
    assert parts["7 days, all"]["households"]["n"] >= 2000
    for part, table in parts.items():
        planner = table[use_scores.PLANNER]
        for method in METHODS:
            for score, worth in table[method].items():
                if score == "crps" or score.startswith("pinball"):
                    assert planner[score] < worth, (part, method, score)
