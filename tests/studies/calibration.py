"""Are the run-out dates as sure as they say? `python -m tests.studies.calibration` tells.

    python -m tests.studies.calibration run --world "as the model" --households 2112
    python -m tests.studies.calibration report

A run stops after `--seconds` and goes on from there when started again.

The run-out is a whole day, so a central interval nearly always holds more than its nominal
chance. Two figures are free of that. `pit`: the share of the non-randomised transforms
between the two chances, which is exactly the nominal one when the forecast is right.
`seen` against `promised`: how often the interval of whole days held the date, against the
mean chance that the forecasts themselves gave to those days.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from tests.studies import scores
from tests.studies.rows import WORLDS, Row, read_rows, rows_path, run_slice

RESULTS = Path(__file__).with_name("calibration.json")
LEVELS = (0.5, 0.8, 0.95, 0.99)
PROTECTION = 0.99
_BINS = 10


def happened(row: Row) -> int:
    """The day of the run-out; `BEYOND` past the horizon."""
    return scores.BEYOND if row.run_out is None else row.run_out


def summary(rows: Sequence[Row]) -> dict[str, object]:
    """Calibration of the run-out date over some households."""
    ranges = [scores.pit_range(row.by_day, happened(row)) for row in rows]
    bins = [scores.pit_share(ranges, n / _BINS, (n + 1) / _BINS) for n in range(_BINS)]
    early = [is_early(row) for row in rows]
    return {
        "households": len(rows),
        "intervals": {str(level): _interval(rows, ranges, level) for level in LEVELS},
        "pit_bins": [round(share, 4) for share in bins],
        "cautious_date": {
            "held": round(1.0 - float(np.mean(early)), 4),
            "promised": round(1.0 - float(np.mean([early_chance(row) for row in rows])), 4),
            "held_95": _wilson(len(rows) - sum(early), len(rows)),
        },
        "beyond_horizon": round(float(np.mean([row.run_out is None for row in rows])), 4),
    }


def cautious_day(row: Row) -> int:
    """First day with a chance of at least one in a hundred, as the planner has it."""
    return scores.quantile(row.by_day, 1.0 - PROTECTION)


def is_early(row: Row) -> bool:
    """Whether goods ran out before the cautious date."""
    return happened(row) < cautious_day(row)


def early_chance(row: Row) -> float:
    """The chance of that by the forecast itself."""
    return scores.reached_by(row.by_day, min(cautious_day(row), len(row.by_day)) - 1)


def _interval(
    rows: Sequence[Row], ranges: Sequence[tuple[float, float]], level: float
) -> dict[str, float]:
    low, high = (1.0 - level) / 2.0, (1.0 + level) / 2.0
    held, promised = [], []
    for row in rows:
        first = scores.quantile(row.by_day, low)
        last = scores.quantile(row.by_day, high)
        held.append(first <= happened(row) <= last)
        before = scores.reached_by(row.by_day, min(first, len(row.by_day)) - 1)
        promised.append(scores.reached_by(row.by_day, last) - before)
    return {
        "pit": round(scores.pit_share(ranges, low, high), 4),
        "seen": round(float(np.mean(held)), 4),
        "promised": round(float(np.mean(promised)), 4),
        "error": round(math.sqrt(level * (1.0 - level) / len(rows)), 4),
    }


def _wilson(hits: int, tries: int) -> tuple[float, float]:
    """95 percent interval of a share (Wilson, JASA 22:209-212, 1927; from memory)."""
    z, share = 1.96, hits / tries
    middle = (share + z * z / (2 * tries)) / (1 + z * z / tries)
    half = z * math.sqrt(share * (1 - share) / tries + z * z / (4 * tries**2))
    half /= 1 + z * z / tries
    return round(middle - half, 4), round(middle + half, 4)


def by_kind(rows: Sequence[Row]) -> dict[str, dict[str, object]]:
    """The summary of all, and by length of record, regimen and clinical group."""
    kinds: dict[str, Callable[[Row], str]] = {
        "record": lambda row: f"{row.asked} sessions",
        "regimen": lambda row: row.regimen,
        "group": lambda row: row.group,
    }
    found = {"all": summary(rows)}
    for kind, name_of in kinds.items():
        for name in dict.fromkeys(map(name_of, rows)):
            found[f"{kind}: {name}"] = summary([row for row in rows if name_of(row) == name])
    return found


def report() -> dict[str, dict[str, dict[str, object]]]:
    """Summaries of every study that has been run with the code as it is."""
    found = {}
    for world in WORLDS:
        rows = read_rows(rows_path(world))
        if rows:
            found[world] = by_kind(rows)
    return found


def main() -> None:
    """Run a slice, or sum up what was run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=["run", "report"])
    parser.add_argument("--world", choices=list(WORLDS), default="as the model")
    parser.add_argument("--households", type=int, default=2112)
    parser.add_argument("--seconds", type=float, default=270.0)
    asked = parser.parse_args()
    if asked.what == "run":
        done = run_slice(asked.world, households=asked.households, seconds=asked.seconds)
        print(f"{asked.world}: {done} of {asked.households} households")
        return
    found = report()
    RESULTS.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    for world, kinds in found.items():
        print(f"\n{world}")
        for kind, one in kinds.items():
            print(line(kind, one))


def line(kind: str, one: dict[str, object]) -> str:
    """One line of the printed table: percent, `pit` and seen less promised by level."""
    intervals, cautious = one["intervals"], one["cautious_date"]
    assert isinstance(intervals, dict)
    assert isinstance(cautious, dict)
    shown = [
        f"{100 * got['pit']:5.1f} ({100 * (got['seen'] - got['promised']):+5.1f})"
        for got in intervals.values()
    ]
    held = f"{100 * cautious['held']:5.1f} of {100 * cautious['promised']:5.1f}"
    return f"{kind:34} {one['households']:5}  " + "  ".join(shown) + f"  {held}"


if __name__ == "__main__":
    main()
