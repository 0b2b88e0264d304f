"""What the recorded sessions say about how fast fluid accumulates.

The model stands in `planner.volume`. Learning is a filter on a grid of x, the log rate, for
each combination of spread and drift, so that doubt about all three stays in the answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from planner import assumptions
from planner.dates import DateRange, days_between
from planner.household import Catheter, Household
from planner.normal import Floats, normal_cdf
from planner.sessions import DRY_ML, Session
from planner.volume import (
    LEARNING_STEP,
    RateKnowledge,
    diffuse,
    noise_survival,
    seen_chance,
    session_limit_ml,
    volume_prior,
)

try:
    from planner.compiled_learning import seen_chances
except (ImportError, RuntimeError):  # no numba, or no folder that it may keep compiled code in
    from planner.volume import seen_chances

_GRID_SDS = 5.0
_SPREAD_POINTS = (-1.5, -0.75, 0.0, 0.75, 1.5)
_DRIFT_POINTS = (-math.sqrt(3.0), 0.0, math.sqrt(3.0))
_DRIFT_WEIGHTS = (1 / 6, 2 / 3, 1 / 6)
_SHORTEST_GAP_DAYS = 0.25
_DAYS_PER_WEEK = 7.0
_SMALLEST_FACTOR = 1e-14
_AT_ONCE = 8


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


def _was_away(last: Session, until: date, away: Sequence[DateRange]) -> bool:
    """Whether the household was away at some time between a session and a day."""
    if not away:
        return False
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
            middles = np.array(list(simple.values()))
            together = seen_chances(middles, self._offsets, self._spreads)
            for n, likelihood in zip(simple, together, strict=True):
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


def _likelihood(session: Session, ln_held: Floats, spread: Floats, *, censored: bool) -> Floats:
    """Likelihood of what was recorded, given what was held."""
    wet = 1.0 - assumptions.DRY_CHANCE
    if session.is_dry:
        if censored:  # stopped at once for pain or a full bottle: it says nothing
            return np.ones(np.broadcast_shapes(ln_held.shape, spread.shape))
        below = 1.0 - noise_survival(math.log(DRY_ML) - ln_held, spread)
        return assumptions.DRY_CHANCE + wet * below
    z = math.log(session.volume_ml) - ln_held
    return wet * noise_survival(z, spread) if censored else seen_chance(z, spread)


def _left_behind(ln_held: Floats, spread: Floats, drained_ml: int, *, cap_ml: float) -> Floats:
    """Mean fluid left behind by a session that had to stop, from 0 to `cap_ml`.

    E[V - v | V >= v] for log-normal V, the usual noise without outliers.
    """
    z = (math.log(max(drained_ml, DRY_ML)) - ln_held) / spread
    at_least = np.maximum(normal_cdf(-z), 1e-12)
    mean = np.exp(ln_held + 0.5 * spread**2) * normal_cdf(spread - z) / at_least
    left: Floats = np.clip(mean - drained_ml, 0.0, cap_ml)
    return left
