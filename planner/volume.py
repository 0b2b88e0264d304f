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
from collections.abc import Iterable, Iterator, Sequence
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
_AT_ONCE = 8
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
    filter_ = _RateFilter(catheter)
    filter_.observe(list(_visits(catheter, sessions, away)))
    if sessions and _was_away(sessions[-1], (until - timedelta(seconds=1)).date(), away):
        filter_.forget_carry()
    return filter_.knowledge(sessions[-1].started_at if sessions else until)


class _Visit(NamedTuple):
    """A session as learning sees it.

    Attributes:
        days: since the session before it. [days]
        gap_days: days of which the fluid was held; None when nobody knows. [days]
        limit_ml: session limit of its day. [mL]
    """

    session: Session
    days: float
    gap_days: float | None
    limit_ml: int


def _visits(
    catheter: Catheter, sessions: Sequence[Session], away: Sequence[DateRange]
) -> Iterator[_Visit]:
    for n, session in enumerate(sessions):
        last = sessions[n - 1] if n else None
        days = max(days_between(last.started_at, session.started_at), 0.0) if last else 0.0
        was_away = last is None or _was_away(last, session.drained_on, away)
        gap_days = None if was_away else max(days, _SHORTEST_GAP_DAYS)
        yield _Visit(session, days, gap_days, session_limit_ml(catheter, session.drained_on))


def _was_away(last: Session, until: date, away: Iterable[DateRange]) -> bool:
    """Whether the household was away at some time between a session and a day."""
    since = DateRange(last.drained_on, max(until + timedelta(days=1), last.drained_on))
    return any(since.overlaps(one) for one in away)


class _RateFilter:
    """The grid filter in motion. Private: callers see `RateKnowledge` only."""

    def __init__(self, catheter: Catheter) -> None:
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
        self._learned_from = 0

    def observe(self, visits: Sequence[_Visit]) -> None:
        """Move from session to session and learn from their volumes."""
        for first in range(0, len(visits), _AT_ONCE):
            some = visits[first : first + _AT_ONCE]
            for visit, likelihood in zip(some, self._likelihoods(some), strict=True):
                self._advance(visit.days)
                if likelihood is not None:
                    self._learn(likelihood)

    def forget_carry(self) -> None:
        """Fluid left behind has been drained elsewhere, or nobody knows."""
        self._carry_ml = None

    def _likelihoods(self, visits: Sequence[_Visit]) -> list[Floats | None]:
        """What each session says of the rate; None where it says nothing.

        Those that need neither a limit nor a carry are worked out together, which is quicker.
        """
        spread = self._spreads[None, :, None]
        found: list[Floats | None] = [None] * len(visits)
        simple: dict[int, Floats] = {}  # log noise at the middle of the grid, by drift
        for n, (session, days, gap_days, limit_ml) in enumerate(visits):
            self._centres = self._centres + self._drifts * days
            if gap_days is None:
                self.forget_carry()
                continue
            censored = session.is_censored(limit_ml)
            if self._carry_ml is None and not censored and not session.is_dry:
                simple[n] = math.log(session.volume_ml / gap_days) - self._centres
                continue
            ln_held = self._ln_held(gap_days)
            found[n] = _likelihood(session, ln_held, spread, censored=censored)
            self._carry_ml = (
                _left_behind(ln_held, spread, session.volume_ml, cap_ml=float(limit_ml))
                if censored
                else None
            )
        if simple:
            z = np.array(list(simple.values()))[:, :, None, None] - self._offsets
            for n, likelihood in zip(simple, _seen_chance(z, spread), strict=True):
                found[n] = likelihood
        return found

    def _advance(self, days: float) -> None:
        sd = assumptions.RATE_WALK_SD_PER_SQRT_DAY * math.sqrt(days)
        jumped = 1.0 - (1.0 - assumptions.JUMP_CHANCE_PER_DAY) ** days
        smooth = diffuse(self._weights, sd, LEARNING_STEP)
        # One product of two-dimensional arrays is much quicker than one for each drift.
        leaving = jumped * (smooth.reshape(-1, smooth.shape[-1]) @ self._jump[0])
        self._weights = (1.0 - jumped) * smooth
        self._weights += (leaving @ self._jump[1]).reshape(smooth.shape)

    def _learn(self, likelihood: Floats) -> None:
        likelihood *= self._weights
        total = float(likelihood.sum())
        if total > 0.0:
            likelihood /= total
            self._weights = likelihood
        self._learned_from += 1

    def _ln_held(self, gap_days: float) -> Floats:
        """Logarithm of the fluid held; without a carry it is the same for all spreads."""
        x = (self._centres[:, None] + self._offsets)[:, None, :]
        if self._carry_ml is None:
            return x + math.log(gap_days)
        return np.log(self._carry_ml + np.exp(x) * gap_days)

    def knowledge(self, known_at: datetime) -> RateKnowledge:
        return RateKnowledge(
            known_at=known_at,
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


def _seen_chance(z: Floats, spread: Floats) -> Floats:
    """Likelihood of a session that drained all there was: z is its log noise."""
    seen = _noise_density(z, spread)
    seen *= 1.0 - assumptions.DRY_CHANCE
    return seen


def _likelihood(session: Session, ln_held: Floats, spread: Floats, *, censored: bool) -> Floats:
    """Likelihood of what was recorded, given what was held."""
    wet = 1.0 - assumptions.DRY_CHANCE
    if session.is_dry:
        if censored:  # stopped at once for pain or a full bottle: it says nothing
            return np.ones(np.broadcast_shapes(ln_held.shape, spread.shape))
        below = 1.0 - noise_survival(math.log(DRY_ML) - ln_held, spread)
        return assumptions.DRY_CHANCE + wet * below
    z = math.log(session.volume_ml) - ln_held
    return wet * noise_survival(z, spread) if censored else _seen_chance(z, spread)


def _left_behind(ln_held: Floats, spread: Floats, drained_ml: int, *, cap_ml: float) -> Floats:
    """Mean fluid left behind by a session that had to stop, from 0 to `cap_ml`.

    E[V - v | V >= v] for log-normal V, the usual noise without outliers.
    """
    z = (math.log(max(drained_ml, DRY_ML)) - ln_held) / spread
    at_least = np.maximum(normal_cdf(-z), 1e-12)
    mean = np.exp(ln_held + 0.5 * spread**2) * normal_cdf(spread - z) / at_least
    left: Floats = np.clip(mean - drained_ml, 0.0, cap_ml)
    return left
