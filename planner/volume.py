"""What the recorded sessions say about how fast fluid accumulates.

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

Learning is a filter on a grid of x, for each combination of spread and drift, so that
doubt about all three stays in the answer. Rates are learned in mL per day and never per
session, because volume follows the gap.

References:
    Durbin & Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, ch. 2,
    local level model (memory); right-censored likelihood as in Lawless, Statistical Models
    and Methods for Lifetime Data, 2nd ed., 2003, ch. 2 (memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from planner import assumptions
from planner.assumptions import UNKNOWN_PRIORS, USUAL_SESSION_LIMIT_ML, VOLUME_PRIORS, VolumePrior
from planner.dates import DateRange, days_between
from planner.household import Catheter, Household
from planner.normal import Floats, Integers, normal_cdf
from planner.regimen import regimen_on
from planner.sessions import DRY_ML, Session

LEARNING_STEP = 0.04
"""Spacing of the grid of x on which rates are learned; forecasts use every third point."""

_GRID_SDS = 5.0
_SPREAD_POINTS = (-1.5, -0.75, 0.0, 0.75, 1.5)
_DRIFT_POINTS = (-math.sqrt(3.0), 0.0, math.sqrt(3.0))
_DRIFT_WEIGHTS = (1 / 6, 2 / 3, 1 / 6)
_SHORTEST_GAP_DAYS = 0.25
_DAYS_PER_WEEK = 7.0
_SMALLEST_FACTOR = 1e-14
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
    first = min(catheter.regimens, key=lambda regimen: regimen.starts_on)
    regimen = regimen_on(catheter.regimens, day) or first
    if regimen.session_limit_ml is not None:
        return regimen.session_limit_ml
    return USUAL_SESSION_LIMIT_ML[catheter.site]


def learn_rate(household: Household, catheter: Catheter, until: datetime) -> RateKnowledge:
    """Learn a catheter's rate from its sessions up to a moment.

    The first session at all and the first after days away tell nothing about the rate,
    because nobody recorded when the fluid before them was last drained.
    """
    sessions = [
        session
        for session in household.valid_sessions
        if session.catheter_id == catheter.id and session.started_at <= until
    ]
    away = household.pauses_of(catheter.id)
    start = sessions[0].started_at if sessions else until
    filter_ = _RateFilter(catheter, start)
    for session in sessions:
        was_away = _was_away(filter_.last_drain, session.drained_on, away)
        filter_.observe(session, knows_last_drain=not was_away)
    if sessions and _was_away(filter_.last_drain, (until - timedelta(seconds=1)).date(), away):
        filter_.forget_carry()
    return filter_.knowledge()


def _was_away(last: datetime | None, until: date, away: Iterable[DateRange]) -> bool:
    """Whether the household was away at some time between a drain and a day."""
    if last is None:
        return True
    since = DateRange(last.date(), max(until + timedelta(days=1), last.date()))
    return any(since.overlaps(one) for one in away)


class _RateFilter:
    """The grid filter in motion. Private: callers see `RateKnowledge` only."""

    def __init__(self, catheter: Catheter, start: datetime) -> None:
        self._catheter = catheter
        self._prior = volume_prior(catheter)
        prior = self._prior
        half = 3 * math.ceil(_GRID_SDS * prior.between_sd / LEARNING_STEP / 3)
        self._offsets = LEARNING_STEP * np.arange(-half, half + 1, dtype=np.float64)
        drift_sd = assumptions.WEEKLY_DRIFT_SD
        self._drifts = np.array(
            [(prior.weekly_drift + z * drift_sd) / _DAYS_PER_WEEK for z in _DRIFT_POINTS]
        )
        steps = assumptions.SESSION_SD_LOG_SD * np.array(_SPREAD_POINTS)
        self._spreads = prior.session_sd * np.exp(steps)
        self._jump = _jump_factors(len(self._offsets), LEARNING_STEP, assumptions.JUMP_SD)
        self._centres = np.full(len(self._drifts), prior.log_median)
        on_grid = np.exp(-0.5 * (self._offsets / prior.between_sd) ** 2)
        on_spread = np.exp(-0.5 * np.array(_SPREAD_POINTS) ** 2)
        weights = (
            np.array(_DRIFT_WEIGHTS)[:, None, None]
            * on_spread[None, :, None]
            * on_grid[None, None, :]
        )
        self._weights = weights / weights.sum()
        self._carry_ml: Floats | None = None
        self._now = start
        self._learned_from = 0
        self.last_drain: datetime | None = None

    def observe(self, session: Session, *, knows_last_drain: bool) -> None:
        """Move to a session and learn from its volume."""
        self._advance(session.started_at)
        limit = session_limit_ml(self._catheter, session.drained_on)
        if knows_last_drain and self.last_drain is not None:
            gap = max(days_between(self.last_drain, session.started_at), _SHORTEST_GAP_DAYS)
            self._learn(session, gap_days=gap, limit_ml=limit)
        else:
            self.forget_carry()
        self.last_drain = session.started_at

    def forget_carry(self) -> None:
        """Fluid left behind has been drained elsewhere, or nobody knows."""
        self._carry_ml = None

    def _advance(self, moment: datetime) -> None:
        days = max(days_between(self._now, moment), 0.0)
        self._now = moment
        self._centres = self._centres + self._drifts * days
        sd = assumptions.RATE_WALK_SD_PER_SQRT_DAY * math.sqrt(days)
        jumped = 1.0 - (1.0 - assumptions.JUMP_CHANCE_PER_DAY) ** days
        smooth = diffuse(self._weights, sd, LEARNING_STEP)
        # One product of two-dimensional arrays is much quicker than one for each drift.
        leaving = jumped * (smooth.reshape(-1, smooth.shape[-1]) @ self._jump[0])
        smooth *= 1.0 - jumped
        smooth += (leaving @ self._jump[1]).reshape(smooth.shape)
        self._weights = smooth

    def _learn(self, session: Session, *, gap_days: float, limit_ml: int) -> None:
        ln_held = self._ln_held(gap_days)
        spread = self._spreads[None, :, None]
        censored = session.is_censored(limit_ml)
        weights = _likelihood(session, ln_held, spread, censored=censored)
        weights *= self._weights
        total = float(weights.sum())
        if total > 0.0:
            weights /= total
            self._weights = weights
        self._carry_ml = (
            _left_behind(ln_held, spread, session.volume_ml, cap_ml=float(limit_ml))
            if censored
            else None
        )
        self._learned_from += 1

    def _ln_held(self, gap_days: float) -> Floats:
        """Logarithm of the fluid held; without a carry it is the same for all spreads."""
        x = (self._centres[:, None] + self._offsets)[:, None, :]
        if self._carry_ml is None:
            return x + math.log(gap_days)
        return np.log(self._carry_ml + np.exp(x) * gap_days)

    def knowledge(self) -> RateKnowledge:
        return RateKnowledge(
            known_at=self._now,
            drifts=self._drifts,
            spreads=self._spreads,
            centres=self._centres,
            offsets=self._offsets,
            weights=self._weights,
            carry_ml=np.zeros_like(self._weights) if self._carry_ml is None else self._carry_ml,
            learned_from=self._learned_from,
            prior_sd=self._prior.between_sd,
        )


@lru_cache(maxsize=64)
def _jump_factors(points: int, step: float, jump_sd: float) -> tuple[Floats, Floats]:
    """Where x lands after a sudden change: new = old @ first @ second. [X, N] and [N, X]

    So smooth a matrix is the product of two narrow ones, which are quicker to multiply by.
    """
    offsets = step * np.arange(points, dtype=np.float64)
    far = (offsets[None, :] - offsets[:, None]) / jump_sd
    kernel = np.exp(-0.5 * far**2)
    landing = kernel / kernel.sum(axis=1, keepdims=True)
    left, sizes, right = np.linalg.svd(landing)
    kept = int(np.count_nonzero(sizes > _SMALLEST_FACTOR * sizes[0]))
    first: Floats = np.ascontiguousarray(left[:, :kept] * sizes[:kept])
    second: Floats = np.ascontiguousarray(right[:kept])
    return first, second


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
    landings = np.zeros((_BLOCK + 2 * walk.reach, _BLOCK))
    for point in range(_BLOCK):
        landings[point : point + len(whole), point] = whole
    return landings


def noise_survival(z: Floats, spread: Floats) -> Floats:
    """Probability that log noise exceeds z: normal with outliers."""
    usual = normal_cdf(-z / spread)
    outlier = normal_cdf(-z / (assumptions.OUTLIER_SCALE * spread))
    mixed: Floats = (
        1.0 - assumptions.OUTLIER_CHANCE
    ) * usual + assumptions.OUTLIER_CHANCE * outlier
    return mixed


def _noise_density(z: Floats, spread: Floats) -> Floats:
    wide = assumptions.OUTLIER_SCALE * spread
    squares = z * z
    usual = np.exp(squares * (-0.5 / spread**2))
    usual *= (1.0 - assumptions.OUTLIER_CHANCE) / (spread * _ROOT_OF_TWO_PI)
    mixed: Floats = np.exp(squares * (-0.5 / wide**2))
    mixed *= assumptions.OUTLIER_CHANCE / (wide * _ROOT_OF_TWO_PI)
    mixed += usual
    return mixed


def _likelihood(session: Session, ln_held: Floats, spread: Floats, *, censored: bool) -> Floats:
    """Likelihood of what was recorded, given what was held."""
    wet = 1.0 - assumptions.DRY_CHANCE
    if session.is_dry:
        if censored:  # stopped at once for pain or a full bottle: it says nothing
            return np.ones_like(ln_held)
        below = 1.0 - noise_survival(math.log(DRY_ML) - ln_held, spread)
        return assumptions.DRY_CHANCE + wet * below
    z = math.log(session.volume_ml) - ln_held
    return wet * (noise_survival(z, spread) if censored else _noise_density(z, spread))


def _left_behind(ln_held: Floats, spread: Floats, drained_ml: int, *, cap_ml: float) -> Floats:
    """Mean fluid left behind by a session that had to stop, from 0 to `cap_ml`.

    E[V - v | V >= v] for log-normal V, the usual noise without outliers.
    """
    z = (math.log(max(drained_ml, DRY_ML)) - ln_held) / spread
    at_least = np.maximum(normal_cdf(-z), 1e-12)
    mean = np.exp(ln_held + 0.5 * spread**2) * normal_cdf(spread - z) / at_least
    left: Floats = np.clip(mean - drained_ml, 0.0, cap_ml)
    return left
