"""The engine's run-out against the same model played out path by path."""

from __future__ import annotations

import json

import numpy as np
import pytest

from planner import chain, volume
from tests.oracles.cases import CASES
from tests.oracles.simulate import REFERENCE, REFERENCE_PATHS

RECORD = json.loads(REFERENCE.read_text(encoding="utf-8"))
WITHIN = 0.003
"""Largest difference allowed on any day; a million paths are off by 0.0015 at most."""


def test_every_case_has_reference_values() -> None:
    assert RECORD["paths"] == REFERENCE_PATHS
    assert set(RECORD["run_out_by_day"]) == set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_engine_agrees_with_a_million_paths(name: str) -> None:
    found = np.array(CASES[name].by_engine())
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


@pytest.mark.parametrize(
    ("name", "finer"),
    [
        ("kits only", 2),
        ("kits and loose bottles", 2),
        ("fixed weekdays", 2),
        ("drained today", 4),
        ("kits only, volumes near one bottle", 4),
    ],
)
def test_a_finer_grid_changes_next_to_nothing(
    name: str, finer: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = np.array(CASES[name].by_engine())
    monkeypatch.setattr(volume, "LEARNING_STEP", volume.LEARNING_STEP / finer)
    monkeypatch.setattr(chain, "GRID_STEP", chain.GRID_STEP / finer)
    refined = np.array(CASES[name].by_engine())
    assert np.abs(usual - refined).max() < 1e-3
