"""Points that stand for doubt about a habit, against scipy and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from planner.habits import BetaHabit, GapHabit, beta_points, gap_weights, hazards


@pytest.mark.parametrize(("hits", "misses"), [(1.5, 19.5), (4.5, 40.0), (19.0, 1.0), (200.0, 9.0)])
def test_points_give_the_moments_of_the_beta_distribution(hits: float, misses: float) -> None:
    points, weights = beta_points(hits, misses)
    assert weights.sum() == pytest.approx(1.0)
    assert np.all((points > 0.0) & (points < 1.0))
    for degree in range(1, 4):
        exact = float(stats.beta(hits, misses).moment(degree))
        assert float(weights @ points**degree) == pytest.approx(exact, rel=0.03)


@pytest.mark.parametrize(
    ("hits", "misses", "days", "within"), [(1.5, 19.5, 30, 0.003), (10.0, 100.0, 60, 0.003)]
)
def test_counts_of_symptom_led_sessions_are_beta_binomial(
    hits: float, misses: float, days: int, within: float
) -> None:
    """Beta-binomial distribution, scipy.stats.betabinom."""
    points, weights = beta_points(hits, misses)
    counts = np.arange(days + 1)
    mixed = sum(
        weight * stats.binom(days, point).cdf(counts)
        for weight, point in zip(weights, points, strict=True)
    )
    assert np.abs(mixed - stats.betabinom(days, hits, misses).cdf(counts)).max() < within


def test_doubt_about_the_mean_gap_is_that_of_the_dirichlet() -> None:
    """Mean and variance of a linear form of a Dirichlet vector, by 200,000 draws."""
    weights = gap_weights(2, [2, 2, 3, 2, 1, 2, 5])
    habit = GapHabit(weights=weights)
    drawn = np.random.default_rng(5).dirichlet(list(weights.values()), size=200_000)
    means = drawn @ np.array(list(weights))
    mean, sd = habit.mean_and_sd()
    assert mean == pytest.approx(float(means.mean()), abs=3e-3)
    assert sd == pytest.approx(float(means.std()), rel=0.01)
    doubt = habit.doubt()
    at = np.array(
        [sum(gap * chance for gap, chance in habit.at(float(one)).items()) for one in doubt.scores]
    )
    assert float(doubt.weights @ at) == pytest.approx(mean, abs=1e-6)
    assert float(doubt.weights @ (at - mean) ** 2) == pytest.approx(sd**2, rel=1e-3)


def test_more_use_means_shorter_gaps_and_more_kept_slots() -> None:
    habit = GapHabit(weights=gap_weights(2, []))
    shorter, longer = habit.at(1.0), habit.at(-1.0)
    assert shorter[1] > longer[1]
    assert longer[4] > shorter[4]
    kept = BetaHabit(hits=19.0, misses=1.0)
    assert kept.at(-1.0) < kept.mean < kept.at(0.5) <= 1.0


def test_a_certain_habit_leaves_no_doubt() -> None:
    assert len(BetaHabit(hits=20.0, misses=0.0).doubt().weights) == 1
    assert len(GapHabit(weights={2: 30.0}).doubt().weights) == 1
    assert hazards({2: 1.0}, 3).tolist() == [0.0, 1.0, 1.0]
