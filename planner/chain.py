"""One catheter as a Markov chain, day by day: rate, days since the last drain, carry-over.

This file holds the chain's state and its one-day probabilities; `planner.demand` runs it.

State of a catheter on the morning of a day:

    x       log rate, on a grid that moves with the drift;
    age     days since the last session, from 1 up to a longest age;
    carry   fluid the last session left behind because it reached the limit, in steps of
            half a usual gap's worth of fluid, from 0 to 2 steps.

Where the chance of a session does not depend on age (fixed weekdays, symptom-led) only the
sum of age and carry matters, and the two are one state: days' worth of fluid held.

Days are independent given the state. Doubt about drift (and about the frequency when it
is led by symptoms) is a mixture over components. Doubt about the noise spread is mixed
afresh at every session, which moves run-out chances by less than 0.01.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from planner import assumptions
from planner.consumption import bottle_thresholds, losses_given_bottles
from planner.dates import days_between, end_of_day
from planner.normal import Floats, Integers
from planner.timing import SessionTiming
from planner.volume import (
    LEARNING_STEP,
    RandomWalk,
    RateKnowledge,
    diffuse,
    noise_survival,
    random_walk,
)

COARSER = 3
GRID_STEP = COARSER * LEARNING_STEP
"""Spacing of the grid of x in forecasts: about the posterior spread at its narrowest."""

WALK_EVERY_DAYS = 3
"""The rate steps every third day, in the middle of the days it stands for.

A step of three days' variance on this grid has shares 1/6, 2/3, 1/6, which match the normal
step up to its fifth moment; three single steps would have far too heavy tails.
"""

CARRY_LEVELS = 2
_REACH_SDS = 4.0
_NEGLIGIBLE_LIMIT_CHANCE = 1e-5
TABLE_EDGE = 12.0
"""Log noise up to which its survival function is tabulated."""

_TABLE_POINTS = 6001
_TABLE_AT = np.linspace(-TABLE_EDGE, TABLE_EDGE, _TABLE_POINTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class BottleSizes:
    """Bottles a session opens and the most it may drain.

    Attributes:
        kit_ml: capacity of the bottle of the kit that is ordered. [mL]
        other_kits_ml: the same of kits of other sizes that may be opened too. [mL]
        loose_ml: capacity of a loose bottle; None when further bottles are those of kits. [mL]
        limits_ml: session limit on each day of the horizon. [mL]
    """

    kit_ml: int
    other_kits_ml: tuple[int, ...] = ()
    loose_ml: int | None
    limits_ml: tuple[int, ...]

    def thresholds(self, limit_ml: int, next_kits_ml: Sequence[int] = ()) -> tuple[float, ...]:
        """Volumes above which one more bottle is opened under a limit. [mL]

        Args:
            limit_ml: session limit. [mL]
            next_kits_ml: capacities of the kits that are next to be opened, the last one
                standing for all after it; empty for kits as they are ordered. [mL]
        """
        kits_ml = next_kits_ml or (self.kit_ml,)
        bottles_ml = kits_ml if self.loose_ml is None else (kits_ml[0], self.loose_ml)
        return bottle_thresholds(limit_ml, bottles_ml)

    def most_bottles(self) -> int:
        """Most good bottles that a session opens, whichever kits are next."""
        smallest = min(self.kit_ml, *self.other_kits_ml, self.kit_ml)
        return 1 + len(self.thresholds(max(self.limits_ml), (smallest,)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One way a session can end: bottles opened, losses included, and carry level after."""

    bottles: int
    carry: int


