"""The picture of a shelf falling over the coming weeks, as numbers and paths for a template."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from app.texts import tr
from app.wording import chance_text, day_text, short_day_text, units_text
from planner.items import ItemKind
from planner.results import KitsLeft, Plan, ShelfPlan

WIDTH, HEIGHT = 352, 250
_LEFT, _RIGHT, _TOP, _BOTTOM = 26, 330, 66, 222
_SHORTEST_DAYS, _LONGEST_DAYS = 21, 90
_LABEL_STEP = 14.0
_DAY = timedelta(days=1)


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
    """Draw the kits left on one shelf, goods at home only."""
    days = _days_shown(shelf)
    kits = shelf.kits_left
    top = max(shelf.usable_kits, 1)

    def x(day: float) -> float:
        return round(_LEFT + (_RIGHT - _LEFT) * (day + 1) / days, 1)

    def y(units: float) -> float:
        return round(_BOTTOM - (_BOTTOM - _TOP) * units / top, 1)

    def path(values: Sequence[float]) -> str:
        return " ".join(f"L{x(day)} {y(units)}" for day, units in enumerate(values[:days]))

    back = " ".join(f"L{x(day)} {y(kits.low[day])}" for day in range(days - 1, -1, -1))
    start = f"M{x(-1)} {y(shelf.usable_kits)}"
    return Curve(
        title=tr("Kits left in the coming weeks"),
        description=_described(plan, shelf),
        band=f"{start} {path(kits.high)} {back} Z",
        line=f"{start} {path(kits.mean)}",
        edge=f"{start} {path(kits.low)}",
        days=_day_ticks(plan.as_of, days, x),
        units=tuple(Tick(at=y(units), label=str(units)) for units in sorted({0, top // 2, top})),
        marks=_marks(plan, shelf, days, x),
        rows=_rows(plan, shelf, kits, days),
    )


def _days_shown(shelf: ShelfPlan) -> int:
    known = shelf.run_out.expected_days
    wanted = _LONGEST_DAYS if known is None else known + 7
    shown = min(max(wanted, _SHORTEST_DAYS), _LONGEST_DAYS)
    return min(shown, len(shelf.kits_left.mean))


def _day_ticks(as_of: date, days: int, x: Callable[[float], float]) -> tuple[Tick, ...]:
    step = 7 if days <= 28 else 14 if days <= 60 else 28
    ticks = []
    for day in range(0, days, step):
        on = as_of + timedelta(days=day)
        ticks.append(Tick(at=x(day - 1), label=short_day_text(on)))
    return tuple(ticks)


def _marks(
    plan: Plan, shelf: ShelfPlan, days: int, x: Callable[[float], float]
) -> tuple[Mark, ...]:
    delivery = plan.next_delivery
    ends = (
        (shelf.run_out.cautious_on, "sure to {day}"),
        (shelf.run_out.expected_on, "likely to {day}"),
    )
    wanted = [
        (plan.order.order_by_on if plan.order.lines else None, "order by {day}", False),
        (delivery.usual_on if delivery.order_id else None, "delivery {day}", False),
        *((on - _DAY if on else None, name, True) for on, name in ends),
    ]
    marks = []
    for on, name, is_end in wanted:
        if on is None or not 0 <= (on - plan.as_of).days < days:
            continue
        # An end lies at the evening of its last day, everything else at the morning.
        at = x((on - plan.as_of).days - (0 if is_end else 1))
        side = "end" if at > (_LEFT + _RIGHT) / 2 else "start"
        marks.append(
            Mark(
                x=at,
                label=tr(name, day=short_day_text(on)),
                anchor=side,
                label_y=0.0,
                is_end=is_end,
            )
        )
    return _stacked(marks)


def _stacked(marks: list[Mark]) -> tuple[Mark, ...]:
    """Give each label a line of its own, in an order in which few lines cross a label."""
    by_place = sorted(marks, key=lambda mark: mark.x)
    to_the_right = [mark for mark in by_place if mark.anchor == "start"]
    to_the_left = [mark for mark in reversed(by_place) if mark.anchor == "end"]
    return tuple(
        replace(mark, label_y=12.0 + place * _LABEL_STEP)
        for place, mark in enumerate((*to_the_left, *to_the_right))
    )


def _rows(plan: Plan, shelf: ShelfPlan, kits: KitsLeft, days: int) -> tuple[WeekRow, ...]:
    return tuple(
        WeekRow(
            day=day_text(plan.as_of + day * _DAY, today=plan.as_of),
            left=round(kits.mean[day]),
            low=round(kits.low[day]),
            high=round(kits.high[day]),
            chance_out=chance_text(shelf.run_out.chance_by_day[day]),
        )
        for day in range(6, days, 7)
    )


def _described(plan: Plan, shelf: ShelfPlan) -> str:
    kits = units_text(shelf.usable_kits, ItemKind.KIT)
    parts = [tr("A falling line that starts at {kits} today.", kits=kits)]
    cautious, expected = shelf.run_out.cautious_on, shelf.run_out.expected_on
    if cautious is not None:
        before = day_text(cautious - _DAY, today=plan.as_of)
        parts.append(tr("They are almost sure to last through {day}.", day=before))
    if expected is not None:
        before = day_text(expected - _DAY, today=plan.as_of)
        parts.append(tr("They will probably last through {day}.", day=before))
    if plan.next_delivery.order_id is not None:
        day = day_text(plan.next_delivery.usual_on, today=plan.as_of)
        parts.append(tr("A delivery is expected on {day}.", day=day))
    if plan.order.order_by_on is not None and plan.order.lines:
        day = day_text(plan.order.order_by_on, today=plan.as_of)
        parts.append(tr("The next order is due by {day}.", day=day))
    return " ".join(parts)
