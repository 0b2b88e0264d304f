"""Many households at once: the same plans, in order, taken as they are asked for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from planner.errors import InvalidHousehold
from planner.household import Household
from planner.plan import make_plan, make_plans
from planner.results import Plan
from planner.scenario import read_scenario
from tests.builders import TODAY, make_household, make_session, moment

AGENCY = Path(__file__).parents[2] / "seed_scenarios" / "agency_forty.toml"
QUICK = {"horizon_days": 14, "cover_days": 7}


def same(one: Plan, other: Plan) -> bool:
    """Equal facts, and chances equal to 1e-9."""
    chances = zip(
        (*one.run_out.chance_by_day, *one.run_out_with_coming.chance_by_day),
        (*other.run_out.chance_by_day, *other.run_out_with_coming.chance_by_day),
        strict=True,
    )
    return (
        one.household_id == other.household_id
        and one.order.lines == other.order.lines
        and one.order.order_by_on == other.order.order_by_on
        and one.run_out.expected_on == other.run_out.expected_on
        and one.run_out.cautious_on == other.run_out.cautious_on
        and [reason.code for reason in one.reasons] == [reason.code for reason in other.reasons]
        and all(abs(a - b) < 1e-9 for a, b in chances)
    )


def test_forty_households_in_any_order_and_with_any_number_of_workers() -> None:
    file = read_scenario(AGENCY)
    one_by_one = {home.id: make_plan(home, file.as_of) for home in file.households}
    assert len(one_by_one) == 40
    backwards = file.households[::-1]
    for plan, home in zip(make_plans(backwards, file.as_of, workers=2), backwards, strict=True):
        assert plan.household_id == home.id
        assert same(plan, one_by_one[home.id])


@pytest.mark.parametrize(("workers", "ahead"), [(1, 0), (3, 6)])
def test_households_are_taken_only_as_plans_are_asked_for(workers: int, ahead: int) -> None:
    taken: list[str] = []

    def homes() -> Iterator[Household]:
        for n in range(50):
            taken.append(f"home-{n}")
            yield make_household(id=taken[-1], settings=QUICK)

    plans = make_plans(homes(), TODAY, workers=workers)
    assert taken == []
    for asked in range(1, 5):
        assert next(plans).household_id == f"home-{asked - 1}"
        assert len(taken) == asked + ahead


@pytest.mark.parametrize("workers", [1, 2])
def test_a_record_of_the_future_is_refused_in_its_turn(workers: int) -> None:
    good = make_household(settings=QUICK)
    bad = make_household(settings=QUICK, sessions=(make_session(moment(2), 300),))
    plans = make_plans([good, bad, good], TODAY, workers=workers)
    assert next(plans) == make_plan(good, TODAY)
    with pytest.raises(InvalidHousehold):
        next(plans)


def test_no_plan_without_a_worker() -> None:
    with pytest.raises(ValueError, match="workers is 0"):
        make_plans([], TODAY, workers=0)
