"""Write RESULTS.md from the stored summaries: `python -m tests.studies.results`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.studies import calibration, use_scores
from tests.studies.baselines import METHODS
from tests.studies.closed_loop import summing_up

TARGET = Path(__file__).with_name("RESULTS.md")

HEAD = """\
# What the studies found

Written by `python -m tests.studies.results`; the commands are in DEVELOPERS.md. All households
are invented: drawn from the planner's own starting expectations and played out day by day, so
a study can show that the forecast keeps its word where its model holds, never that the model
holds for real people.
"""

CALIBRATION = """
## Run-out dates: as sure as they say?

The first figure is the share of the non-randomised transforms inside the interval, in percent;
it is the nominal figure when the forecast is right. A run-out is a whole day, so an interval of
whole days holds more than its name says; in brackets is how often it held the date, less what
the forecasts gave those days. The last column: how often goods lasted to the cautious date, and
what the forecasts promised. A goal was 2 points. Households whose goods outlast the 70 days
looked ahead count as one last day.
"""

SCORES = """
## Bottles opened: better than plain methods?

Ranked probability score, lower is better, and in brackets the 95 percent interval of what the
planner gains on the method, households drawn again. The households are drawn from the
planner's own model, which favours it. Exponential smoothing and TSB start at the first day, as
the reference library has them, and so do badly on short records. With nothing on record all
plain methods but the first are the same: Poisson around the prescription.
"""


ORDERS = """
## Orders: goods at home against running short

Invented households live for 180 days and order as the plan proposes ("plan", with its protection
and the days that one order covers), by a rule of thumb ("rule": average use of the last 14 days,
reorder below 14 days of cover, buy 30 days) or knowing what they will use ("foresight", with
the days that one order lasts), which is the floor. All meet the same chance events. In "express"
the supplier also sends by express, in one business day and late like any van, and what the plan
asks for by express is ordered at once; goods that are not late are believed to come on their day.
Express orders count as orders; their number over all days is in the last column. "0.998 14", with
and without express, was played with the planner of 25 November 2026; the others with earlier ones,
which believed sooner that late goods would come. Goals were:
ever short at most 0.5 percent and no more than the rule, at most 1.2 orders a month, and half the
rule's units at home.

![The same as a picture](closed_loop.svg)

"""


def calibration_table(world: str, kinds: dict[str, Any]) -> str:
    """One study's table."""
    lines = [
        f"\n### {world.capitalize()}\n",
        "| households | number | 50 % | 80 % | 95 % | 99 % | lasted (promised) |",
        "|---|---|---|---|---|---|---|",
    ]
    for kind, one in kinds.items():
        cells = [
            f"{100 * found['pit']:.1f} ({100 * (found['seen'] - found['promised']):+.1f})"
            for found in one["intervals"].values()
        ]
        cautious = one["cautious_date"]
        held = f"{100 * cautious['held']:.1f} ({100 * cautious['promised']:.1f})"
        lines.append(f"| {kind} | {one['households']} | {' | '.join(cells)} | {held} |")
    bins = ", ".join(f"{100 * share:.1f}" for share in kinds["all"]["pit_bins"])
    lines.append(f"\nTransforms by tenths, percent (10 each when right): {bins}.")
    return "\n".join(lines) + "\n"


def score_table(days: int, parts: dict[str, Any]) -> str:
    """Scores of all methods for one span of days."""
    methods = (use_scores.PLANNER, *METHODS)
    lines = [
        f"\n### Within {days} days\n",
        f"| households | number | {' | '.join(methods)} |",
        "|---|---|" + "---|" * len(methods),
    ]
    prefix = f"{days} days, "
    for part, table in parts.items():
        if part.startswith(prefix):
            cells = [_score(table[method]) for method in methods]
            name = part.removeprefix(prefix)
            lines.append(f"| {name} | {table['households']['n']} | {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


PINBALL = """
### Quantiles of the bottles of a week

Pinball loss, lower is better, at each quantile: planner, then the best plain method on those
households.
"""


def pinball_table(days: int, parts: dict[str, Any]) -> str:
    """The planner's quantiles beside the best plain method's, at every level."""
    prefix = f"{days} days, "
    levels = [name for name in parts[f"{prefix}all"][use_scores.PLANNER] if "pinball" in name]
    lines = [
        PINBALL,
        f"| households | {' | '.join(name.removeprefix('pinball ') for name in levels)} |",
        "|---|" + "---|" * len(levels),
    ]
    for part, table in parts.items():
        if part.startswith(prefix):
            cells = [
                f"{table[use_scores.PLANNER][level]:.3f}, "
                f"{min(table[method][level] for method in METHODS):.3f}"
                for level in levels
            ]
            lines.append(f"| {part.removeprefix(prefix)} | {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def _score(found: dict[str, Any]) -> str:
    if "gain_95" not in found:
        return f"{found['crps']:.2f}"
    low, high = found["gain_95"]
    return f"{found['crps']:.2f} ({low:+.2f} to {high:+.2f})"


def render() -> str:
    """The whole page."""
    kinds = json.loads(calibration.RESULTS.read_text(encoding="utf-8"))
    parts = json.loads(use_scores.RESULTS.read_text(encoding="utf-8"))
    page = [HEAD, CALIBRATION]
    page += [calibration_table(world, found) for world, found in kinds.items()]
    page += [SCORES, *(score_table(days, parts) for days in use_scores.WITHIN_DAYS)]
    page.append(pinball_table(use_scores.WITHIN_DAYS[0], parts))
    page += [ORDERS, summing_up.table(summing_up.kept())]
    return "".join(page)


if __name__ == "__main__":
    TARGET.write_text(render(), encoding="utf-8")
