"""A stored plan reads back exactly as it was."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from app.plan_codec import change_assumptions, plan_format, plan_from_json, plan_to_json
from planner import assumptions
from planner.plan import make_plan
from planner.results import Fact, Plan, Reason, ReasonCode
from planner.scenario import read_scenario
from tests.app.data_builders import TODAY, make_household

SCENARIOS = sorted(
    path for path in Path("seed_scenarios").glob("*.toml") if path.stem != "agency_forty"
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(make_household(), TODAY)


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_the_plan_of_every_scenario_reads_back_equal(path: Path) -> None:
    scenario = read_scenario(path)
    whole = scenario.households[0]
    household = replace(whole, settings=replace(whole.settings, horizon_days=45))
    made = make_plan(household, scenario.as_of)
    again = plan_from_json(plan_to_json(made))
    assert again == made
    assert repr(again) == repr(made)  # equal values of equal types, 1 and 1.0 told apart


def test_facts_of_every_type_keep_their_type(plan: Plan) -> None:
    facts: dict[str, Fact] = {
        "n": 1,
        "x": 0.1,
        "on": date(2026, 3, 4),
        "text": "2026-03-04",
        "none": None,
    }
    reason = Reason(code=ReasonCode.AWAY, facts=facts)
    again = plan_from_json(plan_to_json(replace(plan, reasons=(reason,))))
    assert repr(again.reasons) == repr((reason,))


def test_a_lone_day_among_the_facts_is_not_taken_for_a_date(plan: Plan) -> None:
    reason = Reason(code=ReasonCode.AWAY, facts={"day": date(2026, 3, 4)})
    assert plan_from_json(plan_to_json(replace(plan, reasons=(reason,)))).reasons == (reason,)


def test_a_plan_with_a_number_that_json_lacks_is_not_written(plan: Plan) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        plan_to_json(replace(plan, protection=math.nan))


@pytest.mark.parametrize(
    "damage",
    [
        lambda content: "{",
        lambda content: "[]",
        lambda content: json.dumps(json.loads(content) | {"urgency": "asleep"}),
        lambda content: json.dumps(json.loads(content) | {"unknown": 1}),
        lambda content: json.dumps({"household_id": "home"}),
    ],
)
def test_a_damaged_plan_is_refused(damage: Callable[[str], str], plan: Plan) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  (several kinds of damage, one kind of error)
        plan_from_json(damage(plan_to_json(plan)))


def test_own_assumptions_give_stored_plans_a_number_of_their_own() -> None:
    usual, rate = plan_format(), assumptions.DRY_CHANCE
    change_assumptions({"dry_chance": rate + 0.01})
    try:
        assert plan_format() != usual
    finally:
        change_assumptions({"dry_chance": rate})
    assert plan_format() == usual
