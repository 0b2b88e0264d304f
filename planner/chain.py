"""One catheter as a Markov chain, day by day: rate, days since the last drain, carry-over.

This file holds the chain's state and its one-day probabilities; `planner.demand` runs it.

State of a catheter on the morning of a day:

    x       log rate, on a grid that moves with the drift;
    age     days since the last session, from 1 up to a longest age;
    carry   fluid the last session left behind because it reached the limit, in steps of
            half a usual gap's worth of fluid, from 0 to 2 steps.

Days are independent given the state. Doubt about drift (and about the frequency when it
is led by symptoms) is a mixture over `component`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from planner import assumptions
from planner.consumption import bottle_thresholds, losses_given_bottles
from planner.dates import days_between, end_of_day
from planner.normal import Floats
from planner.timing import SessionTiming
from planner.volume import GRID_STEP, RateKnowledge, diffuse, noise_survival

CARRY_LEVELS = 2
_REACH_SDS = 4.5
_NEGLIGIBLE_LIMIT_CHANCE = 1e-5
_TABLE_EDGE = 12.0
_TABLE_POINTS = 6001


@dataclass(frozen=True, slots=True, kw_only=True)
class BottleSizes:
    """Bottles a session opens and the most it may drain. [mL]"""

    first_ml: int
    further_ml: int
    limit_ml: int

    @property
    def thresholds(self) -> tuple[float, ...]:
        """Volumes above which one more bottle is opened. [mL]"""
        return bottle_thresholds(self.limit_ml, self.first_ml, self.further_ml)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One way a session can end: bottles opened, losses included, and carry level after."""

    bottles: int
    carry: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterChain:
    """A catheter's chain over the days of the horizon.

    Axes: component (P), grid of x (X), state (J) = carry level times ages.

    Attributes:
        start: probability of each state on day `first_day`. [P, X, J]
        first_day: 0, or 1 when the session of the plan's day is already done.
        session_chance: probability of a session. [P, day, J]
        restarts: days that begin with age 1 and no carry.
        outcomes: ways a session can end.
        ages: number of ages.
        carry_levels: number of carry levels, 1 when the limit does not bind.
    """

    start: Floats
    first_day: int
    session_chance: Floats
    restarts: frozenset[int]
    outcomes: tuple[Outcome, ...]
    ages: int
    carry_levels: int
    walk: Floats
    timing: SessionTiming
    _ln_rates: Floats
    _drifts: Floats
    _noise_tables: Floats
    _ln_held_days: Floats
    _sizes: BottleSizes
    _carry_step_days: float
    _loss_rows: Floats

    @property
    def horizon_days(self) -> int:
        """Days the chain covers."""
        return int(self.session_chance.shape[1])

    @property
    def most_bottles(self) -> int:
        """Most bottles one session can open."""
        return max(outcome.bottles for outcome in self.outcomes)

    def ln_rates(self, day: int) -> Floats:
        """Grid values of x on a day. [P, X]"""
        values: Floats = self._ln_rates + self._drifts[:, None] * day
        return values

    def outcome_chances(self, day: int) -> Floats:
        """Probability of each outcome of a session, given the state. [P, X, O, J]"""
        x = self.ln_rates(day)
        ln_held = x[:, :, None] + self._ln_held_days[None, None, :]
        wet = 1.0 - assumptions.DRY_CHANCE
        more = [
            wet * self._survival(math.log(ml) - ln_held) for ml in self._sizes.thresholds
        ]
        carried = [
            wet * self._survival(np.log(self._carry_edge_ml(level, x))[:, :, None] - ln_held)
            for level in range(1, self.carry_levels)
        ]
        exceeded = [np.ones_like(ln_held), *more, *carried]
        below = [*exceeded[1:], np.zeros_like(ln_held)]
        base = np.stack([a - b for a, b in zip(exceeded, below, strict=True)], axis=-2)
        chances: Floats = np.einsum("bo,pxbj->pxoj", self._loss_rows, base)
        return chances

    def _carry_edge_ml(self, level: int, x: Floats) -> Floats:
        edge: Floats = self._sizes.limit_ml + (level - 0.5) * self._carry_step_days * np.exp(x)
        return edge

    def _survival(self, z: Floats) -> Floats:
        at = np.linspace(-_TABLE_EDGE, _TABLE_EDGE, _TABLE_POINTS)
        read = np.stack(
            [np.interp(z[p], at, table) for p, table in enumerate(self._noise_tables)]
        )
        return read


