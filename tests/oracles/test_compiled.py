"""The compiled steps against the plain ones: the same numbers, on every kind of shelf."""

from __future__ import annotations

import numpy as np
import pytest

from planner import demand, joint
from planner.plan import make_plan
from planner.results import Plan
from tests.builders import TODAY
from tests.oracles.cases import CASES, TWO_DELIVERIES

compiled = pytest.importorskip("planner.compiled", reason="the compiled steps need numba")


CLOSE = 2e-6
"""The compiled steps are in single precision and leave out a little less."""


@pytest.mark.parametrize("name", [*CASES, "two deliveries"])
def test_compiled_and_plain_steps_give_the_same_plan(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    household = CASES.get(name, TWO_DELIVERIES).household
    plans: list[Plan] = []
    for steps in (joint.step_through, compiled.step_through):
        monkeypatch.setattr(demand, "step_through", steps)
        plans.append(make_plan(household, TODAY))
    plain, fast = plans
    for left, right in (
        (plain.run_out, fast.run_out),
        (plain.run_out_with_coming, fast.run_out_with_coming),
    ):
        assert np.abs(np.subtract(left.chance_by_day, right.chance_by_day)).max() < CLOSE
        assert left.expected_on == right.expected_on
        assert left.cautious_on == right.cautious_on
    assert plain.order.order_by_on == fast.order.order_by_on
    assert plain.order.lines == fast.order.lines
    assert plain.order.chance_short == pytest.approx(fast.order.chance_short, abs=CLOSE)
    assert [one.code for one in plain.reasons] == [one.code for one in fast.reasons]


def test_compiled_steps_are_the_ones_in_use() -> None:
    assert vars(demand)["step_through"] is compiled.step_through
