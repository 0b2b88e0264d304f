"""What sessions teach about the rate of accumulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner import assumptions, learning
from planner.dates import end_of_day
from planner.household import Catheter, ClinicalGroup, Household, Pause, Site
from planner.learning import learn_rate
from planner.sessions import BottleUse, Session, StopReason
from planner.volume import (
    LEARNING_STEP,
    RateKnowledge,
    diffuse,
    noise_survival,
    seen_chances,
    session_limit_ml,
    volume_prior,
)
from tests.builders import (
    TODAY,
    day,
    every,
    make_catheter,
    make_household,
    make_session,
    moment,
    sessions_every,
)


def learned(
    *sessions: Session, catheter: Catheter | None = None, pauses: tuple[Pause, ...] = ()
) -> RateKnowledge:
    one = catheter or make_catheter()
    home: Household = make_household(sessions=sessions, catheters=(one,), pauses=pauses)
    return learn_rate(home, one, end_of_day(TODAY))


def median(found: RateKnowledge) -> float:
    return found.quantile_ml_per_day(0.5)


def test_without_a_record_the_starting_expectation_stands() -> None:
    found = learned()
    mean, sd = found.mean_and_sd()
    prior = assumptions.VOLUME_PRIORS[ClinicalGroup.HEART_KIDNEY_PLEURAL]
    assert mean == pytest.approx(prior.log_median, abs=1e-6)
    assert sd == pytest.approx(prior.between_sd, rel=0.01)
    assert found.learned_from == 0


def test_the_prescribers_figure_moves_the_start() -> None:
    expecting = make_catheter(expected_ml_per_day=700)
    assert volume_prior(expecting).median_ml_per_day == 700.0
    assert median(learned(catheter=expecting)) == pytest.approx(700.0, rel=0.01)


def test_an_unknown_group_is_wider_than_any_known_one() -> None:
    unknown = volume_prior(make_catheter(clinical_group=ClinicalGroup.UNKNOWN))
    assert all(unknown.between_sd >= one.between_sd for one in assumptions.VOLUME_PRIORS.values())


@pytest.mark.parametrize("ml", [60, 150, 300, 480])
def test_a_steady_record_is_believed(ml: int) -> None:
    found = learned(*sessions_every(2, 25, ml))
    assert median(found) == pytest.approx(ml / 2, rel=0.1)
    assert found.learned_from == 24


def test_one_wild_session_moves_little() -> None:
    steady = sessions_every(2, 15, 200)
    wild = (*steady[:-3], make_session(steady[-3].started_at, 500, 500), *steady[-2:])
    assert median(learned(*wild)) < 1.35 * median(learned(*steady))


def test_a_rising_record_is_followed() -> None:
    rising = [make_session(moment(-1 - 2 * n), round(150 * 1.06 ** (14 - n))) for n in range(15)]
    now = median(learned(*rising))
    assert now > 1.4 * median(learned(*sessions_every(2, 15, 150)))
    mean_of_all = sum(one.volume_ml for one in rising) / 15 / 2
    assert now > 1.1 * mean_of_all


def test_one_blocked_drain_moves_little_and_a_dry_month_a_lot() -> None:
    steady = sessions_every(2, 15, 300)
    blocked = (*steady[:-1], make_session(steady[-1].started_at, 0))
    wet = sessions_every(2, 15, 300, last=-31)
    dry = sessions_every(2, 15, 20)
    usual = median(learned(*steady))
    assert median(learned(*blocked)) > 0.85 * usual
    assert median(learned(*wet, *dry)) < 0.3 * usual


def test_stopped_at_once_for_pain_says_nothing() -> None:
    steady = sessions_every(2, 10, 300, last=-3)
    pain = make_session(moment(-1), 10, stop=StopReason.PAIN)
    assert median(learned(*steady, pain)) == pytest.approx(median(learned(*steady)), rel=0.02)


def test_days_away_hide_the_gap() -> None:
    before = sessions_every(2, 8, 300, last=-20)
    after = make_session(moment(-1), 40)
    stay = Pause(starts_on=day(-19), ends_on=day(-2))
    assert learned(*before, after, pauses=(stay,)).learned_from == 7
    assert learned(*before, after).learned_from == 8


def test_fluid_left_behind_is_expected_next_time() -> None:
    stopped = sessions_every(2, 8, 500, stop=StopReason.BOTTLE_FULL)
    ran_dry = sessions_every(2, 8, 500)
    held = learned(*stopped)
    assert float((held.weights * held.carry_ml).sum()) > 50.0
    assert not learned(*ran_dry).carry_ml.any()


def test_a_catheter_learns_from_its_own_sessions_only() -> None:
    left = make_catheter(id="left", label="left")
    others = sessions_every(2, 10, 480)
    home = make_household(catheters=(make_catheter(), left), sessions=others)
    untouched = learn_rate(home, left, end_of_day(TODAY))
    assert untouched.learned_from == 0


def test_the_session_limit_is_the_prescribers_or_common_practice() -> None:
    assert session_limit_ml(make_catheter(), TODAY) == 1000
    assert session_limit_ml(make_catheter(site=Site.ABDOMEN), TODAY) == 2000
    own = make_catheter(regimens=(every(2), every(2, starts_on=day(3), session_limit_ml=700)))
    assert (session_limit_ml(own, day(2)), session_limit_ml(own, day(3))) == (1000, 700)


def test_spreading_keeps_mass_mean_and_adds_variance() -> None:
    weights = np.zeros(201)
    weights[100] = 1.0
    at = 0.04 * (np.arange(201) - 100)
    for sd in (0.01, 0.04, 0.2):
        spread = diffuse(weights, sd, 0.04)
        assert spread.sum() == pytest.approx(1.0)
        assert float(spread @ at) == pytest.approx(0.0, abs=1e-12)
        assert math.sqrt(float(spread @ at**2)) == pytest.approx(sd, rel=1e-6)
        assert spread.min() >= 0.0


def test_sessions_worked_out_together_say_the_same_as_one_by_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    dice = np.random.default_rng(4)
    volumes = dice.integers(0, 500, 30)  # some dry, some that leave fluid behind
    stops = dice.choice(np.array([StopReason.RAN_DRY, StopReason.PAIN]), 30, p=(0.8, 0.2))
    sessions = tuple(
        make_session(moment(-60 + 2 * n), int(ml), stop=StopReason(stop))
        for n, (ml, stop) in enumerate(zip(volumes, stops, strict=True))
    )
    home = make_household(sessions=sessions)
    together = learn_rate(home, home.catheters[0], end_of_day(TODAY))
    monkeypatch.setattr(learning, "_AT_ONCE", 1)
    one_by_one = learn_rate(home, home.catheters[0], end_of_day(TODAY))
    assert np.abs(together.weights - one_by_one.weights).max() < 1e-15
    assert np.array_equal(together.carry_ml, one_by_one.carry_ml)
    assert together.learned_from == one_by_one.learned_from == 29


def test_compiled_and_plain_likelihoods_are_the_same() -> None:
    compiled = pytest.importorskip("planner.compiled_learning", reason="it needs numba")
    offsets = LEARNING_STEP * np.arange(-120, 121, dtype=np.float64)
    spreads = np.array([0.15, 0.3, 0.5, 0.9])
    far_out = np.array([[-30.0, -4.79, -4.8], [30.0, 4.82, 0.0], [0.02, -0.02, 0.013]])
    middles = np.concatenate([far_out, np.random.default_rng(2).normal(0.0, 2.0, (40, 3))])
    plain = seen_chances(middles, offsets, spreads)
    found = compiled.seen_chances(middles, offsets, spreads)
    assert plain.max() > 1.0
    assert np.abs(found - plain).max() < 1e-12


def test_the_compiled_likelihoods_are_the_ones_in_use() -> None:
    compiled = pytest.importorskip("planner.compiled_learning", reason="it needs numba")
    assert vars(learning)["seen_chances"] is compiled.seen_chances


def test_noise_is_a_distribution_with_heavier_tails_than_the_normal() -> None:
    z = np.linspace(-3.0, 3.0, 301)
    survival = noise_survival(z, np.asarray(0.4))
    assert np.all(np.diff(survival) <= 0.0)
    assert noise_survival(np.array([0.0]), np.asarray(0.4))[0] == pytest.approx(0.5)
    assert noise_survival(np.array([1.6]), np.asarray(0.4))[0] > 10 * 3.2e-5


def test_volumes_are_summed_over_bottles_lost_ones_included() -> None:
    uses = (BottleUse(volume_ml=100), BottleUse(volume_ml=200))
    one_bottle = sessions_every(2, 8, 300)
    split = tuple(make_session(one.started_at, bottles=uses) for one in one_bottle)
    assert median(learned(*split)) == median(learned(*one_bottle))