@dataclass(frozen=True, slots=True, kw_only=True)
class States:
    """The discrete states of a catheter and how they follow each other.

    Attributes:
        ages: days since the last session, what the chance of a session depends on. [J]
        held_days: fluid held, in days' worth at the present rate. [J]
        without_session: state of the next day when no session takes place. [J]
        after_session: state of the next day by carry level.
        carry_step_days: one carry step. [days]
    """

    ages: Integers
    held_days: Floats
    without_session: Integers
    after_session: tuple[int, ...]
    carry_step_days: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterChain:
    """A catheter's chain over the days of the horizon.

    Axes: variant of the timing (V), drift (D), grid of x (X), state (J).

    Attributes:
        start: probability of each state on day `first_day`. [V, D, X, J]
        first_day: 0, or 1 when the session of the plan's day is already done.
        session_chance: probability of a session. [V, day, J]
        states: the discrete states.
        outcomes: ways a session can end.
        walk: random step of x over `WALK_EVERY_DAYS`: new = walk @ old. [X, X]
        walk_in_steps: the same as small steps.
        ln_rates: grid of x on day 0. [D, X]
        drifts: change of x per day. [D]
        noise_tables: survival function of log noise at `_TABLE_AT`. [D, table]
        loss_rows: from good bottles and carry to outcomes, by the most good bottles. [B, O]
        loss_chance: chance that an opened bottle is lost. [fraction]
    """

    start: Floats
    first_day: int
    session_chance: Floats
    states: States
    outcomes: tuple[Outcome, ...]
    walk: Floats
    walk_in_steps: RandomWalk
    timing: SessionTiming
    ln_rates: Floats
    drifts: Floats
    noise_tables: Floats
    loss_rows: dict[int, Floats]
    loss_chance: float
    sizes: BottleSizes

    @property
    def horizon_days(self) -> int:
        """Days the chain covers."""
        return int(self.session_chance.shape[1])

    def outcome_chances(self, day: int, next_kits_ml: Sequence[int] = ()) -> Floats:
        """Probability of each outcome of a session, given the state. [D, X, O, J]

        Args:
            day: days from the day of the plan.
            next_kits_ml: as for `BottleSizes.thresholds`.
        """
        x = self.ln_rates + self.drifts[:, None] * day
        held_days, held_of = np.unique(self.states.held_days, return_inverse=True)
        ln_held = x[:, :, None] + np.log(held_days)[None, None, :]
        wet = 1.0 - assumptions.DRY_CHANCE
        limit_ml = self.sizes.limits_ml[day]
        thresholds = self.sizes.thresholds(limit_ml, next_kits_ml)
        more = [wet * self._survival(math.log(ml) - ln_held) for ml in thresholds]
        carried = [
            wet * self._survival(np.log(limit_ml + self._beyond_ml(level, x))[:, :, None] - ln_held)
            for level in range(1, len(self.states.after_session))
        ]
        exceeded = [np.ones_like(ln_held), *more, *carried]
        below = [*exceeded[1:], np.zeros_like(ln_held)]
        base = np.stack([a - b for a, b in zip(exceeded, below, strict=True)], axis=-2)
        chances: Floats = np.matmul(self.loss_rows[1 + len(thresholds)].T, base)[..., held_of]
        return chances

    def _beyond_ml(self, level: int, x: Floats) -> Floats:
        """Fluid left behind from which the carry counts as this level. [mL]"""
        beyond: Floats = (level - 0.5) * self.states.carry_step_days * np.exp(x)
        return beyond

    def _survival(self, z: Floats) -> Floats:
        read = [np.interp(z[d], _TABLE_AT, table) for d, table in enumerate(self.noise_tables)]
        return np.stack(read)


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
    lag_days = max(days_between(knowledge.known_at, end_of_day(as_of)) - 0.5, 0.0)
    on_x, offsets, carry_ml = _cropped(knowledge, lag_days, horizon_days)
    ln_rates = knowledge.centres[:, None] + offsets[None, :]
    carry_days = carry_ml / np.exp(ln_rates)
    ln_rates = ln_rates + (knowledge.drifts * lag_days)[:, None]
    noise_tables = _noise_tables(knowledge)
    gap_days = timing.usual_gap_days
    binds = _limit_binds(on_x, ln_rates, noise_tables, sizes, gap_days, horizon_days)
    levels = 1 + CARRY_LEVELS if binds or carry_days.max(initial=0.0) > 0.0 else 1
    states = _states(timing, levels, step_days=max(1, round(gap_days / 2.0)))
    first_day, age = (1, 1) if timing.start_age_days == 0 else (0, timing.start_age_days)
    start = np.zeros((*on_x.shape, len(states.ages)))
    for level, share in _level_shares(carry_days / states.carry_step_days, levels):
        start[:, :, _state_at(states, age, level)] += on_x * share
    outcomes, loss_rows = _outcomes(sizes, levels, loss_chance)
    return CatheterChain(
        start=np.multiply.outer(timing.weights, start),
        first_day=first_day,
        session_chance=timing.chance[:, :, states.ages - 1],
        states=states,
        outcomes=outcomes,
        walk=_walk_matrix(on_x.shape[1]),
        walk_in_steps=random_walk(_walk_sd(), GRID_STEP),
        timing=timing,
        ln_rates=ln_rates,
        drifts=knowledge.drifts,
        noise_tables=noise_tables,
        loss_rows=loss_rows,
        loss_chance=loss_chance,
        sizes=sizes,
    )


