"""Is the forecast of bottles better than plain methods? `python -m tests.studies.use_scores`.

Takes the households of the calibration study, so run that first. Scores are the ranked
probability score of the bottles opened within 7 and 28 days, and the pinball loss at five
levels; lower is better. A difference is the plain method's score less the planner's, mean
over households, with a 95 percent interval from drawing households again.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from tests.studies import scores
from tests.studies.baselines import METHODS, Floats, known_of
from tests.studies.rows import WORLDS, Row, read_rows, rows_path

RESULTS = Path(__file__).with_name("use_scores.json")
PLANNER = "planner"
LEVELS = (0.5, 0.8, 0.9, 0.95, 0.99)
WITHIN_DAYS = (7, 28)

HouseholdScores = dict[str, dict[str, float]]


def score_household(row: Row, days: int) -> HouseholdScores:
    """Scores of the planner and of every plain method for one household."""
    used = row.used[str(days)]
    known = known_of(
        row.past, is_evening=row.is_evening, gap_days=row.gap_days, seed=1000 + row.number
    )
    found = {PLANNER: _scores(np.array(row.bottles[str(days)]), used)}
    for name, method in METHODS.items():
        found[name] = _scores(method(known, days), used)
    return found


def _scores(pmf: Floats, used: int) -> dict[str, float]:
    cumulative = np.cumsum(pmf) / pmf.sum()
    losses = {
        f"pinball {level}": scores.pinball(level, used, int(np.argmax(cumulative >= level - 1e-9)))
        for level in LEVELS
    }
    return {"crps": scores.ranked_probability_score(pmf / pmf.sum(), used), **losses}


def compare(found: Sequence[HouseholdScores]) -> dict[str, dict[str, object]]:
    """Mean scores by method, and how much the planner gains on each."""
    table: dict[str, dict[str, object]] = {}
    ours = [one[PLANNER]["crps"] for one in found]
    for method in (PLANNER, *METHODS):
        theirs = [one[method]["crps"] for one in found]
        means = {kind: np.mean([one[method][kind] for one in found]) for kind in found[0][method]}
        table[method] = {kind: round(float(mean), 4) for kind, mean in means.items()}
        if method != PLANNER:
            gains = [b - a for a, b in zip(ours, theirs, strict=True)]
            low, high = scores.bootstrap_interval(gains, seed=20260311)
            table[method]["gain_95"] = (round(low, 4), round(high, 4))
    return table


def report(rows: Sequence[Row]) -> dict[str, dict[str, dict[str, object]]]:
    """Comparisons of all households, and by length of record, regimen and clinical group."""
    kinds: tuple[Callable[[Row], str], ...] = (
        lambda row: "all",
        lambda row: f"record: {row.asked} sessions",
        lambda row: f"regimen: {row.regimen}",
        lambda row: f"group: {row.group}",
    )
    found: dict[str, dict[str, dict[str, object]]] = {}
    for days in WITHIN_DAYS:
        by_row = [score_household(row, days) for row in rows]
        for name_of in kinds:
            names = [name_of(row) for row in rows]
            for name in dict.fromkeys(names):
                part = [one for one, its in zip(by_row, names, strict=True) if its == name]
                found[f"{days} days, {name}"] = {"households": {"n": len(part)}, **compare(part)}
    return found


def main() -> None:
    """Score the households of a study that was run, and print the comparison."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--world", choices=list(WORLDS), default="as the model")
    asked = parser.parse_args()
    found = report(read_rows(rows_path(asked.world)))
    RESULTS.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    for part, table in found.items():
        print(f"\n{part} ({table['households']['n']} households)")
        for method in (PLANNER, *METHODS):
            one = table[method]
            print(f"  {method:24} {one['crps']:8}  gain {one.get('gain_95', '')}")


if __name__ == "__main__":
    main()