def build_chain(
    knowledge: RateKnowledge,
    timing: SessionTiming,
    sizes: BottleSizes,
    as_of: date,
    loss_chance: float,
) -> CatheterChain:
    """Join what is known of rate and timing into one chain from the day of the plan.

    Args:
        knowledge: posterior of the rate at the last drain.
        timing: chances of a session by day and age.
        sizes: bottles and session limit.
        as_of: day of the plan.
        loss_chance: chance that an opened bottle is lost. [fraction]
    """
    horizon_days = timing.chance.shape[1]
    variants = len(timing.weights)
    lag_days = max(days_between(knowledge.known_at, end_of_day(as_of)) - 0.5, 0.0)
    on_x, offsets, carry_days = _cropped(knowledge, lag_days, horizon_days)
    centres = knowledge.centres + knowledge.drifts * lag_days
    ln_rates = centres[:, None] + offsets[None, :]
    step_days = max(1.0, round(timing.usual_gap_days / 2.0))
    noise_tables = _noise_tables(knowledge)
    ages = timing.chance.shape[2]
    binds = _limit_binds(on_x, ln_rates, noise_tables, sizes, timing.usual_gap_days, horizon_days)
    levels = 1 + CARRY_LEVELS if binds or carry_days.max(initial=0.0) > 0.0 else 1
    first_day, age = (1, 1) if timing.start_age_days == 0 else (0, timing.start_age_days)
    start = np.zeros((*on_x.shape, levels, ages))
    for level, share in _level_shares(carry_days / step_days, levels):
        start[:, :, level, age - 1] += on_x * share
    held_days = np.add.outer(step_days * np.arange(levels), np.arange(1, ages + 1)).ravel()
    outcomes, loss_rows = _outcomes(sizes, levels, loss_chance)
    by_component = np.multiply.outer(timing.weights, start.reshape(*on_x.shape, -1))
    return CatheterChain(
        start=by_component.reshape(variants * on_x.shape[0], on_x.shape[1], -1),
        first_day=first_day,
        session_chance=np.repeat(np.tile(timing.chance, (1, 1, levels)), on_x.shape[0], axis=0),
        restarts=timing.restarts,
        outcomes=outcomes,
        ages=ages,
        carry_levels=levels,
        walk=_walk_matrix(on_x.shape[1]),
        timing=timing,
        _ln_rates=np.tile(ln_rates, (variants, 1)),
        _drifts=np.tile(knowledge.drifts, variants),
        _noise_tables=np.tile(noise_tables, (variants, 1)),
        _ln_held_days=np.log(held_days),
        _sizes=sizes,
        _carry_step_days=step_days,
        _loss_rows=loss_rows,
    )


