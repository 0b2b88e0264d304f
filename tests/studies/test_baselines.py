"""The plain methods against published examples and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from tests.studies import baselines, use_scores
from tests.studies.baselines import METHODS, Known, known_of
from tests.studies.rows import Row

SPORADIC = (0, 0, 4, 0, 5, 0, 0, 0, 3, 0, 2, 0)


def known(daily: tuple[int, ...] = (), **changes: object) -> Known:
    whole = {"daily": daily, "sessions": (), "since_last": 0, "gap_days": 2.0, "seed": 1}
    return Known(**whole | changes)  # type: ignore[arg-type]


def test_methods_for_sporadic_use_agree_with_the_reference_library() -> None:
    """Reference library: statsforecast 2.1.1, smoothing 0.1 throughout, run once.

    CrostonClassic, CrostonSBA, TSB and SimpleExponentialSmoothing.
    """
    assert baselines.croston_mean(SPORADIC) == pytest.approx(1.3031969749054657)
    assert baselines.tsb_mean(SPORADIC) == pytest.approx(0.9457473621699003)
    assert baselines.smooth_level(SPORADIC) == pytest.approx(0.7928166456000001)
    found = METHODS["Croston, corrected"](known(SPORADIC), 10)
    assert found @ np.arange(len(found)) == pytest.approx(12.380371261601923)


def test_smoothing_by_hand() -> None:
    """2, then 2 + 0.1 (5 - 2) = 2.3, then 2.3 + 0.1 (0 - 2.3) = 2.07."""
    assert baselines.smooth_level((2, 5, 0)) == pytest.approx(2.07)


def test_smoothed_chance_times_size_by_hand() -> None:
    """Chance 1, 0.9, 0.91; size 2, then 2 + 0.1 (4 - 2) = 2.2."""
    assert baselines.tsb_mean((2, 0, 4)) == pytest.approx(0.91 * 2.2)


@pytest.mark.parametrize("mean", [0.0, 0.3, 7.0, 140.0])
def test_poisson_probabilities(mean: float) -> None:
    """Reference library: scipy.stats.poisson."""
    found = baselines.poisson(mean)
    assert found == pytest.approx(stats.poisson.pmf(np.arange(len(found)), mean), abs=1e-11)


def test_prescription_splits_half_a_session() -> None:
    assert METHODS["prescribed count"](known(), 7) == pytest.approx([0, 0, 0, 0.5, 0.5])
    assert METHODS["prescribed count"](known(gap_days=7 / 3), 7)[3] == pytest.approx(1.0)


def test_equal_sessions_drawn_again_are_certain() -> None:
    regular = known((2, 0, 2, 0, 2), sessions=((2, 2),) * 3)
    assert METHODS["sessions drawn again"](regular, 7) == pytest.approx([0] * 6 + [1.0])


@pytest.mark.parametrize("is_evening", [True, False])
def test_days_on_record_end_with_the_last_one_that_is_over(is_evening: bool) -> None:
    last = 0 if is_evening else 1
    found = known_of(
        [(last + 5, 1), (last + 2, 2), (last, 1)], is_evening=is_evening, gap_days=2.0, seed=1
    )
    assert found.daily == (0, 0, 2, 0, 1)
    assert found.sessions == ((3, 2), (2, 1))
    assert found.since_last == 0


def test_without_a_record_every_method_goes_by_the_prescription() -> None:
    for name, method in METHODS.items():
        found = method(known(), 28)
        assert found @ np.arange(len(found)) == pytest.approx(14.0), name


def test_the_better_forecast_wins_the_comparison() -> None:
    """Fourteen households that use two bottles a day, forecast as certain."""
    sure = {"7": (0.0,) * 14 + (1.0,), "28": (0.0,) * 56 + (1.0,)}
    rows = [
        Row(
            number=n,
            group="unknown chest",
            regimen="daily",
            asked=3,
            recorded=3,
            by_day=(1.0,),
            run_out=0,
            bottles=sure,
            used={"7": 14, "28": 56},
            past=((3, 2), (2, 2), (1, 2)),
            gap_days=1.0,
            is_evening=False,
        )
        for n in range(14)
    ]
    table = use_scores.report(rows)["7 days, all"]
    assert table["planner"]["crps"] == 0.0
    assert table["sessions drawn again"]["crps"] == 0.0
    poisson_14 = table["last 14 days"]["crps"]
    assert poisson_14 == pytest.approx(table["TSB"]["crps"])
    assert table["prescribed count"]["crps"] == pytest.approx(7.0)
    assert table["prescribed count"]["gain_95"] == (7.0, 7.0)
