"""The trade-off as an SVG: goods at home against running short, and against orders placed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from tests.studies.closed_loop.summing_up import Summary

PANEL, EDGE, ROW = 380, 56, 15
COLOURS = {
    "plan": "#1b5e8c",
    "express": "#7b1f6a",
    "rhythm": "#00695c",
    "rule": "#a04a00",
    "foresight": "#555555",
}
MARKS = {
    "plan": '<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{colour}"/>',
    "express": (
        '<path d="M{x:.1f} {y:.1f}m-5 0h10m-5 -5v10" stroke="{colour}" stroke-width="2.5"/>'
    ),
    "rhythm": '<path d="M{x:.1f} {y:.1f}m-5 4h10l-5 -9z" fill="{colour}"/>',
    "rule": '<path d="M{x:.1f} {y:.1f}m-4 -4h8v8h-8z" fill="{colour}"/>',
    "foresight": '<path d="M{x:.1f} {y:.1f}m0 -6l5 6l-5 6l-5 -6z" fill="none" stroke="{colour}"/>',
}
"""A shape for each kind of arm, so that no colour need be told apart."""

MOST_SHORT = 0.005
MOST_ORDERS = 1.2
"""What was aimed at: share of households ever short, and orders a month."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One of the two pictures side by side; `bend` makes a value a height between 0 and 1."""

    left: int
    title: str
    most: float
    ticks: Sequence[float]
    tick_text: str
    goal: float
    value: Callable[[Summary], float]
    bend: Callable[[float], float]

    def y(self, value: float) -> float:
        """Height of a value on the page."""
        return PANEL - EDGE - (PANEL - 2 * EDGE) * self.bend(value / self.most)


def picture(summaries: Sequence[Summary]) -> str:
    """The arms as an SVG: units to the right; shares short, and orders a month, upwards.

    Marks carry the number of their arm in the list below. Dashed lines are what was aimed at.
    """
    most_units = 1.15 * max(one.mean_units for one in summaries)
    shares = [one.share_short for one in summaries]
    panels = (
        Panel(
            left=0,
            title="households ever short (root scale)",
            most=1.1 * max(*shares, 2 * MOST_SHORT),
            ticks=(0.0, 0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5),
            tick_text="{:.1%}",
            goal=MOST_SHORT,
            value=lambda one: one.share_short,
            bend=math.sqrt,
        ),
        Panel(
            left=PANEL,
            title="orders a month",
            most=1.1 * max(*(one.orders_per_month for one in summaries), MOST_ORDERS),
            ticks=(0.0, 0.4, 0.8, 1.2, 1.6, 2.0),
            tick_text="{:.1f}",
            goal=MOST_ORDERS,
            value=lambda one: one.orders_per_month,
            bend=float,
        ),
    )
    height = PANEL + ROW * (len(summaries) + 2)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {2 * PANEL} {height}" role="img">',
        "<style>text { font: 11px sans-serif }</style>",
        "<title>Units at home against running short and against orders</title>",
        f'<rect width="{2 * PANEL}" height="{height}" fill="#fff"/>',
    ]
    for panel in panels:
        parts += _panel(panel, summaries, most_units)
    for n, one in enumerate(summaries, 1):
        y = PANEL + ROW * n
        kind = one.arm.split()[0]
        parts.append(MARKS[kind].format(x=EDGE, y=y - 4, colour=COLOURS[kind]))
        parts.append(f'<text x="{EDGE + 12}" y="{y}">{n}: {one.arm} ({_figures(one)})</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def _figures(one: Summary) -> str:
    return (
        f"{one.mean_units:.1f} units, {one.orders_per_month:.2f} orders a month, "
        f"{one.ever_short} of {one.households} ever short"
    )


def _panel(panel: Panel, summaries: Sequence[Summary], most_units: float) -> Iterator[str]:
    left, low = panel.left + EDGE, PANEL - EDGE
    wide = PANEL - 2 * EDGE
    yield f'<path d="M{left} {EDGE}V{low}h{wide}" fill="none" stroke="#333"/>'
    yield f'<text x="{panel.left + 14}" y="{EDGE - 24}">{panel.title}</text>'
    yield f'<text x="{left}" y="{PANEL - 20}">mean units on the shelf</text>'
    goal = panel.y(panel.goal)
    yield f'<path d="M{left} {goal:.1f}h{wide}" stroke="#333" stroke-dasharray="4 4"/>'
    for units in range(0, int(most_units) + 1, 5):
        x = left + wide * units / most_units
        yield f'<text x="{x:.0f}" y="{low + 16}" text-anchor="middle">{units}</text>'
    for tick in panel.ticks:
        if tick <= panel.most:
            text = panel.tick_text.format(tick)
            y = panel.y(tick) + 4
            yield f'<text x="{left - 6}" y="{y:.0f}" text-anchor="end">{text}</text>'
    taken: list[tuple[float, float]] = []
    for n, one in enumerate(summaries, 1):
        kind = one.arm.split()[0]
        x, y = left + wide * one.mean_units / most_units, panel.y(panel.value(one))
        yield MARKS[kind].format(x=x, y=y, colour=COLOURS[kind])
        at = y - 8
        while any(abs(x - other_x) < 14 and abs(at - other_y) < 11 for other_x, other_y in taken):
            at -= 11
        taken.append((x, at))
        yield f'<text x="{x:.1f}" y="{at:.1f}" text-anchor="middle">{n}</text>'
