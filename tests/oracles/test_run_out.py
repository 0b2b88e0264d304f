"""The engine's run-out against the same model played out path by path."""

from __future__ import annotations

import json

import numpy as np
import pytest

from planner import chain, learning, volume
from planner.plan import make_plan
from planner.results import ReasonCode
from tests.builders import TODAY
from tests.oracles.cases import BOUNDED_CASES, CASES, SHARED_CASES
from tests.oracles.simulate import REFERENCE, REFERENCE_PATHS

RECORD = json.loads(REFERENCE.read_text(encoding="utf-8"))
WITHIN = 0.003
"""Largest difference allowed on any day; a million paths are off by 0.0015 at most."""

MOST_ABOVE = {
    "two catheters, two lots that expire": 0.11,
    "two catheters, loose bottles in transit": 0.05,
    "two catheters, kits that expire and goods in transit": 0.03,
    "two catheters, all together": 0.05,
}
"""How far each bound is above the truth on its worst day, a little more. [probability]"""


def test_every_case_has_reference_values() -> None:
    assert RECORD["paths"] == REFERENCE_PATHS
    assert set(RECORD["run_out_by_day"]) == {*CASES, *SHARED_CASES, *BOUNDED_CASES}


@pytest.mark.parametrize("name", [*CASES, *SHARED_CASES])
def test_engine_agrees_with_a_million_paths(name: str) -> None:
    found = np.array((CASES | SHARED_CASES)[name].by_engine())
    expected = np.array(RECORD["run_out_by_day"][name])
    assert expected.max() > 0.3, "the case must show a run-out"
    assert np.abs(found - expected).max() < WITHIN


@pytest.mark.parametrize("name", ["kits and loose bottles", "goods in transit", "as needed"])
def test_simulation_still_gives_its_reference_values(name: str) -> None:
    paths = 50_000
    found = CASES[name].simulate(paths, seed=7)
    expected = np.array(RECORD["run_out_by_day"][name])
    four_errors = 4.0 * 0.5 / np.sqrt(paths)
    assert np.abs(found - expected).max() < four_errors


@pytest.mark.parametrize("name", SHARED_CASES)
def test_what_is_exact_is_not_called_a_bound(name: str) -> None:
    reasons = make_plan(SHARED_CASES[name].household, TODAY).reasons
    assert ReasonCode.RISK_IS_UPPER_BOUND not in [one.code for one in reasons]


@pytest.mark.parametrize(("name", "most_above"), MOST_ABOVE.items())
def test_a_bound_is_never_below_a_million_paths_and_says_so(name: str, most_above: float) -> None:
    """A chance shown may be above the truth, at most by as much as is written here."""
    found = np.array(BOUNDED_CASES[name].by_engine())
    expected = np.array(RECORD["run_out_by_day"][name])
    assert expected.max() > 0.3, "the case must show a run-out"
    assert np.all(found > expected - WITHIN)
    assert (found - expected).max() < most_above
    reasons = make_plan(BOUNDED_CASES[name].household, TODAY).reasons
    assert ReasonCode.RISK_IS_UPPER_BOUND in [one.code for one in reasons]


@pytest.mark.parametrize(
    "name", ["kits only, volumes near one bottle", "drained today", "kits of two sizes"]
)
def test_a_grid_twenty_times_finer_changes_next_to_nothing(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Learning and forecast are refined; the usual grid is off by 2e-5 at most."""
    usual = np.array(CASES[name].by_engine())
    monkeypatch.setattr(learning, "LEARNING_STEP", volume.LEARNING_STEP / 20)
    monkeypatch.setattr(chain, "GRID_STEP", chain.GRID_STEP / 20)
    refined = np.array(CASES[name].by_engine())
    assert np.abs(usual - refined).max() < 5e-5


def test_doubt_about_the_spread_is_redrawn_and_matters_little() -> None:
    """The engine mixes the spread anew each session; kept for good it is off by this at most."""
    case = CASES["no record yet"]
    kept = case.simulate(100_000, seed=7, keeps_spread=True)
    assert np.abs(np.array(case.by_engine()) - kept).max() < 0.012
