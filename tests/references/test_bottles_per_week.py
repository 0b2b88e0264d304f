"""Bottles are the sum of ceilings: the engine against a plain simulation of the same prior."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner import assumptions
from planner.chain import BottleSizes, build_chain
from planner.dates import end_of_day
from planner.demand import follow
from planner.household import ClinicalGroup
from planner.learning import learn_rate
from planner.timing import session_timing
from tests.builders import TODAY, make_catheter, make_household, on_weekdays

DAYS = 28


def test_malignant_effusion_on_three_drains_a_week_needs_nearly_four_bottles(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """3.84 bottles of 500 mL a week in the first four weeks, mean over patients.

    Output of a simulation of the same starting expectation by other hands (20,000 patients,
    limit 1 L): a check of the arithmetic, not evidence about patients. It took the spread
    between sessions as known and every prescribed day as kept, as is done here; it let the
    rate fade, which the engine is told as well. Mean volume over capacity gives 3.0.
    """
    monkeypatch.setattr(assumptions, "SESSION_SD_LOG_SD", 0.0)
    monkeypatch.setattr(assumptions, "OUTLIER_CHANCE", 0.0)
    monkeypatch.setattr(assumptions, "DRY_CHANCE", 0.0)
    monkeypatch.setattr(assumptions, "RATE_WALK_SD_PER_SQRT_DAY", 1e-6)
    monkeypatch.setattr(assumptions, "WEEKLY_DRIFT_SD", 0.0)
    monkeypatch.setattr(assumptions, "KEPT_CHANCE", 1.0)
    monkeypatch.setattr(assumptions, "EXTRA_CHANCE", 0.0)
    catheter = make_catheter(
        clinical_group=ClinicalGroup.MALIGNANT_PLEURAL,
        regimens=(on_weekdays("MO", "WE", "FR"),),
    )
    home = make_household(catheters=(catheter,), sessions=())
    timing = session_timing(home, catheter, TODAY, DAYS)
    timing = dataclasses.replace(timing, start_age_days=2)
    sizes = BottleSizes(kit_ml=500, loose_ml=500, limits_ml=(1000,) * DAYS)
    knowledge = learn_rate(home, catheter, end_of_day(TODAY))
    use = follow(build_chain(knowledge, timing, sizes, TODAY, 0.0)).use
    a_week = float(use.bottles[-1] @ np.arange(use.bottles.shape[1])) / 4.0
    sessions = float(use.sessions[-1] @ np.arange(use.sessions.shape[1]))
    assert sessions == pytest.approx(12.0)
    assert a_week == pytest.approx(3.84, abs=0.08)
    assert a_week > 1.2 * 3.0
