"""The picture of a shelf falling over the coming weeks, as numbers and paths for a template."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from app.wording import chance_text, day_text
from planner.results import Plan, ShelfPlan

WIDTH, HEIGHT = 360, 240
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 350, 44, 208
_SHORTEST_DAYS, _LONGEST_DAYS = 21, 90
_LABEL_STEP = 11.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A dashed upright line with its label."""

    x: float
    label: str
    anchor: str
    label_y: float
    is_end: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A label on an axis."""

    at: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekRow:
    """One line of the table that says the same as the picture."""

    day: str
    left: int
    low: int
    high: int
    chance_out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Everything the picture needs, in units of its own view box."""

    title: str
    description: str
    band: str
    line: str
    edge: str
    days: tuple[Tick, ...]
    units: tuple[Tick, ...]
    marks: tuple[Mark, ...]
    rows: tuple[WeekRow, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = _LEFT
    right: int = _RIGHT
    top: int = _TOP
    bottom: int = _BOTTOM


def draw(plan: Plan, shelf: ShelfPlan) -> Curve:
    """Draw the bottles left on one shelf, kits' bottles included, goods at home only."""
    total = shelf.usable_kits + shelf.usable_bottles
    days = _days_shown(shelf)
    left = [max(total - used, 0) for used in shelf.use.bottles_mean[:days]]
    high = [max(total - used, 0) for used in shelf.use.bottles_low[:days]]
    low = [max(total - used, 0) for used in shelf.use.bottles_high[:days]]
    top = max(total, 1)

    def x(day: float) -> float:
        return round(_LEFT + (_RIGHT - _LEFT) * (day + 1) / days, 1)

    def y(units: float) -> float:
        return round(_BOTTOM - (_BOTTOM - _TOP) * units / top, 1)

    def path(values: list[float] | list[int]) -> str:
        return " ".join(f"L{x(day)} {y(units)}" for day, units in enumerate(values))

    back = " ".join(f"L{x(day)} {y(low[day])}" for day in range(len(low) - 1, -1, -1))
    start = f"M{x(-1)} {y(total)}"
    return Curve(
        title="Bottles left in the coming weeks",
        description=_described(plan, shelf),
        band=f"{start} {path(high)} {back} Z",
        line=f"{start} {path(left)}",
        edge=f"{start} {path(low)}",
        days=_day_ticks(plan.as_of, days, x),
        units=tuple(Tick(at=y(units), label=str(units)) for units in sorted({0, top // 2, top})),
        marks=_marks(plan, shelf, days, x),
        rows=_rows(plan, shelf, days),
    )


def _days_shown(shelf: ShelfPlan) -> int:
    known = shelf.run_out.expected_days
    wanted = _LONGEST_DAYS if known is None else known + 7
    shown = min(max(wanted, _SHORTEST_DAYS), _LONGEST_DAYS)
    return min(shown, len(shelf.use.bottles_mean))


def _day_ticks(as_of: date, days: int, x: Callable[[float], float]) -> tuple[Tick, ...]:
    step = 7 if days <= 35 else 14 if days <= 60 else 28
    ticks = []
    for day in range(0, days, step):
        on = as_of + timedelta(days=day)
        ticks.append(Tick(at=x(day - 1), label=f"{on.day}.{on.month}."))
    return tuple(ticks)


def _marks(
    plan: Plan, shelf: ShelfPlan, days: int, x: Callable[[float], float]
) -> tuple[Mark, ...]:
    wanted: list[tuple[date | None, str, bool]] = [
        (plan.order.order_by_on if plan.order.lines else None, "order by", False),
        (plan.next_delivery.usual_on if plan.next_delivery.order_id else None, "delivery", False),
        (shelf.run_out.cautious_on, "safe until", True),
        (shelf.run_out.expected_on, "expected end", True),
    ]
    marks: list[Mark] = []
    for on, name, is_end in wanted:
        if on is None or not 0 <= (on - plan.as_of).days < days:
            continue
        at = x((on - plan.as_of).days - 1)
        late = at > (_LEFT + _RIGHT) / 2
        marks.append(
            Mark(
                x=at,
                label=f"{name} {on.day}.{on.month}.",
                anchor="end" if late else "start",
                label_y=0.0,
                is_end=is_end,
            )
        )
    return tuple(_staggered(marks))


def _staggered(marks: list[Mark]) -> list[Mark]:
    """Put each label on a line of its own, so that none covers another."""
    ordered = sorted(marks, key=lambda mark: mark.x)
    return [replace(mark, label_y=10.0 + place * _LABEL_STEP) for place, mark in enumerate(ordered)]


def _rows(plan: Plan, shelf: ShelfPlan, days: int) -> tuple[WeekRow, ...]:
    total = shelf.usable_kits + shelf.usable_bottles
    use = shelf.use
    return tuple(
        WeekRow(
            day=day_text(plan.as_of + timedelta(days=day), today=plan.as_of),
            left=max(round(total - use.bottles_mean[day]), 0),
            low=max(total - use.bottles_high[day], 0),
            high=max(total - use.bottles_low[day], 0),
            chance_out=chance_text(shelf.run_out.chance_by_day[day]),
        )
        for day in range(6, days, 7)
    )


def _described(plan: Plan, shelf: ShelfPlan) -> str:
    total = shelf.usable_kits + shelf.usable_bottles
    parts = [f"A falling line that starts at {total} bottles today."]
    cautious, expected = shelf.run_out.cautious_on, shelf.run_out.expected_on
    if cautious is not None:
        before = day_text(cautious - timedelta(days=1), today=plan.as_of)
        parts.append(f"It is almost sure to last through {before}.")
    if expected is not None:
        before = day_text(expected - timedelta(days=1), today=plan.as_of)
        parts.append(f"It will probably last through {before}.")
    if plan.next_delivery.order_id is not None:
        day = day_text(plan.next_delivery.usual_on, today=plan.as_of)
        parts.append(f"A delivery is expected on {day}.")
    if plan.order.order_by_on is not None and plan.order.lines:
        day = day_text(plan.order.order_by_on, today=plan.as_of)
        parts.append(f"The next order is due by {day}.")
    return " ".join(parts)
