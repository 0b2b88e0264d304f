"""The few facts about use and rate that people are shown."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from planner.assumptions import VOLUME_PRIORS
from planner.dates import end_of_day
from planner.demand import follow
from planner.household import ClinicalGroup
from planner.learning import learn_rate
from planner.outlook import describe_use
from planner.plan import make_plan
from tests.builders import BOTTLE, TODAY, make_household, sessions_every, stocked
from tests.references.chains import chain_of, daily, known_rate

QUICK = {"horizon_days": 35, "cover_days": 7}


def test_use_shows_means_and_ten_percent_quantiles() -> None:
    """Reference library: scipy.stats.binom, one bottle a session, one trial a day."""
    use = describe_use(follow(chain_of(known_rate(0.0), daily(40, 0.3))).use)
    for last in (4, 19, 39):
        law = stats.binom(last + 1, 0.3)
        assert use.sessions_mean[last] == pytest.approx(law.mean(), abs=1e-5)
        assert use.bottles_mean[last] == pytest.approx(law.mean(), abs=1e-4)
        assert (use.bottles_low[last], use.bottles_high[last]) == (law.ppf(0.1), law.ppf(0.9))


def test_the_rate_shows_an_eighty_percent_interval() -> None:
    """Quantiles of the starting expectation, a log-normal distribution (scipy.stats)."""
    home = make_household(sessions=())
    known = learn_rate(home, home.catheters[0], end_of_day(TODAY))
    prior = VOLUME_PRIORS[ClinicalGroup.HEART_KIDNEY_PLEURAL]
    law = stats.lognorm(prior.between_sd, scale=math.exp(prior.log_median))
    for chance in (0.1, 0.5, 0.9):
        assert known.quantile_ml_per_day(chance) == pytest.approx(law.ppf(chance), rel=0.03)
    shown = make_plan(
        make_household(sessions=(), catheter={"expected_ml_per_day": 150}, settings=QUICK), TODAY
    ).outlooks[0]
    wide = stats.lognorm(0.5, scale=150.0)
    assert shown.rate_low_ml_per_day == pytest.approx(wide.ppf(0.1), rel=0.05)
    assert shown.rate_high_ml_per_day == pytest.approx(wide.ppf(0.9), rel=0.05)


def test_weight_passes_from_the_starting_expectation_to_the_record() -> None:
    weights = [
        make_plan(make_household(sessions=sessions_every(2, count, 300), settings=QUICK), TODAY)
        .outlooks[0]
        .record_weight
        for count in (1, 3, 8, 20)
    ]
    assert weights == sorted(weights)
    assert weights[0] == pytest.approx(0.0, abs=0.05)
    assert weights[-1] > 0.9


def test_kits_left_start_at_the_shelf_and_only_fall() -> None:
    home = make_household(catheter={"bottle_code": BOTTLE}, ledger=stocked(9, 3), settings=QUICK)
    (shelf,) = make_plan(home, TODAY).shelves
    left = shelf.kits_left
    assert left.mean[0] <= 9.0
    assert np.all(np.diff(left.mean) <= 1e-6)
    assert all(low <= high for low, high in zip(left.low, left.high, strict=True))
    assert left.low[-1] == 0
    assert shelf.usable_kits == 9
    assert shelf.usable_bottles == 3