def _cropped(
    knowledge: RateKnowledge, lag_days: float, horizon_days: int
) -> tuple[Floats, Floats, Floats]:
    """Weights [D, X], offsets [X] and carry [D, X] in days, on the part of the grid in reach.

    Mass outside is put on the edges, so that nothing is lost.
    """
    on_x = knowledge.weights.sum(axis=1)
    walk_sd = assumptions.RATE_WALK_SD_PER_SQRT_DAY
    mass = on_x.sum(axis=0)
    mean = float((mass * knowledge.offsets).sum())
    variance = float((mass * (knowledge.offsets - mean) ** 2).sum())
    reach = _REACH_SDS * math.sqrt(variance + walk_sd**2 * (lag_days + horizon_days))
    first = math.floor((mean - reach) / GRID_STEP)
    last = math.ceil((mean + reach) / GRID_STEP)
    offsets = GRID_STEP * np.arange(first, last + 1)
    weights = np.zeros((on_x.shape[0], len(offsets)))
    carry_ml = np.zeros_like(weights)
    middle = len(knowledge.offsets) // 2
    places = np.clip(np.arange(len(knowledge.offsets)) - middle - first, 0, last - first)
    np.add.at(weights, (slice(None), places), on_x)
    np.add.at(carry_ml, (slice(None), places), (knowledge.weights * knowledge.carry_ml).sum(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        carry_ml = np.where(weights > 0.0, carry_ml / weights, 0.0)
    rates = np.exp(knowledge.centres[:, None] + offsets[None, :])
    weights = diffuse(weights, walk_sd * math.sqrt(lag_days), GRID_STEP)
    return weights, offsets, carry_ml / rates


def _noise_tables(knowledge: RateKnowledge) -> Floats:
    """Survival function of log noise by drift, mixed over what is known of its spread."""
    at = np.linspace(-_TABLE_EDGE, _TABLE_EDGE, _TABLE_POINTS)
    by_spread = np.stack([noise_survival(at, np.float64(s)) for s in knowledge.spreads])
    on_spread = knowledge.weights.sum(axis=2)
    mixed: Floats = (on_spread / on_spread.sum(axis=1, keepdims=True)) @ by_spread
    return mixed


def _limit_binds(
    on_x: Floats,
    ln_rates: Floats,
    noise_tables: Floats,
    sizes: BottleSizes,
    gap_days: float,
    horizon_days: int,
) -> bool:
    """Whether reaching the session limit is likely enough to need carry-over."""
    spread = assumptions.RATE_WALK_SD_PER_SQRT_DAY * math.sqrt(horizon_days)
    later = diffuse(on_x, spread, GRID_STEP)
    z = math.log(sizes.limit_ml) - ln_rates - math.log(1.5 * gap_days)
    at = np.linspace(-_TABLE_EDGE, _TABLE_EDGE, _TABLE_POINTS)
    over = np.stack([np.interp(z[d], at, noise_tables[d]) for d in range(len(z))])
    return float((later * over).sum()) > _NEGLIGIBLE_LIMIT_CHANCE


def _level_shares(levels: Floats, count: int) -> list[tuple[int, Floats]]:
    """Split a fractional level linearly between its two neighbours. [(level, share)]"""
    held = np.clip(levels, 0.0, count - 1)
    return [(level, np.maximum(0.0, 1.0 - np.abs(held - level))) for level in range(count)]


def _walk_matrix(points: int) -> Floats:
    """One day's random step of x as a matrix: new = walk @ old. [X, X]"""
    one = np.eye(points)
    step: Floats = diffuse(one, assumptions.RATE_WALK_SD_PER_SQRT_DAY, GRID_STEP).T
    return step


def _outcomes(
    sizes: BottleSizes, levels: int, loss_chance: float
) -> tuple[tuple[Outcome, ...], Floats]:
    """Outcomes and the matrix from good bottles and carry to outcomes. [B, O]"""
    most = len(sizes.thresholds) + 1
    base = [Outcome(bottles=good, carry=0) for good in range(1, most + 1)]
    base += [Outcome(bottles=most, carry=level) for level in range(1, levels)]
    rows: dict[Outcome, dict[int, float]] = {}
    for n, before in enumerate(base):
        for lost, chance in enumerate(losses_given_bottles(before.bottles, loss_chance)):
            after = Outcome(bottles=before.bottles + lost, carry=before.carry)
            rows.setdefault(after, {})[n] = chance
    outcomes = tuple(rows)
    matrix = np.zeros((len(base), len(outcomes)))
    for o, after in enumerate(outcomes):
        for n, chance in rows[after].items():
            matrix[n, o] = chance
    return outcomes, matrix
