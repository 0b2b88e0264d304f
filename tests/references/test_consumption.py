"""Bottles, losses and the normal distribution against scipy and identities."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from planner.assumptions import LOSS_CHANCE, LOSS_WEIGHT
from planner.consumption import (
    bottle_thresholds,
    bottles_for,
    learn_loss_chance,
    losses_given_bottles,
)
from planner.habits import gap_chances, gap_hazards
from planner.normal import normal_cdf
from planner.sessions import BottleUse, LossReason
from tests.builders import make_session, moment


def test_normal_distribution_agrees_with_scipy() -> None:
    """Reference library: scipy.stats.norm. The table promises 2e-7."""
    z = np.linspace(-12.0, 12.0, 20_001)
    assert np.abs(normal_cdf(z) - stats.norm.cdf(z)).max() < 2e-7


@pytest.mark.parametrize("chance", [0.02, 0.1, 0.2])
@pytest.mark.parametrize("good", [1, 2, 4])
def test_losses_are_negative_binomial(good: int, chance: float) -> None:
    """Reference library: scipy.stats.nbinom (Feller vol. 1, ch. VI.8, from memory)."""
    found = losses_given_bottles(good, chance)
    expected = stats.nbinom.pmf(np.arange(len(found)), good, 1.0 - chance)
    left_out = float(stats.nbinom.sf(len(found) - 1, good, 1.0 - chance))
    assert left_out < 1e-4
    assert found == pytest.approx(expected, abs=2.0 * left_out + 1e-12)
    assert sum(found) == pytest.approx(1.0, abs=1e-12)


def test_loss_chance_is_the_beta_posterior_mean() -> None:
    """Reference library: scipy.stats.beta, conjugate update (Gelman et al. 2013, s. 2.4)."""
    lost = BottleUse(volume_ml=0, loss=LossReason.DROPPED)
    good = BottleUse(volume_ml=400)
    sessions = [
        make_session(moment(-n), bottles=(lost, good) if n % 5 == 0 else (good,))
        for n in range(1, 31)
    ]
    a, b = LOSS_CHANCE * LOSS_WEIGHT, (1.0 - LOSS_CHANCE) * LOSS_WEIGHT
    posterior = stats.beta(a + 6, b + 30)
    assert learn_loss_chance(sessions) == pytest.approx(posterior.mean(), rel=1e-12)


def test_gap_chances_are_the_dirichlet_posterior_mean() -> None:
    """Reference library: scipy.stats.dirichlet, conjugate update (Gelman et al. 2013, s. 3.4)."""
    prior = np.array([0.6, 18.0, 1.0, 0.3, 0.1])
    seen = np.array([0, 6, 3, 0, 1])
    posterior = stats.dirichlet(prior + seen).mean()
    found = gap_chances(2, [2] * 6 + [3] * 3 + [5])
    assert [found[gap] for gap in (1, 2, 3, 4, 5)] == pytest.approx(posterior, rel=1e-12)


def test_hazards_and_chances_of_a_gap_are_the_same_thing() -> None:
    """Identity of discrete survival: f(a) = h(a) times the product of 1 - h before a."""
    gaps = [2, 2, 3, 2, 4, 1, 2]
    hazards = gap_hazards(2, gaps, 8)
    left = np.concatenate(([1.0], np.cumprod(1.0 - hazards)[:-1]))
    chances = gap_chances(2, gaps)
    expected = [chances.get(age, 0.0) for age in range(1, 9)]
    assert hazards * left == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("first", "further", "limit"), [(500, 500, 1000), (1000, 500, 2000), (600, 600, 1500)]
)
def test_thresholds_count_the_same_bottles_as_the_ceiling(
    first: int, further: int, limit: int
) -> None:
    """Identity: 1 + how many thresholds lie below a volume is the ceiling rule."""
    thresholds = bottle_thresholds(limit, (first, further))
    for volume in range(0, limit + 1, 7):
        assert bottles_for(volume, first, further) == 1 + sum(volume > t for t in thresholds)
