"""How good a probability forecast was, once it is known what happened.

A distribution of a day or a count is a list of probabilities of 0, 1, 2, ...; what is
missing to 1 lies beyond the last entry.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

BEYOND = 10**6
"""The place of everything that lies past the end of a distribution."""


def quantile(cumulative: Sequence[float], chance: float) -> int:
    """First place with at least this cumulative probability, `BEYOND` when there is none."""
    reached = np.flatnonzero(np.asarray(cumulative) >= chance - 1e-12)
    return int(reached[0]) if len(reached) else BEYOND


def reached_by(cumulative: Sequence[float], place: int) -> float:
    """Cumulative probability up to and including a place."""
    if place < 0:
        return 0.0
    return float(cumulative[place]) if place < len(cumulative) else 1.0


def pit_range(cumulative: Sequence[float], happened: int) -> tuple[float, float]:
    """Cumulative probability before and including what happened.

    The probability integral transform of a discrete forecast is the uniform distribution
    on this range (Czado, Gneiting & Held, Biometrics 65:1254-1261, 2009, eq. 2; from
    memory); nothing is drawn at random. What lies beyond the end is one last place.
    """
    if happened >= len(cumulative):
        return float(cumulative[-1]), 1.0
    return reached_by(cumulative, happened - 1), float(cumulative[happened])


def pit_share(ranges: Sequence[tuple[float, float]], low: float, high: float) -> float:
    """Mean share of the transforms between two chances; `high - low` when calibrated."""
    a, b = np.array([r[0] for r in ranges]), np.array([r[1] for r in ranges])
    width = np.maximum(b - a, 1e-12)
    inside = np.clip(np.minimum(b, high) - np.maximum(a, low), 0.0, None) / width
    return float(np.minimum(inside, 1.0).mean())


def ranked_probability_score(pmf: Sequence[float], happened: int) -> float:
    """CRPS of a count: the sum of (F(k) - 1{happened <= k}) squared over k.

    Epstein, J. Appl. Meteorol. 8:985-987, 1969; for counts Czado, Gneiting & Held 2009
    (both from memory). The distribution must be given to its end.
    """
    size = max(len(pmf), happened + 1)
    cumulative = np.ones(size)
    cumulative[: len(pmf)] = np.cumsum(pmf)
    cumulative[len(pmf) :] = cumulative[len(pmf) - 1]
    return float(((cumulative - (np.arange(size) >= happened)) ** 2).sum())


def pinball(level: float, happened: float, forecast: float) -> float:
    """Loss of one quantile forecast (Koenker & Bassett, Econometrica 46:33-50, 1978; memory)."""
    miss = happened - forecast
    return max(level * miss, (level - 1.0) * miss)


def interval_score(level: float, happened: float, low: float, high: float) -> float:
    """Width of a central interval and the penalty for missing it.

    Gneiting & Raftery, JASA 102:359-378, 2007, eq. 43 (from memory).
    """
    outside = max(low - happened, happened - high, 0.0)
    return (high - low) + 2.0 / (1.0 - level) * outside


def bootstrap_interval(
    differences: Sequence[float], seed: int, draws: int = 2000
) -> tuple[float, float]:
    """95 percent interval of a mean, households drawn again with replacement.

    Percentile interval, Efron & Tibshirani, An Introduction to the Bootstrap, 1993, ch. 13
    (from memory).
    """
    values = np.asarray(differences, dtype=np.float64)
    rng = np.random.default_rng(seed)
    means = [values[rng.integers(len(values), size=len(values))].mean() for _ in range(draws)]
    low, high = np.quantile(means, [0.025, 0.975])
    return float(low), float(high)
