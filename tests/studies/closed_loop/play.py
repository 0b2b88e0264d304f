"""Play households through their worlds and keep one line of JSON for each.

    python -m tests.studies.closed_loop.play --carer plan --protection 0.99 --households 300

Lines already in the file are not played again, so a run may be stopped at any time. After a
change of the planner or of the worlds begin a new file with `--results`.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from planner.household import PlanSettings
from tests.studies.closed_loop.carers import AsPlanned, RuleOfThumb
from tests.studies.closed_loop.living import Carer, Life
from tests.studies.closed_loop.worlds import draw_world

RESULTS = Path(".data/studies/closed_loop.jsonl")
USUAL_HORIZON_DAYS = 30
"""A plan always looks one whole order cycle ahead; looking further changes no order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arm:
    """One way to order, with its knobs."""

    carer: str
    protection: float = 0.99
    cover_days: int = 28
    reorder_days: float = 14.0
    buy_days: float = 30.0

    @property
    def name(self) -> str:
        """A name that tells arms apart."""
        if self.carer == "plan":
            return f"plan {self.protection:g} {self.cover_days}"
        return f"rule {self.reorder_days:g} {self.buy_days:g}"

    def settings(self) -> PlanSettings:
        """The household's settings; the rule does not read them."""
        return PlanSettings(
            protection=self.protection,
            cover_days=self.cover_days,
            horizon_days=USUAL_HORIZON_DAYS,
        )

    def make(self) -> Carer:
        """The carer of this arm."""
        if self.carer == "plan":
            return AsPlanned()
        return RuleOfThumb(reorder_days=self.reorder_days, buy_days=self.buy_days)


def play(arm: Arm, seed: int) -> dict[str, Any]:
    """Play one household; the tally with its arm and seed."""
    life = Life(draw_world(seed), arm.make(), arm.settings())
    began = time.perf_counter()
    tally = asdict(life.run())
    del tally["stock_by_day"]
    seconds = round(time.perf_counter() - began, 2)
    return {"arm": arm.name, "seed": seed, **tally, "seconds": seconds}


def done(path: Path) -> set[tuple[str, int]]:
    """Arms and seeds that a file already holds."""
    return {(line["arm"], line["seed"]) for line in read(path)}


def read(path: Path) -> Iterator[dict[str, Any]]:
    """The lines of a file; none when there is none."""
    if path.exists():
        for text in path.read_text(encoding="utf-8").splitlines():
            yield json.loads(text)


def main() -> None:
    """Play the households that are missing."""
    parser = argparse.ArgumentParser(description="Play households through their worlds.")
    parser.add_argument("--carer", choices=["plan", "rule"], required=True)
    parser.add_argument("--protection", type=float, default=0.99)
    parser.add_argument("--cover-days", type=int, default=28)
    parser.add_argument("--reorder-days", type=float, default=14.0)
    parser.add_argument("--buy-days", type=float, default=30.0)
    parser.add_argument("--households", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after so long")
    parser.add_argument("--results", type=Path, default=RESULTS)
    args = parser.parse_args()
    arm = Arm(
        carer=args.carer,
        protection=args.protection,
        cover_days=args.cover_days,
        reorder_days=args.reorder_days,
        buy_days=args.buy_days,
    )
    args.results.parent.mkdir(parents=True, exist_ok=True)
    ready = done(args.results)
    ends_at = time.perf_counter() + args.seconds
    with args.results.open("a", encoding="utf-8") as file:
        for seed in range(1, args.households + 1):
            if (arm.name, seed) in ready:
                continue
            if time.perf_counter() > ends_at:
                break
            file.write(json.dumps(play(arm, seed)) + "\n")
            file.flush()


if __name__ == "__main__":
    main()
