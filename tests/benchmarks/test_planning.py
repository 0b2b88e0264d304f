"""How long planning takes, as ratios within one run. Nothing here is asserted."""

from __future__ import annotations

import time
from collections.abc import Callable

from planner.plan import make_plan
from tests.builders import TODAY, make_household, sessions_every, stocked
from tests.oracles.cases import CASES

PATHS = 10_000
ROUNDS = 3


def seconds(action: Callable[[], object]) -> float:
    """The fastest of a few rounds. [s]"""
    best = float("inf")
    for _ in range(ROUNDS):
        began = time.perf_counter()
        action()
        best = min(best, time.perf_counter() - began)
    return best


def test_engine_against_a_monte_carlo_of_the_same_model() -> None:
    print(f"\nRun-out distribution, engine against {PATHS:,} simulated paths of the same model")
    print(f"{'case':34}{'engine ms':>12}{'paths ms':>12}{'ratio':>8}")
    for name, case in CASES.items():
        engine = seconds(case.by_engine)
        paths = seconds(lambda case=case: case.simulate(PATHS, seed=1))  # type: ignore[misc]
        print(f"{name[:33]:34}{engine * 1000:12.0f}{paths * 1000:12.0f}{paths / engine:8.2f}")


def test_whole_plan_by_history_and_horizon() -> None:
    print("\nWhole plan, ratio to the first line")
    base = 0.0
    for sessions, horizon_days in ((10, 60), (40, 60), (90, 60), (40, 120), (40, 180)):
        household = make_household(
            sessions=sessions_every(2, sessions),
            ledger=stocked(20, 10),
            settings={"horizon_days": horizon_days},
        )
        took = seconds(lambda household=household: make_plan(household, TODAY))  # type: ignore[misc]
        base = base or took
        print(
            f"{sessions:4} sessions, {horizon_days:4} days ahead: "
            f"{took * 1000:7.0f} ms  {took / base:5.2f}"
        )
