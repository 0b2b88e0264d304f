"""What was played as a table and a picture: goods kept at home against running short.

    python -m tests.studies.closed_loop.trade_off

Arms are compared over the same households only: those that all of them have played. An arm that
has played less than half as many as another is left out.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.studies.closed_loop.play import RESULTS, read

LEAST_MEASURED_DAYS = 14
DAYS_PER_MONTH = 365.25 / 12
WIDTH, HEIGHT, EDGE = 640, 420, 60
COLOURS = {"plan": "#1b5e8c", "rhythm": "#00695c", "rule": "#a04a00", "foresight": "#555555"}
MARKS = {
    "plan": '<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{colour}"/>',
    "rhythm": '<path d="M{x:.1f} {y:.1f}m-5 4h10l-5 -9z" fill="{colour}"/>',
    "rule": '<path d="M{x:.1f} {y:.1f}m-4 -4h8v8h-8z" fill="{colour}"/>',
    "foresight": '<path d="M{x:.1f} {y:.1f}m0 -6l5 6l-5 6l-5 -6z" fill="none" stroke="{colour}"/>',
}
"""A shape for each kind of arm, so that no colour need be told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One arm over its households.

    Attributes:
        ever_short: households with at least one short day.
        short_days: days on which a session found too few goods.
        mean_units: units on the shelf, mean over days and then over households.
        orders_per_month: orders placed, over all measured days.
        expired, left_over: units a household. [units]
    """

    arm: str
    households: int
    ever_short: int
    short_days: int
    sessions: int
    mean_units: float
    orders_per_month: float
    expired: float
    left_over: float
    late_orders: int

    @property
    def share_short(self) -> float:
        """Share of households that ever ran short."""
        return self.ever_short / self.households

    def interval(self) -> tuple[float, float]:
        """95 percent interval of that share.

        References:
            Wilson EB, J Am Stat Assoc 1927;22:209-12 (from memory).
        """
        n, z = self.households, 1.959964
        middle = (self.ever_short + 0.5 * z * z) / (n + z * z)
        half = (
            z / (n + z * z) * math.sqrt(n * self.share_short * (1 - self.share_short) + z * z / 4)
        )
        return max(middle - half, 0.0), min(middle + half, 1.0)


def summarize(lines: Iterable[dict[str, Any]]) -> Summary:
    """Sum up the lines of one arm."""
    kept = list(lines)
    long = [one for one in kept if one["measured_days"] >= LEAST_MEASURED_DAYS]
    days = sum(one["measured_days"] for one in long)
    return Summary(
        arm=kept[0]["arm"],
        households=len(kept),
        ever_short=sum(one["short_days"] > 0 for one in kept),
        short_days=sum(one["short_days"] for one in kept),
        sessions=sum(one["sessions"] for one in kept),
        mean_units=sum(one["unit_days"] / one["measured_days"] for one in long) / max(len(long), 1),
        orders_per_month=DAYS_PER_MONTH
        * sum(one["measured_orders"] for one in long)
        / max(days, 1),
        expired=sum(one["expired"] for one in kept) / len(kept),
        left_over=sum(one["left_over"] for one in kept) / len(kept),
        late_orders=sum(one["late_orders"] for one in kept),
    )


def by_arm(lines: Iterable[dict[str, Any]], households: int | None = None) -> list[Summary]:
    """Every arm over the households that all have played, in order of its name.

    Args:
        lines: what was played.
        households: only the first so many, and only arms that played all of them; None for
            what there is.
    """
    arms: dict[str, dict[int, dict[str, Any]]] = {}
    for line in lines:
        if households is None or line["seed"] <= households:
            arms.setdefault(line["arm"], {})[line["seed"]] = line
    most = max(map(len, arms.values()), default=0)
    least = most / 2 if households is None else households
    kept = {name: played for name, played in arms.items() if len(played) >= least}
    seeds = set.intersection(*map(set, kept.values())) if kept else set()
    if not seeds:
        return []
    return [
        summarize(kept[name][seed] for seed in sorted(seeds))
        for name in sorted(kept, key=_by_numbers)
    ]


def _by_numbers(name: str) -> tuple[str, list[float]]:
    first, *numbers = name.split()
    return first, [float(number) for number in numbers]


def table(summaries: Sequence[Summary]) -> str:
    """The arms as a table in Markdown."""
    head = (
        "| arm | ever short | 95 % interval | short days in 1,000 sessions | mean units "
        "| orders a month | expired | left at the end | ordered too late |"
    )
    rows = [head, "|---|" + "---:|" * 8]
    for one in summaries:
        low, high = one.interval()
        rows.append(
            f"| {one.arm} | {one.ever_short} of {one.households} ({one.share_short:.1%}) "
            f"| {low:.1%} to {high:.1%} | {1000 * one.short_days / one.sessions:.2f} "
            f"| {one.mean_units:.1f} | {one.orders_per_month:.2f} | {one.expired:.2f} "
            f"| {one.left_over:.1f} | {one.late_orders} |"
        )
    return "\n".join(rows) + "\n"


def picture(summaries: Sequence[Summary]) -> str:
    """The arms as an SVG: mean units to the right, short days per 1,000 sessions upwards."""
    most_units = 1.1 * max(one.mean_units for one in summaries)
    rates = [1000 * one.short_days / one.sessions for one in summaries]
    most_rate = 1.1 * max(*rates, 1.0)

    def at(units: float, rate: float) -> tuple[float, float]:
        x = EDGE + (WIDTH - 2 * EDGE) * units / most_units
        # The root spreads out what is rare.
        y = HEIGHT - EDGE - (HEIGHT - 2 * EDGE) * math.sqrt(rate / most_rate)
        return x, y

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img">',
        "<style>text { font: 11px sans-serif }</style>",
        "<title>Units at home against short days</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        f'<path d="M{EDGE} {EDGE}V{HEIGHT - EDGE}H{WIDTH - EDGE}" fill="none" stroke="#333"/>',
        f'<text x="{EDGE}" y="{HEIGHT - 16}">mean units on the shelf</text>',
        f'<text x="14" y="{EDGE - 24}">short days in 1,000 sessions (root scale)</text>',
    ]
    for units in range(0, int(most_units) + 1, 10):
        x, y = at(units, 0.0)
        parts.append(f'<text x="{x:.0f}" y="{y + 16:.0f}" text-anchor="middle">{units}</text>')
    for rate in (0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0):
        if rate <= most_rate:
            x, y = at(0.0, rate)
            parts.append(f'<text x="{x - 6:.0f}" y="{y + 4:.0f}" text-anchor="end">{rate:g}</text>')
    free_y = 0.0
    for one, rate in sorted(zip(summaries, rates, strict=True), key=lambda pair: at(*_xy(pair))[1]):
        x, y = at(one.mean_units, rate)
        kind = one.arm.split()[0]
        free_y = max(y - 5, free_y + 12)
        label = f"{one.arm} ({one.orders_per_month:.2f} orders a month)"
        side = 'text-anchor="end" ' if x > WIDTH / 2 else ""
        text_x = x - 8 if side else x + 8
        parts.append(MARKS[kind].format(x=x, y=y, colour=COLOURS[kind]))
        parts.append(f'<text {side}x="{text_x:.1f}" y="{free_y:.1f}">{label}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def _xy(pair: tuple[Summary, float]) -> tuple[float, float]:
    return pair[0].mean_units, pair[1]


def main() -> None:
    """Write table and picture of what was played."""
    parser = argparse.ArgumentParser(description="Sum up the closed loop.")
    parser.add_argument("--households", type=int, help="only the first so many")
    parser.add_argument("--results", type=Path, default=RESULTS)
    parser.add_argument("--picture", type=Path, default=RESULTS.with_suffix(".svg"))
    args = parser.parse_args()
    summaries = by_arm(read(args.results), args.households)
    print(table(summaries))
    if summaries:
        args.picture.write_text(picture(summaries), encoding="utf-8")


if __name__ == "__main__":
    main()
