"""How fast fluid accumulates: the model, where it starts, and what is known of it.

The model, per catheter. x is the logarithm of the rate in mL per day. From day to day

    x(t + 1) = x(t) + drift + walk_sd * normal.

While learning, x may also jump on any day with a small chance, so that a few surprising
sessions in a row are taken for a change and not each for an outlier; the forecast goes on
from there without further jumps. A session after `gap` days finds

    held = carry + exp(x) * gap,      V = held * exp(noise),

with `carry` the fluid the last session left behind. Noise is normal with the household's
own spread, one session in twenty being an outlier of three times that spread. A small
share of sessions yields nothing whatever is held. What is recorded is min(V, limit), so a
session that ended at the limit, at a full last bottle or for pain is a lower bound
(right-censored), and a dry one an upper bound.

`planner.learning` learns it from the record, `planner.chain` goes on from there. Rates are in
mL per day and never per session, because volume follows the gap.

References:
    Durbin & Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, ch. 2,
    local level model (memory); right-censored likelihood as in Lawless, Statistical Models
    and Methods for Lifetime Data, 2nd ed., 2003, ch. 2 (memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from planner import assumptions
from planner.assumptions import UNKNOWN_PRIORS, USUAL_SESSION_LIMIT_ML, VOLUME_PRIORS, VolumePrior
from planner.household import Catheter
from planner.normal import Floats, Integers, normal_cdf
from planner.regimen import regimen_on

LEARNING_STEP = 0.04
"""Spacing of the grid of x on which rates are learned; forecasts use every third point."""

_ROUNDING = 1e-9
_BLOCK = 32
_ROOT_OF_TWO_PI = math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True, kw_only=True)
class RateKnowledge:
    """What is known of a catheter's log rate at one moment.

    Axes: drift (D), spread (S), grid of x (X).

    Attributes:
        known_at: the moment it refers to: the last drain, or when none, the start.
        drifts: change of x per day, one per drift. [1/day]
        spreads: standard deviation of the noise, one per spread.
        centres: middle of the grid at `known_at`, one per drift.
        offsets: grid points relative to the centre. [X]
        weights: joint posterior probability. [D, S, X]
        carry_ml: expected fluid left behind by the last drain. [D, S, X], mL
        learned_from: sessions whose volume was used.
        prior_sd: spread of x that the starting expectation had.
    """

    known_at: datetime
    drifts: Floats
    spreads: Floats
    centres: Floats
    offsets: Floats
    weights: Floats
    carry_ml: Floats
    learned_from: int
    prior_sd: float

    def log_rates(self) -> Floats:
        """Values of x on the grid. [D, X]"""
        values: Floats = self.centres[:, None] + self.offsets[None, :]
        return values

    def mean_and_sd(self) -> tuple[float, float]:
        """Mean and standard deviation of x."""
        mass = self.weights.sum(axis=1)
        x = self.log_rates()
        mean = float((mass * x).sum())
        return mean, math.sqrt(max(float((mass * (x - mean) ** 2).sum()), 0.0))

    def quantile_ml_per_day(self, chance: float) -> float:
        """The rate not exceeded with this probability. [mL/day]"""
        mass = self.weights.sum(axis=1)
        return math.exp(weighted_quantile(self.log_rates(), mass, chance))


def weighted_quantile(values: Floats, weights: Floats, chance: float) -> float:
    """The value not exceeded with this probability, read between grid points."""
    order = np.argsort(values, axis=None)
    mass = weights.ravel()[order]
    reached = np.cumsum(mass)
    middle = (reached - 0.5 * mass) / reached[-1]
    return float(np.interp(chance, middle, values.ravel()[order]))


def volume_prior(catheter: Catheter) -> VolumePrior:
    """The starting expectation for a catheter: its group, or the prescriber's figure."""
    known = VOLUME_PRIORS.get(catheter.clinical_group, UNKNOWN_PRIORS[catheter.site])
    if catheter.expected_ml_per_day is None:
        return known
    return VolumePrior(
        median_ml_per_day=float(catheter.expected_ml_per_day),
        between_sd=min(assumptions.EXPECTED_VOLUME_SD, known.between_sd),
        session_sd=known.session_sd,
        weekly_drift=known.weekly_drift,
    )


def session_limit_ml(catheter: Catheter, day: date) -> int:
    """The most that one session may drain: the prescriber's figure, else common practice."""
    regimen = regimen_on(catheter.regimens, day) or min(
        catheter.regimens, key=lambda regimen: regimen.starts_on
    )
    if regimen.session_limit_ml is not None:
        return regimen.session_limit_ml
    return USUAL_SESSION_LIMIT_ML[catheter.site]


