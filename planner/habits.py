"""How regularly sessions take place: what is learned, and how sure it is.

A habit is a chance or a mean gap with a posterior. Forecasts take a few points of it, each
with its weight, so that doubt about the habit stays in the dates; one household keeps its
habit for the whole horizon.

References:
    Conjugate beta-binomial and Dirichlet updates, Gelman et al., Bayesian Data Analysis,
    3rd ed., 2013, sections 2.4 and 3.4 (memory); Gauss-Jacobi points from the three-term
    recurrence, Golub & Welsch, Math. Comp. 23:221-230, 1969 (memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planner import assumptions
from planner.normal import Floats

_NEGLIGIBLE_WEIGHT = 1e-3
_CERTAIN = 1e-5
_STEEPEST = 40.0
_TRIES = 60
_FLAT = 1e-300
_SAME_SLOPE = 1e-13


@dataclass(frozen=True, slots=True, kw_only=True)
class BetaHabit:
    """A chance with a beta posterior: pseudo-counts for and against."""

    hits: float
    misses: float

    @property
    def mean(self) -> float:
        """Posterior mean. [fraction]"""
        return self.hits / (self.hits + self.misses)

    @property
    def sd(self) -> float:
        """Posterior standard deviation."""
        total = self.hits + self.misses
        return math.sqrt(max(self.hits * self.misses, 0.0) / (total + 1.0)) / total

    def learned(self, hits: float, misses: float) -> BetaHabit:
        """The habit after seeing so many more for and against."""
        return BetaHabit(hits=self.hits + hits, misses=self.misses + misses)

    def at(self, score: float) -> float:
        """The chance so many standard deviations above the mean. [fraction]"""
        return min(max(self.mean + score * self.sd, 0.0), 1.0)

    def doubt(self) -> Doubt:
        """Points that stand for the posterior; more of them the less is known."""
        if self.sd < _CERTAIN:
            return _NO_DOUBT
        points, weights = beta_points(self.hits, self.misses)
        return Doubt(weights=weights, scores=(points - self.mean) / self.sd)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Weighted points of a posterior, in standard deviations towards more use."""

    weights: Floats
    scores: Floats


_NO_DOUBT = Doubt(weights=np.ones(1), scores=np.zeros(1))


def beta_points(hits: float, misses: float) -> tuple[Floats, Floats]:
    """Gauss-Jacobi points and weights of a beta distribution.

    n points give every moment up to degree 2n - 1. Points of next to no weight are left out.
    """
    count = 5 if hits < 3.0 else 4 if hits < 8.0 else 3
    below, above = misses - 1.0, hits - 1.0
    total = below + above
    n = np.arange(1, count)
    middle = np.empty(count)
    middle[0] = (above - below) / (total + 2.0)
    middle[1:] = (above**2 - below**2) / ((2 * n + total) * (2 * n + total + 2.0))
    side = np.empty(count - 1)
    side[0] = 4.0 * (1.0 + below) * (1.0 + above) / ((2.0 + total) ** 2 * (3.0 + total))
    n = np.arange(2, count)
    side[1:] = (4.0 * n * (n + below) * (n + above) * (n + total)) / (
        (2 * n + total) ** 2 * (2 * n + total + 1.0) * (2 * n + total - 1.0)
    )
    off = np.sqrt(side)
    points, vectors = np.linalg.eigh(np.diag(middle) + np.diag(off, 1) + np.diag(off, -1))
    weights = vectors[0] ** 2
    kept = weights > _NEGLIGIBLE_WEIGHT
    return (points[kept] + 1.0) / 2.0, weights[kept] / weights[kept].sum()