def _states(timing: SessionTiming, levels: int, *, step_days: int) -> States:
    ages = timing.chance.shape[2]
    if levels > 1 and bool(np.all(timing.chance == timing.chance[:, :, :1])):
        longest = ages + (levels - 1) * step_days
        held = np.arange(1, longest + 1)
        return States(
            ages=np.minimum(held, ages),
            held_days=held.astype(np.float64),
            without_session=np.minimum(held, longest - 1),
            after_session=tuple(level * step_days for level in range(levels)),
            carry_step_days=float(step_days),
        )
    age = np.tile(np.arange(1, ages + 1), levels)
    level = np.repeat(np.arange(levels), ages)
    return States(
        ages=age,
        held_days=(age + step_days * level).astype(np.float64),
        without_session=level * ages + np.minimum(age, ages - 1),
        after_session=tuple(one * ages for one in range(levels)),
        carry_step_days=float(step_days),
    )


def _state_at(states: States, age: int, level: int) -> int:
    """The state some days after a session that left this carry."""
    state = states.after_session[level]
    for _ in range(age - 1):
        state = int(states.without_session[state])
    return state


def _cropped(
    knowledge: RateKnowledge, lag_days: float, horizon_days: int
) -> tuple[Floats, Floats, Floats]:
    """Weights [D, X], offsets [X] and carry in mL [D, X], on the part of the grid in reach.

    Every third point of the learning grid is taken, which is exact to far below what a plan
    shows while the spacing is no wider than the spread. Mass outside is put on the edges.
    """
    every = slice((len(knowledge.offsets) // 2) % COARSER, None, COARSER)
    known_at = knowledge.offsets[every]
    walk_sd = assumptions.RATE_WALK_SD_PER_SQRT_DAY
    since_then = walk_sd * math.sqrt(lag_days)
    fine = knowledge.weights.sum(axis=1)
    fine_ml = (knowledge.weights * knowledge.carry_ml).sum(axis=1)
    # On the fine grid still, for such a short step is too rough on the coarse one.
    on_x = diffuse(fine, since_then, GRID_STEP / COARSER)[:, every]
    carried = diffuse(fine_ml, since_then, GRID_STEP / COARSER)[:, every] / on_x.sum()
    on_x = on_x / on_x.sum()
    mass = on_x.sum(axis=0)
    mean = float((mass * known_at).sum())
    variance = float((mass * (known_at - mean) ** 2).sum())
    reach = _REACH_SDS * math.sqrt(variance + walk_sd**2 * horizon_days)
    first = math.floor((mean - reach) / GRID_STEP)
    last = math.ceil((mean + reach) / GRID_STEP)
    offsets: Floats = GRID_STEP * np.arange(first, last + 1, dtype=np.float64)
    weights: Floats = np.zeros((on_x.shape[0], len(offsets)))
    carry_ml: Floats = np.zeros_like(weights)
    middle = len(known_at) // 2
    places = np.clip(np.arange(len(known_at)) - middle - first, 0, last - first)
    for point, place in enumerate(places):
        weights[:, place] += on_x[:, point]
        carry_ml[:, place] += carried[:, point]
    with np.errstate(divide="ignore", invalid="ignore"):
        carry_ml = np.where(weights > 0.0, carry_ml / weights, 0.0)
    return weights, offsets, carry_ml


def _noise_tables(knowledge: RateKnowledge) -> Floats:
    """Survival function of log noise by drift, mixed over what is known of its spread."""
    shape = assumptions.OUTLIER_CHANCE, assumptions.OUTLIER_SCALE
    by_spread = np.stack([_noise_table(float(s), shape) for s in knowledge.spreads])
    on_spread = knowledge.weights.sum(axis=2)
    mixed: Floats = (on_spread / on_spread.sum(axis=1, keepdims=True)) @ by_spread
    return mixed


@lru_cache(maxsize=256)
def _noise_table(spread: float, _shape: tuple[float, float]) -> Floats:
    """Survival function of log noise of one spread; the shape of its outliers is a key only."""
    return noise_survival(_TABLE_AT, np.asarray(spread))


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
    z = math.log(min(sizes.limits_ml)) - ln_rates - math.log(1.5 * gap_days)
    over = np.stack([np.interp(z[d], _TABLE_AT, noise_tables[d]) for d in range(len(z))])
    return float((later * over).sum()) > _NEGLIGIBLE_LIMIT_CHANCE


def _level_shares(levels: Floats, count: int) -> list[tuple[int, Floats]]:
    """Split a fractional level linearly between its two neighbours. [(level, share)]"""
    held = np.clip(levels, 0.0, count - 1)
    return [(level, np.maximum(0.0, 1.0 - np.abs(held - level))) for level in range(count)]


def _walk_matrix(points: int) -> Floats:
    """Random step of x over `WALK_EVERY_DAYS` as a matrix: new = walk @ old. [X, X]"""
    one = np.eye(points)
    step: Floats = diffuse(one, _walk_sd(), GRID_STEP).T
    return step


def _walk_sd() -> float:
    return assumptions.RATE_WALK_SD_PER_SQRT_DAY * math.sqrt(WALK_EVERY_DAYS)


def walks_on(day: int) -> bool:
    """Whether the rate steps on the morning of a day."""
    return day % WALK_EVERY_DAYS == WALK_EVERY_DAYS - 1


def _outcomes(
    sizes: BottleSizes, levels: int, loss_chance: float
) -> tuple[tuple[Outcome, ...], dict[int, Floats]]:
    """Outcomes, and by most good bottles the matrix from good bottles and carry to them. [B, O]"""
    counts = range(1, sizes.most_bottles() + 1)
    rows: dict[int, dict[tuple[int, Outcome], float]] = {}
    outcomes: dict[Outcome, None] = {}
    for most in counts:
        rows[most] = {}
        for n, before in enumerate(_good_outcomes(most, levels)):
            for lost, chance in enumerate(losses_given_bottles(before.bottles, loss_chance)):
                after = Outcome(bottles=before.bottles + lost, carry=before.carry)
                outcomes[after] = None
                rows[most][n, after] = chance
    places = {outcome: o for o, outcome in enumerate(outcomes)}
    matrices = {}
    for most, chances in rows.items():
        matrix = np.zeros((most + levels - 1, len(outcomes)))
        for (n, after), chance in chances.items():
            matrix[n, places[after]] = chance
        matrices[most] = matrix
    return tuple(outcomes), matrices


def _good_outcomes(most: int, levels: int) -> list[Outcome]:
    """Outcomes without losses: up to the most bottles; all of them and fluid left behind."""
    good = [Outcome(bottles=count, carry=0) for count in range(1, most + 1)]
    return good + [Outcome(bottles=most, carry=level) for level in range(1, levels)]
