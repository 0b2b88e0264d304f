"""A small picture of what was collected on each day, as numbers for a template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from app.chart import Tick
from app.texts import tr
from app.wording import number_text, short_day_text

WIDTH, HEIGHT = 352, 150
_LEFT, _RIGHT, _TOP, _BOTTOM = 40, 344, 14, 122
_NICE = (1.0, 2.0, 4.0, 5.0, 10.0)
_MOST_LABELS = 4
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One day's volume."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumePlot:
    """Everything the picture needs, in units of its own view box."""

    title: str
    description: str
    bars: tuple[Bar, ...]
    days: tuple[Tick, ...]
    volumes: tuple[Tick, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = _LEFT
    right: int = _RIGHT
    top: int = _TOP
    bottom: int = _BOTTOM


def draw_volumes(by_day: Mapping[date, float], first: date, last: date, title: str) -> VolumePlot:
    """Draw a bar for each day on which something was collected.

    Args:
        by_day: volume by day in the unit that is shown; days outside the span are left out.
        first: first day of the picture.
        last: last day of the picture.
        title: what the picture is called.
    """
    shown = {day: volume for day, volume in sorted(by_day.items()) if first <= day <= last}
    days = (last - first).days + 1
    highest = top_of_scale(max(shown.values(), default=0))
    step = (_RIGHT - _LEFT) / days

    def height(volume: float) -> float:
        return (_BOTTOM - _TOP) * volume / highest

    bars = tuple(
        Bar(
            x=round(_LEFT + step * ((day - first).days + 0.1), 1),
            y=round(_BOTTOM - height(volume), 1),
            width=round(max(step * 0.8, 0.8), 1),
            height=round(height(volume), 1),
        )
        for day, volume in shown.items()
    )
    return VolumePlot(
        title=title,
        description=_described(shown),
        bars=bars,
        days=tuple(_day_ticks(first, days, step)),
        volumes=tuple(
            Tick(at=round(_BOTTOM - height(volume), 1), label=number_text(volume))
            for volume in (0, highest // 2, highest)
        ),
    )


def top_of_scale(highest: float) -> int:
    """The round number at or above the highest bar, 10 at least.

    Examples:
        >>> [top_of_scale(volume) for volume in (0, 8.5, 90, 101, 430, 501, 1200)]
        [10, 10, 100, 200, 500, 1000, 2000]
    """
    decade = 10
    while decade * 10 < highest:
        decade *= 10
    return next(int(decade * nice) for nice in _NICE if decade * nice >= highest)


def _day_ticks(first: date, days: int, step: float) -> list[Tick]:
    every = max(-(-days // _MOST_LABELS), 1)
    return [
        Tick(at=round(_LEFT + step * (n + 0.5), 1), label=short_day_text(first + n * _DAY))
        for n in range(0, days, every)
    ]


def _described(shown: Mapping[date, float]) -> str:
    if not shown:
        return tr("No bars: nothing was written down.")
    low, high = min(shown.values()), max(shown.values())
    return tr(
        "{count} bars, one for each day with a session, the lowest {low} and the highest {high}.",
        count=len(shown),
        low=number_text(low),
        high=number_text(high),
    )
