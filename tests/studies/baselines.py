"""Plain ways to forecast the bottles of the days ahead, for comparison.

Each takes what a household has on record and gives a distribution of the bottles opened
within some days. With nothing on record they all fall back on the prescription.

References:
    Croston, Oper. Res. Q. 23:289-303, 1972; Syntetos & Boylan, Int. J. Forecasting
    21:303-314, 2005 (factor 1 - a/2); Teunter, Syntetos & Babai, Eur. J. Oper. Res.
    214:606-615, 2011 (all from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SMOOTHING = 0.1
RECENT_DAYS = 14
RECENT_SESSIONS = 14
_DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a plain method is told.

    Attributes:
        daily: bottles opened on each day from the one after the first session to the last
            on record. Counting the first session in would make a short record look busy.
        sessions: gap before it and bottles, of each session but the first. [(days, bottles)]
        since_last: days from the last session to the last day on record. [days]
        gap_days: usual gap of the prescription. [days]
        seed: for the method that draws at random.
    """

    daily: tuple[int, ...]
    sessions: tuple[tuple[int, int], ...]
    since_last: int
    gap_days: float
    seed: int


def known_of(
    past: Sequence[tuple[int, int]], *, is_evening: bool, gap_days: float, seed: int
) -> Known:
    """Arrange recorded sessions, given as days before the plan and bottles, oldest first."""
    last_day = 0 if is_evening else 1  # the last day that is over, in days before the plan
    length = past[0][0] - last_day if past else 0
    daily = [0] * length
    for before, bottles in past[1:]:
        daily[length - 1 - (before - last_day)] += bottles
    gaps = [a[0] - b[0] for a, b in pairwise(past)]
    return Known(
        daily=tuple(daily),
        sessions=tuple((gap, one[1]) for gap, one in zip(gaps, past[1:], strict=True)),
        since_last=past[-1][0] - last_day if past else 0,
        gap_days=gap_days,
        seed=seed,
    )


def poisson(mean: float) -> Floats:
    """Poisson probabilities from 0 to far past the mean."""
    size = int(mean + 12.0 * math.sqrt(mean + 1.0)) + 12
    logs = np.cumsum([0.0, *(math.log(max(mean, 1e-12) / n) for n in range(1, size))])
    chances = np.exp(logs - mean)
    whole: Floats = chances / chances.sum()
    return whole


def prescribed(known: Known, days: int) -> Floats:
    """As many sessions as prescribed, one bottle each; a part of one as its chance."""
    sessions = days / known.gap_days
    whole = math.floor(sessions + 1e-9)
    chances = np.zeros(whole + 2)
    chances[whole + 1] = max(sessions - whole, 0.0)
    chances[whole] = 1.0 - chances[whole + 1]
    return chances


def recent_average(known: Known, days: int) -> Floats:
    """Poisson around the average of the last 14 days."""
    recent = known.daily[-RECENT_DAYS:]
    return _poisson_a_day(float(np.mean(recent)) if recent else None, known, days)


def smoothed(known: Known, days: int) -> Floats:
    """Poisson around simple exponential smoothing of the bottles a day."""
    return _poisson_a_day(smooth_level(known.daily), known, days)


def croston(known: Known, days: int) -> Floats:
    """Poisson around Croston's mean with the factor of Syntetos & Boylan."""
    mean = croston_mean(known.daily)
    corrected = None if mean is None else (1.0 - SMOOTHING / 2.0) * mean
    return _poisson_a_day(corrected, known, days)


def tsb(known: Known, days: int) -> Floats:
    """Poisson around the mean of Teunter, Syntetos & Babai."""
    return _poisson_a_day(tsb_mean(known.daily), known, days)


def sessions_again(known: Known, days: int) -> Floats:
    """The last sessions drawn again and again, each with the gap before it."""
    recent = known.sessions[-RECENT_SESSIONS:]
    if not recent:
        return recent_average(known, days)
    rng = np.random.default_rng(known.seed)
    counts = [_draw_again(recent, known.since_last, days, rng) for _ in range(_DRAWS)]
    chances: Floats = np.bincount(counts) / _DRAWS
    return chances


METHODS: dict[str, Callable[[Known, int], Floats]] = {
    "prescribed count": prescribed,
    "last 14 days": recent_average,
    "exponential smoothing": smoothed,
    "Croston, corrected": croston,
    "TSB": tsb,
    "sessions drawn again": sessions_again,
}


def _poisson_a_day(per_day: float | None, known: Known, days: int) -> Floats:
    return poisson(days * (1.0 / known.gap_days if per_day is None else per_day))


def smooth_level(daily: Sequence[int]) -> float | None:
    """Level of simple exponential smoothing, started at the first value."""
    if not daily:
        return None
    level = float(daily[0])
    for value in daily[1:]:
        level += SMOOTHING * (value - level)
    return level


def croston_mean(daily: Sequence[int]) -> float | None:
    """Croston's mean a day: size over interval, both started at the first ones seen."""
    days = [n for n, value in enumerate(daily, 1) if value]
    if not days:
        return None
    sizes = [value for value in daily if value]
    intervals = [b - a for a, b in zip([0, *days], days, strict=False)]
    size, interval = float(sizes[0]), float(intervals[0])
    for next_size, next_interval in zip(sizes[1:], intervals[1:], strict=True):
        size += SMOOTHING * (next_size - size)
        interval += SMOOTHING * (next_interval - interval)
    return size / interval


def tsb_mean(daily: Sequence[int]) -> float | None:
    """Chance of use a day times size, the chance smoothed every day."""
    sizes = [value for value in daily if value]
    if not sizes:
        return None
    chance, size = float(daily[0] > 0), float(sizes[0])
    for value in daily[1:]:
        chance += SMOOTHING * ((value > 0) - chance)
        if value:
            size += SMOOTHING * (value - size)
    return chance * size


def _draw_again(
    recent: Sequence[tuple[int, int]], since_last: int, days: int, rng: np.random.Generator
) -> int:
    bottles, day = 0, -since_last
    is_first = True
    while True:
        able = [one for one in recent if not is_first or one[0] > since_last] or list(recent)
        gap, opened = able[int(rng.integers(len(able)))]
        day = max(day + gap, 1)
        is_first = False
        if day > days:
            return bottles
        bottles += opened
