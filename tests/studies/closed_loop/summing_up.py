"""Arms of the closed loop summed up over the households that all of them have played."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

KEPT = Path(__file__).parent.with_name("closed_loop.json")
"""Where the summary of all arms is kept, and beside it their picture."""

LEAST_MEASURED_DAYS = 14
DAYS_PER_MONTH = 365.25 / 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One arm over its households.

    Attributes:
        ever_short: households with at least one short day.
        short_days: days on which a session found too few goods.
        mean_units: units on the shelf, mean over days and then over households.
        orders_per_month: orders placed, over all measured days.
        expired, left_over: units a household. [units]
        express_orders: orders placed by express, over all days.
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
    express_orders: int = 0

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
        express_orders=sum(one.get("express_orders", 0) for one in kept),
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


def kept() -> list[Summary]:
    """The arms as they were kept last."""
    return [Summary(**one) for one in json.loads(KEPT.read_text(encoding="utf-8"))]


def with_earlier(summaries: Sequence[Summary], earlier: Iterable[Summary]) -> list[Summary]:
    """Further arms that were kept before, over as many households; none that was played anew."""
    played = {one.arm for one in summaries}
    rest = [
        one
        for one in earlier
        if one.arm not in played and all(one.households == new.households for new in summaries)
    ]
    return sorted([*summaries, *rest], key=lambda one: _by_numbers(one.arm))


def table(summaries: Sequence[Summary]) -> str:
    """The arms as a table in Markdown."""
    head = (
        "| arm | ever short | 95 % interval | short days in 1,000 sessions | mean units "
        "| orders a month | expired | left at the end | ordered too late | by express |"
    )
    rows = [head, "|---|" + "---:|" * 9]
    for one in summaries:
        low, high = one.interval()
        rows.append(
            f"| {one.arm} | {one.ever_short} of {one.households} ({one.share_short:.1%}) "
            f"| {low:.1%} to {high:.1%} | {1000 * one.short_days / one.sessions:.2f} "
            f"| {one.mean_units:.1f} | {one.orders_per_month:.2f} | {one.expired:.2f} "
            f"| {one.left_over:.1f} | {one.late_orders} | {one.express_orders} |"
        )
    return "\n".join(rows) + "\n"