def diffuse(weights: Floats, sd: float, step: float) -> Floats:
    """Spread weights along the last axis by a random step of this standard deviation.

    What would leave the grid is mirrored at its end.
    """
    walk = random_walk(sd, step)
    points = weights.shape[-1]
    sources = _sources(points, walk.reach)
    near_by = weights.reshape(-1, points).take(sources, axis=1, mode="clip")
    moved = near_by.reshape(-1, sources.shape[1]) @ _landings(walk)
    return moved.reshape(*weights.shape[:-1], -1)[..., :points]


@lru_cache(maxsize=256)
def _sources(points: int, reach: int) -> Integers:
    """Grid points from which a walk may come to each block of points. [block, source]"""
    blocks = np.arange(0, points, _BLOCK)[:, None]
    there_and_back = (blocks + np.arange(-reach, _BLOCK + reach)) % (2 * points)
    mirrored: Integers = np.minimum(there_and_back, 2 * points - 1 - there_and_back)
    return mirrored


class RandomWalk(NamedTuple):
    """A normal step on a grid, made of small ones that go one or two points up or down.

    Attributes:
        rounds: how many small steps.
        near: chance of one point up in a small step, and of one down.
        far: the same of two points.
    """

    rounds: int
    near: float
    far: float

    @property
    def reach(self) -> int:
        """Points that the whole step may go at most."""
        return self.rounds * (2 if self.far else 1)


def random_walk(sd: float, step: float) -> RandomWalk:
    """The walk that has the moments of a normal step up to the fifth.

    A sampled normal kernel would be badly wrong when the grid is coarser than the step. A step
    of less than a third of the grid's variance keeps its variance only.

    Args:
        sd: standard deviation of the step.
        step: spacing of the grid.
    """
    variance = (sd / step) ** 2
    rounds = max(1, math.floor(3.0 * variance + _ROUNDING))
    small = variance / rounds
    far = max((3.0 * small - 1.0) * small / 24.0, 0.0)
    if far < _ROUNDING:
        far = 0.0
    return RandomWalk(rounds, 0.5 * small - 4.0 * far, far)


@lru_cache(maxsize=256)
def _landings(walk: RandomWalk) -> Floats:
    """Chance of a walk from a source to each point of a block. [source, point]"""
    up = [walk.near, walk.far][: 2 if walk.far else 1]
    small = np.array([*up[::-1], 1.0 - 2.0 * sum(up), *up])
    whole = np.ones(1)
    for _ in range(walk.rounds):
        whole = np.convolve(whole, small)
    steps_down = np.arange(_BLOCK + 2 * walk.reach)[:, None] - np.arange(_BLOCK)
    within = (steps_down >= 0) & (steps_down < len(whole))
    return np.where(within, whole[np.where(within, steps_down, 0)], 0.0)


def noise_survival(z: Floats, spread: Floats) -> Floats:
    """Probability that log noise exceeds z: normal with outliers."""
    usual = normal_cdf(-z / spread)
    outlier = normal_cdf(-z / (assumptions.OUTLIER_SCALE * spread))
    mixed: Floats = (
        1.0 - assumptions.OUTLIER_CHANCE
    ) * usual + assumptions.OUTLIER_CHANCE * outlier
    return mixed


def _noise_density(z: Floats, spread: Floats) -> Floats:
    """Density of log noise; in place, as memory is what takes time here."""
    wide = assumptions.OUTLIER_SCALE * spread
    squares = z * z
    mixed: Floats = squares * (-0.5 / spread**2)
    outlier = squares * (-0.5 / wide**2)
    np.exp(mixed, out=mixed)
    np.exp(outlier, out=outlier)
    mixed *= (1.0 - assumptions.OUTLIER_CHANCE) / (spread * _ROOT_OF_TWO_PI)
    outlier *= assumptions.OUTLIER_CHANCE / (wide * _ROOT_OF_TWO_PI)
    mixed += outlier
    return mixed


def seen_chance(z: Floats, spread: Floats) -> Floats:
    """Likelihood of a session that drained all there was: z is its log noise."""
    seen = _noise_density(z, spread)
    seen *= 1.0 - assumptions.DRY_CHANCE
    return seen


def seen_chances(middles: Floats, offsets: Floats, spreads: Floats) -> Floats:
    """Likelihoods of sessions that drained all there was. [session, D, S, X]

    Args:
        middles: log noise at the middle of the grid, by session and drift.
        offsets: grid points relative to the middle. [X]
        spreads: standard deviation of the noise. [S]
    """
    z = middles[:, :, None, None] - offsets
    return seen_chance(z, spreads[None, :, None])
