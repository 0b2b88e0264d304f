"""How long planning takes, as ratios within one run. Nothing here is asserted.

Processor time of this process is measured, so that neighbours on the machine count for little.
A thousand households are what `HOUSEHOLDS` of them took, times what is missing.
"""

from __future__ import annotations

import json
import math
import resource
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest

from planner import demand, joint
from planner.chain import CatheterChain
from planner.demand import StockPath, follow, run_out_of
from planner.household import Household
from planner.normal import Floats
from planner.outlook import forecast_shelves
from planner.plan import make_plan, make_plans
from tests.benchmarks.machine import limits_of_the_machine
from tests.builders import BOTTLE, TODAY, make_household, make_session, moment, stocked
from tests.oracles.cases import CASES, Case
from tests.oracles.simulate import REFERENCE, Inputs, Lot, simulate

PATHS = 10_000
HOUSEHOLDS = 200
SIMULATED = 4
PLAIN = 4
SCALED_TO = 1_000
HORIZON_DAYS = 90
KITS, BOTTLES = 20, 10
ROUNDS = 3


def seconds(action: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The fastest of a few rounds. [s of processor time]"""
    best = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        action()
        best = min(best, time.process_time() - began)
    return best


def household(number: int = 0, sessions: int = 40, horizon_days: int = HORIZON_DAYS) -> Household:
    """A usual household: forty sessions every other day, kits and loose bottles."""
    dice = np.random.default_rng(number)
    volumes = np.exp(dice.normal(math.log(430.0), 0.3, sessions)).clip(20, 990).astype(int)
    return make_household(
        id=f"home-{number}",
        catheter={"bottle_code": BOTTLE},
        sessions=tuple(
            make_session(moment(-1 - 2 * (sessions - 1 - n)), *in_bottles(int(ml)))
            for n, ml in enumerate(volumes)
        ),
        ledger=stocked(KITS, BOTTLES),
        settings={"horizon_days": horizon_days},
    )


def in_bottles(volume_ml: int) -> tuple[int, ...]:
    return (volume_ml,) if volume_ml <= 500 else (500, volume_ml - 500)


def households(count: int) -> Iterator[Household]:
    return (household(number) for number in range(count))


def inputs(home: Household) -> Inputs:
    case = Case(household=home, kits=(Lot(units=KITS),), bottles=(Lot(units=BOTTLES),))
    return case.inputs()


SHELF = StockPath(kits=KITS, bottles=BOTTLES)


def learned(home: Household) -> CatheterChain:
    (shelf,) = forecast_shelves(home, TODAY, HORIZON_DAYS)
    return shelf.catheters[0].chain


def use_and_run_out(home: Household) -> None:
    follow(learned(home), [SHELF])


def steps() -> dict[str, Callable[..., object]]:
    """The plain steps, and the compiled ones where they are installed."""
    found: dict[str, Callable[..., object]] = {"plain": joint.step_through}
    try:
        from planner import compiled
    except ImportError:
        return found
    return found | {"compiled": compiled.step_through}


def line(name: str, took: float, base: float) -> None:
    print(f"{name:52}{took * SCALED_TO:10.1f} s{took / base:10.3f}")


def test_many_households_against_a_monte_carlo_of_the_same_model(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    makers = steps()
    for maker in makers.values():  # compiled and read from disk before anything is measured
        monkeypatch.setattr(demand, "step_through", maker)
        make_plan(household(), TODAY)
    paths = seconds(
        lambda: [simulate(inputs(home), paths=PATHS, seed=1) for home in households(SIMULATED)], 1
    )
    paths /= SIMULATED
    print(f"\n{HORIZON_DAYS} days, 40 sessions, kits and loose bottles; processor time for")
    print(f"{SCALED_TO:,} households, scaled from fewer, and ratio to {PATHS:,} simulated paths")
    line(f"simulated paths up to the run-out ({SIMULATED} households)", paths, paths)
    to_the_end = seconds(
        lambda: [
            simulate(replace(inputs(home), kits=(Lot(units=1_000),)), paths=PATHS, seed=1)
            for home in households(SIMULATED)
        ],
        1,
    )
    line(f"simulated paths to the horizon ({SIMULATED})", to_the_end / SIMULATED, paths)
    took = paths
    for name, maker in makers.items():
        count = PLAIN if name == "plain" else HOUSEHOLDS
        monkeypatch.setattr(demand, "step_through", maker)
        chains = [learned(home) for home in households(PLAIN)]
        alone = seconds(lambda chains=chains: [run_out_of(one, SHELF) for one in chains], 1)  # type: ignore[misc]
        line(f"run-out from what is learned, {name} ({PLAIN})", alone / PLAIN, paths)
        began = time.process_time()
        for home in households(PLAIN):
            use_and_run_out(home)
        alone = time.process_time() - began
        line(f"learning, use and run-out, {name} ({PLAIN})", alone / PLAIN, paths)
        homes = list(households(count))
        began = time.process_time()
        for _ in make_plans(homes, TODAY):
            pass
        took = (time.process_time() - began) / count
        line(f"whole plans in a batch, {name} steps ({count})", took, paths)
    home = household()
    front_door = seconds(lambda: make_plan(home, TODAY), 5)
    print(f"one household through the front door, warm: {front_door * 1000:.1f} ms, ", end="")
    print(f"{front_door / took:.2f} of one in the batch")


def test_one_batch_with_one_and_two_workers() -> None:
    homes = list(households(40))
    took = {}
    for workers in (1, 2):
        began = time.perf_counter()
        for _ in make_plans(homes, TODAY, workers=workers):
            pass
        took[workers] = time.perf_counter() - began
    print(f"\n40 households, two workers against one, by the wall clock: {took[2] / took[1]:.2f}")


def test_error_against_a_million_paths(monkeypatch: pytest.MonkeyPatch) -> None:
    known = json.loads(REFERENCE.read_text(encoding="utf-8"))["run_out_by_day"]
    names = list(CASES)[:4]
    print(f"\nLargest error of a run-out chance against a million paths, {len(names)} cases")
    for maker_name, maker in steps().items():
        monkeypatch.setattr(demand, "step_through", maker)
        off = [np.abs(np.subtract(CASES[name].by_engine(), known[name])).max() for name in names]
        print(f"{maker_name + ' steps':24}{max(off):10.5f}")
    off = [np.abs(CASES[name].simulate(PATHS, seed=1) - known[name]).max() for name in names]
    print(f"{f'{PATHS:,} paths':24}{max(off):10.5f}")


def test_steps_against_the_limit_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    limits = limits_of_the_machine()
    if limits is None:
        print("\nthe limit of the machine is measured with numba, which is not installed")
        return
    count = [0]
    advance = joint.JointUse._advance

    def counted(self: joint.JointUse, chance: Floats, chances: Sequence[Floats]) -> None:
        outcomes = chances[0].shape[-2] + 1  # and one for days without a session
        count[0] += self._mass.size * outcomes
        advance(self, chance, chances)

    home = household()
    in_use = vars(demand)["step_through"]
    with monkeypatch.context() as patch:
        patch.setattr(joint.JointUse, "_advance", counted)
        patch.setattr(demand, "step_through", joint.step_through)
        use_and_run_out(home)
    chain = learned(home)
    monkeypatch.setattr(demand, "step_through", in_use)
    took = seconds(lambda: follow(chain, [SHELF]), 5)
    rate = 2.0 * count[0] / took
    print(
        "\nMultiply-adds that the plain steps need by their formula, done so fast by the steps in"
    )
    print("use, which leave out what is zero; in percent of what one core was measured to do here")
    for name, limit in limits.items():
        print(f"{name:40}{limit / 1e9:8.1f} Gflop/s{rate / limit:8.1%}")


def test_time_by_horizon_history_and_number() -> None:
    print("\nWhole plan, ratio to 40 sessions and 90 days ahead (processor time)")
    pairs = [(40, days) for days in (90, 30, 60, 120, 180)]
    pairs += [(sessions, HORIZON_DAYS) for sessions in (0, 10, 100, 200)]
    base = 0.0
    for sessions, days in pairs:
        home = household(sessions=sessions, horizon_days=days)
        took = seconds(lambda home=home: make_plan(home, TODAY))  # type: ignore[misc]
        base = base or took
        print(
            f"{sessions:4} sessions, {days:4} days ahead: {took * 1000:7.1f} ms{took / base:7.2f}"
        )
    print("A batch, each household as a ratio to the smallest batch, and memory of the process")
    first = 0.0
    for count in (10, 40, 100):
        began = time.process_time()
        for _ in make_plans(households(count), TODAY):
            pass
        took = (time.process_time() - began) / count
        first = first or took
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{count:6} households: {took / first:6.2f}, most memory so far {most:7.0f} MiB")