def gap_weights(
    every_n_days: int, gaps: Sequence[int], longest: int | None = None
) -> dict[int, float]:
    """Pseudo-counts of the days between sessions: a Dirichlet around N, learned.

    Args:
        every_n_days: the prescribed N. [days]
        gaps: days between recorded sessions under this regimen. [days]
        longest: longer gaps count as this long: somebody forgot or was away. [days]
    """
    cap = longest or 3 * every_n_days + 1
    weights: dict[int, float] = {}
    for slip, chance in assumptions.GAP_SLIP_CHANCES.items():
        gap = min(max(every_n_days + slip, 1), cap)
        weights[gap] = weights.get(gap, 0.0) + assumptions.GAP_WEIGHT * chance
    for gap in gaps:
        weights[min(gap, cap)] = weights.get(min(gap, cap), 0.0) + 1.0
    return dict(sorted(weights.items()))


def gap_chances(
    every_n_days: int, gaps: Sequence[int], longest: int | None = None
) -> dict[int, float]:
    """Posterior mean distribution of the days between sessions, summing to 1."""
    weights = gap_weights(every_n_days, gaps, longest)
    total = sum(weights.values())
    return {gap: weight / total for gap, weight in weights.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class GapHabit:
    """The days between sessions with a Dirichlet posterior: pseudo-counts by gap."""

    weights: Mapping[int, float]

    def _lengths_and_chances(self) -> tuple[Floats, Floats]:
        lengths = np.array(list(self.weights), dtype=np.float64)
        weights = np.array(list(self.weights.values()))
        return lengths, weights / weights.sum()

    def mean_and_sd(self) -> tuple[float, float]:
        """Posterior mean of the mean gap, and its standard deviation. [days]"""
        lengths, chances = self._lengths_and_chances()
        mean = float(lengths @ chances)
        variance = float((lengths - mean) ** 2 @ chances)
        return mean, math.sqrt(variance / (sum(self.weights.values()) + 1.0))

    def doubt(self) -> Doubt:
        """Points of the mean gap, as a beta distribution between shortest and longest gap."""
        mean, sd = self.mean_and_sd()
        shortest, longest = min(self.weights), max(self.weights)
        if sd < _CERTAIN:
            return _NO_DOUBT
        share = (mean - shortest) / (longest - shortest)
        spread = sd / (longest - shortest)
        count = share * (1.0 - share) / spread**2 - 1.0
        points, weights = beta_points(share * count, (1.0 - share) * count)
        return Doubt(weights=weights, scores=-(points - share) / spread)

    def at(self, score: float) -> dict[int, float]:
        """Chances of each gap when the mean gap is so many deviations shorter.

        Of all distributions with that mean the one nearest to the posterior mean (least
        relative entropy), which is an exponential tilt.
        """
        lengths, chances = self._lengths_and_chances()
        mean, sd = self.mean_and_sd()
        wanted = min(max(mean - score * sd, lengths[0]), lengths[-1])
        from_wanted = lengths - wanted
        low, high = -_STEEPEST, _STEEPEST
        slope, tilted = 0.0, chances
        for _ in range(_TRIES):  # Newton's method, halving where it would leave the bracket
            tilted = chances * np.exp(slope * from_wanted)
            tilted = tilted / tilted.sum()
            off = float(tilted @ from_wanted)
            low, high = (slope, high) if off < 0.0 else (low, slope)
            nearer = slope - off / max(float(tilted @ from_wanted**2) - off * off, _FLAT)
            if not low <= nearer <= high:
                nearer = 0.5 * (low + high)
            if abs(nearer - slope) < _SAME_SLOPE:
                break
            slope = nearer
        return {int(gap): float(chance) for gap, chance in zip(lengths, tilted, strict=True)}


def hazards(chances: Mapping[int, float], ages: int) -> Floats:
    """Chance of a session today by days since the last one, for ages 1 to `ages`.

    Past the longest gap, and at the last age, a session is due: chance 1.
    """
    due = np.ones(ages)
    left = 1.0
    for age in range(1, ages):
        chance = chances.get(age, 0.0)
        if left > 1e-12:
            due[age - 1] = min(chance / left, 1.0)
        left -= chance
    return due


def gap_hazards(every_n_days: int, gaps: Sequence[int], ages: int) -> Floats:
    """Hazards of the posterior mean distribution of gaps, for ages 1 to `ages`."""
    return hazards(gap_chances(every_n_days, gaps, min(ages, 3 * every_n_days + 1)), ages)
