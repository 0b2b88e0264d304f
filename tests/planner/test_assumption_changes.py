"""Assumptions replaced by an installation's own."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import pytest

from planner import assumptions
from planner.assumption_changes import BOUNDS, as_toml, change, fingerprint
from planner.errors import InvalidValue
from planner.household import ClinicalGroup
from planner.plan import make_plan
from tests.builders import TODAY, make_household, sessions_every, stocked


@pytest.fixture(autouse=True)
def put_back() -> Iterator[None]:
    scalars = {name: getattr(assumptions, name.upper()) for name in BOUNDS}
    priors, ends = dict(assumptions.VOLUME_PRIORS), dict(assumptions.END_CHANCE_PER_DAY)
    yield
    for name, value in scalars.items():
        setattr(assumptions, name.upper(), value)
    assumptions.VOLUME_PRIORS.update(priors)
    assumptions.END_CHANCE_PER_DAY.update(ends)


def test_a_changed_assumption_changes_the_plan() -> None:
    home = make_household(sessions=sessions_every(2, 6), ledger=stocked(12))
    usual = make_plan(home, TODAY)
    change({"loss_chance": 0.2, "loss_weight": 500})
    lossy = make_plan(home, TODAY)
    assert usual.run_out.expected_on is not None
    assert lossy.run_out.expected_on is not None
    assert lossy.run_out.expected_on < usual.run_out.expected_on


def test_the_starting_expectation_of_a_group_can_be_changed() -> None:
    change({"volume": {"malignant-pleural": {"median_ml_per_day": 300}}})
    prior = assumptions.VOLUME_PRIORS[ClinicalGroup.MALIGNANT_PLEURAL]
    assert prior.median_ml_per_day == 300
    assert prior.between_sd == 0.8
    change({"end_chance_per_day": {"malignant-pleural": 0.01}})
    assert assumptions.END_CHANCE_PER_DAY[ClinicalGroup.MALIGNANT_PLEURAL] == 0.01


def test_the_list_reads_back_as_it_is() -> None:
    before = as_toml()
    change(tomllib.loads(before))
    assert as_toml() == before
    listed = tomllib.loads(before)
    assert set(BOUNDS) <= set(listed)


def test_another_value_is_another_fingerprint() -> None:
    before = fingerprint()
    change({"dry_chance": 0.03})
    assert fingerprint() != before


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        ({"dry_chance": 0.7}, "dry_chance is 0.7: give 0 to 0.5"),
        ({"dry_chance": "often"}, "dry_chance is often: give 0 to 0.5"),
        ({"dry": 0.1}, "dry is 0.1: change one of"),
        ({"volume": {"lungs": {}}}, "volume is lungs: use one of"),
        ({"volume": {"malignant-pleural": {"median": 1}}}, "volume.malignant-pleural.median is 1"),
        ({"end_chance_per_day": 0.1}, r"end_chance_per_day is 0.1: begin a line"),
    ],
)
def test_a_wrong_value_is_refused_and_nothing_changes(
    table: dict[str, object], sentence: str
) -> None:
    before = as_toml()
    with pytest.raises(InvalidValue, match=sentence):
        change({"jump_sd": 2.0, **table})
    assert as_toml() == before
