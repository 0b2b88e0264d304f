"""Play households through their worlds and keep one line of JSON for each.

    python -m tests.studies.closed_loop.play --processes 2 --households 300
    python -m tests.studies.closed_loop.play --arms "plan 0.99 28" "rule 14 30"

Every arm plays the first household before any plays the second, so that a run which is stopped
early can be summed up. Lines already in the file are not played again. After a change of the
planner or of the worlds begin a new file with `--results`.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from planner.household import PlanSettings
from tests.studies.closed_loop.carers import AsPlanned, RuleOfThumb
from tests.studies.closed_loop.floor import foresight
from tests.studies.closed_loop.living import Carer, Life
from tests.studies.closed_loop.worlds import draw_world, with_express

RESULTS = Path(".data/studies/closed_loop.jsonl")
USUAL_HORIZON_DAYS = 30
"""A plan always looks one whole order cycle ahead; looking further changes no order."""

KINDS = ("plan", "express", "rhythm", "rule", "foresight")
ARMS = (
    "rule 14 30",
    "foresight 14",
    "foresight 18",
    "foresight 21",
    "foresight 25",
    "plan 0.998 10",
    "plan 0.998 12",
    "plan 0.998 14",
    "plan 0.99 28",
    "plan 0.99 10",
    "plan 0.99 14",
    "plan 0.995 10",
    "plan 0.999 10",
    "express 0.99 14",
    "rhythm 0.998 9",
)
"""What is played unless other arms are named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arm:
    """One way to order, by a name that tells it apart.

    Attributes:
        kind: "plan" orders as proposed, "express" as well where the supplier sends by express,
            "rhythm" as proposed but who uses more orders more often, "rule" by a rule of thumb,
            "foresight" knows what will be used.
        knobs: protection and cover days; protection and days at one unit a day; days of cover
            at which to reorder and to buy; days that an order lasts.
    """

    kind: str
    knobs: tuple[float, ...]

    @classmethod
    def named(cls, name: str) -> Arm:
        """The arm of a name such as "plan 0.99 28".

        Raises:
            ValueError: for a name that is none.
        """
        kind, *numbers = name.split()
        if kind not in KINDS or len(numbers) != (1 if kind == "foresight" else 2):
            raise ValueError(f"{name} is no arm: write for example {ARMS[0]}")
        return cls(kind=kind, knobs=tuple(map(float, numbers)))

    @property
    def name(self) -> str:
        """Its name."""
        return " ".join([self.kind, *(f"{one:g}" for one in self.knobs)])

    def settings(self) -> PlanSettings:
        """The household's settings; the rule does not read them."""
        if self.kind not in {"plan", "express", "rhythm"}:
            return PlanSettings()
        protection, days = self.knobs
        return PlanSettings(
            protection=protection,
            cover_days=28 if self.kind == "rhythm" else round(days),
            horizon_days=USUAL_HORIZON_DAYS,
        )

    def make(self) -> Carer:
        """A carer of this arm, for one household."""
        if self.kind == "rule":
            return RuleOfThumb(reorder_days=self.knobs[0], buy_days=self.knobs[1])
        return AsPlanned(rhythm=self.knobs[1] if self.kind == "rhythm" else None)


def play(arm: Arm, seed: int) -> dict[str, Any]:
    """Play one household; the tally with its arm and seed."""
    began = time.perf_counter()
    world = draw_world(seed)
    if arm.kind == "foresight":
        tally = foresight(world, round(arm.knobs[0]))
    else:
        if arm.kind == "express":
            world = with_express(world)
        life = Life(world, arm.make(), arm.settings())
        tally = asdict(life.run())
        del tally["stock_by_day"]
    seconds = round(time.perf_counter() - began, 2)
    return {"arm": arm.name, "seed": seed, **tally, "seconds": seconds}


def done(path: Path) -> set[tuple[str, int]]:
    """Arms and seeds that a file already holds."""
    return {(line["arm"], line["seed"]) for line in read(path)}


def read(path: Path) -> Iterator[dict[str, Any]]:
    """The lines of a file; none when there is none. A line that was cut off is left out."""
    if path.exists():
        for text in path.read_text(encoding="utf-8").splitlines():
            try:
                yield json.loads(text)
            except json.JSONDecodeError:
                continue


def _play_named(task: tuple[str, int]) -> dict[str, Any]:
    return play(Arm.named(task[0]), task[1])


def play_missing(
    path: Path, arms: list[str], households: int, *, processes: int, seconds: float
) -> None:
    """Play what a file does not hold yet, and add it line by line.

    Args:
        path: the file.
        arms: names of arms.
        households: how many, seeds from 1 on.
        processes: how many play side by side.
        seconds: begin nothing new after so long.
    """
    names = [Arm.named(one).name for one in arms]
    path.parent.mkdir(parents=True, exist_ok=True)
    ready = done(path)
    seeds = range(1, households + 1)
    tasks = [(name, seed) for seed in seeds for name in names if (name, seed) not in ready]
    ends_at = time.perf_counter() + seconds
    whole = not path.exists() or path.read_bytes()[-1:] in {b"", b"\n"}
    with path.open("a", encoding="utf-8") as file, get_context("spawn").Pool(processes) as pool:
        file.write("" if whole else "\n")
        for found in pool.imap_unordered(_play_named, tasks):
            file.write(json.dumps(found) + "\n")
            file.flush()
            if time.perf_counter() > ends_at:
                pool.terminate()
                break


def main() -> None:
    """Play the households that are missing."""
    parser = argparse.ArgumentParser(description="Play households through their worlds.")
    parser.add_argument("--arms", nargs="+", default=ARMS)
    parser.add_argument("--households", type=int, default=300)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after so long")
    parser.add_argument("--results", type=Path, default=RESULTS)
    args = parser.parse_args()
    play_missing(
        args.results,
        list(args.arms),
        args.households,
        processes=args.processes,
        seconds=args.seconds,
    )


if __name__ == "__main__":
    main()
