"""The compiled steps against the plain ones: the same numbers, on every kind of shelf."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from planner import demand, joint
from planner.normal import Floats
from planner.outlook import forecast_shelves
from planner.plan import make_plan
from planner.regimen import Regimen
from planner.results import Plan
from tests.builders import BOTTLE, TODAY, as_needed, every, make_household, sessions_every
from tests.oracles.cases import BOUNDED_CASES, CASES, SHARED_CASES

compiled = pytest.importorskip("planner.compiled", reason="the compiled steps need numba")


CLOSE = 2e-6
"""The compiled steps are in single precision and leave out a little less."""


ALL = {**CASES, **SHARED_CASES, **BOUNDED_CASES}


@pytest.mark.parametrize("name", ALL)
def test_compiled_and_plain_steps_give_the_same_plan(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    household = ALL[name].household
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


def test_the_plain_steps_stand_in_where_memory_does_not_suffice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(_count: int) -> None:
        raise MemoryError

    usual = CASES["kits only"].by_engine()
    monkeypatch.setattr(compiled, "line_of", refuse)
    assert CASES["kits only"].by_engine() == pytest.approx(usual, abs=CLOSE)


@pytest.mark.parametrize("regimen", [every(2), as_needed()])
def test_counts_known_together_are_the_same(
    regimen: Regimen, monkeypatch: pytest.MonkeyPatch
) -> None:
    days = 40
    home = make_household(
        catheter={"bottle_code": BOTTLE, "regimens": (regimen,)},
        sessions=sessions_every(2, 10, 430, 500, 380, 470),
    )
    one = forecast_shelves(home, TODAY, days)[0].catheters[0].chain
    asked: dict[str, dict[str, Any]] = {
        "together": {"sessions": 9, "further": 11},
        "kits noted": {
            "sessions": 7,
            "further": 0,
            "mark": joint.Mark(day=9, below=8, of_kits=True),
        },
        "few noted": {
            "sessions": 7,
            "further": 0,
            "mark": joint.Mark(day=16, below=2, of_kits=True),
        },
        "sessions noted": {
            "sessions": 7,
            "further": 9,
            "mark": joint.Mark(day=9, below=8, of_kits=True),
        },
        "bottles noted": {
            "sessions": 9,
            "further": 7,
            "mark": joint.Mark(day=9, below=6, of_kits=False),
        },
    }
    found: dict[str, list[Floats]] = {}
    for steps in (joint.step_through, compiled.step_through):
        monkeypatch.setattr(demand, "step_through", steps)
        for name, counts in asked.items():
            found.setdefault(name, []).append(demand.use_together(one, (), **counts))
    for name, (plain, fast) in found.items():
        assert np.abs(plain - fast).max() < CLOSE, name
        assert plain[5].sum() > 0.5, name
    # Some days after it, what was noted has the law that it had on that evening.
    alone = demand.follow(one).use
    noted = found["kits noted"][0][12].sum(axis=(1, 2))
    assert noted == pytest.approx(alone.bottles[9, :8], abs=1e-3)
    noted = found["sessions noted"][0][12].sum(axis=(1, 2))
    assert noted == pytest.approx(alone.sessions[9, :8], abs=1e-3)
    together = found["together"][0][:, 0]
    assert together.sum(axis=2)[:8, :6] == pytest.approx(alone.sessions[:8, :6], abs=CLOSE)
    noted = found["bottles noted"][0][12].sum(axis=(1, 2))
    assert noted == pytest.approx(together[9].sum(axis=0)[:6], abs=1e-3)


def test_compiled_steps_are_the_ones_in_use() -> None:
    assert vars(demand)["step_through"] is compiled.step_through
