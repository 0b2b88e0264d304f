"""Cumulative use by exact forward dynamic programming, and the run-out it leads to.

The chain of `planner.chain` is stepped day by day together with what has been used. There
is no simulation and no rounding of demand: the only approximations are the grid of the log
rate, the carry-over levels, and leaving out what is less likely than
1e-8.

`follow` steps two kinds of things side by side. Use never stops at empty: it serves every
stock level and every number of boxes. A stock path follows the shelf as it is, with use-by
dates and goods in transit; run-out is absorbing, because goods that come afterwards come
too late.

References:
    Feller, An Introduction to Probability Theory, vol. 1, 3rd ed., ch. XV, absorbing
    Markov chains (memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.chain import CatheterChain
from planner.normal import Floats

_NEGLIGIBLE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True)
class UseChances:
    """Distributions of cumulative use by the end of each day.

    Attributes:
        sessions: probability of n sessions. [day, n]
        bottles: probability of b bottles opened, losses included. [day, b]
    """

    sessions: Floats
    bottles: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpiringUnits:
    """Units that can be used up to and including a day, counted from the day of the plan."""

    last_day: int
    units: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingGoods:
    """Goods in transit: units and the chance that they are ready on the morning of a day.

    Attributes:
        ready_chance: probability by day that they become ready that morning. [day]
    """

    kits: int
    bottles: int
    ready_chance: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPath:
    """Usable stock of one shelf from the day of the plan on.

    Attributes:
        kits, bottles: usable units on the day of the plan.
        expiring_kits, expiring_bottles: those with a use-by date in the horizon, each lot
            once, soonest first.
        coming: goods in transit in the order in which they are expected.
    """

    kits: int
    bottles: int
    expiring_kits: tuple[ExpiringUnits, ...] = ()
    expiring_bottles: tuple[ExpiringUnits, ...] = ()
    coming: tuple[ComingGoods, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOutChances:
    """Result of following one shelf.

    Attributes:
        by_day: probability that the run-out has happened by the end of each day. [day]
        kits_left: distribution of kits left at the end of each day without goods in transit;
            after the run-out none are left. [day, kits]
        kits_expired, bottles_expired: expected units that pass their date unused. [units]
    """

    by_day: Floats
    kits_left: Floats
    kits_expired: float
    bottles_expired: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """What one catheter uses, and when each of several stock paths fails it."""

    use: UseChances
    run_outs: tuple[RunOutChances, ...]


def follow(chain: CatheterChain, paths: Sequence[StockPath] = ()) -> Followed:
    """Step one catheter through the horizon, with any number of stock paths beside it.

    A session can be served while a kit is left for it and while kits and loose bottles
    together hold the bottles it opens. Loose bottles go first for further bottles, then the
    bottles of kits. First expired is used first; what passes its date unused is gone.
    """
    endless = _Grid(chain, loose_bottles=(0,))
    walks = [_PathWalk(chain, path) for path in paths]
    bottles = []
    for day in range(chain.horizon_days):
        chances = chain.outcome_chances(day)
        endless.step(day, chances)
        bottles.append(endless.units_distribution())
        for walk in walks:
            walk.step(day, chances)
    use = UseChances(sessions=_sessions_by_day(chain), bottles=_ragged(bottles))
    return Followed(use=use, run_outs=tuple(walk.result() for walk in walks))


def combined_use(uses: Sequence[UseChances]) -> UseChances:
    """Use of several independent catheters together, day by day."""
    total = uses[0]
    for more in uses[1:]:
        total = UseChances(
            sessions=_convolved(total.sessions, more.sessions),
            bottles=_convolved(total.bottles, more.bottles),
        )
    return total


def run_out_bound_by_day(use: UseChances, stock: StockPath) -> RunOutChances:
    """An upper bound of the run-out for several catheters on one shelf.

    Exact for a shelf of kits until the first use-by date or arrival. After that, units past
    their date count as if none of them had been used, and the chances of running out in each
    stretch between arrivals are added up, so the truth is never worse than shown.
    """
    days = len(use.bottles)
    kits, bottles = _levels(stock)
    total = np.zeros(days)
    for stage in range(len(kits)):
        over = np.array(
            [
                chance_beyond(
                    use,
                    day,
                    kits=kits[stage] - _past_date(stock.expiring_kits, day),
                    bottles=bottles[stage] - _past_date(stock.expiring_bottles, day),
                )
                for day in range(days)
            ]
        )
        newly_over = np.diff(np.maximum.accumulate(over), prepend=0.0)
        if stage < len(stock.coming):
            newly_over *= 1.0 - np.cumsum(_padded(stock.coming[stage].ready_chance, days))
        total += np.cumsum(newly_over)
    left = np.stack([_kits_left(use, day, stock) for day in range(days)])
    return RunOutChances(
        by_day=np.minimum(total, 1.0), kits_left=left, kits_expired=0.0, bottles_expired=0.0
    )


def _kits_left(use: UseChances, day: int, stock: StockPath) -> Floats:
    """Kits left by a day as if no loose bottle were there beyond those on the shelf."""
    left = np.zeros(stock.kits + 1)
    spare = stock.bottles
    for opened, chance in enumerate(use.bottles[day]):
        left[min(max(stock.kits + spare - opened, 0), stock.kits)] += chance
    return left


def _past_date(lots: Sequence[ExpiringUnits], day: int) -> int:
    return sum(lot.units for lot in lots if lot.last_day < day)


def chance_beyond(use: UseChances, day: int, *, kits: int, bottles: int) -> float:
    """Probability that use by the end of a day exceeds what so many units can serve.

    Exact without loose bottles; with them at most the sum of "too few kits" and "too few
    units", of which it is the upper bound.
    """
    units_short = float(use.bottles[day, max(kits + bottles, -1) + 1 :].sum())
    if bottles <= 0:
        return min(units_short, 1.0)
    kits_short = float(use.sessions[day, max(kits, -1) + 1 :].sum())
    return min(units_short + kits_short, 1.0)


def _levels(stock: StockPath) -> tuple[list[int], list[int]]:
    kits, bottles = [stock.kits], [stock.bottles]
    for goods in stock.coming:
        kits.append(kits[-1] + goods.kits)
        bottles.append(bottles[-1] + goods.bottles)
    return kits, bottles


def _chance_now(ready_chance: Sequence[float], day: int) -> float:
    """Chance to become ready today, given not ready before."""
    if day >= len(ready_chance):
        return 0.0
    left = 1.0 - sum(ready_chance[:day])
    return min(ready_chance[day] / left, 1.0) if left > 1e-12 else 1.0


class _PathWalk:
    """One stock path followed to its end."""

    def __init__(self, chain: CatheterChain, path: StockPath) -> None:
        self._path = path
        self._kits, bottles = _levels(path)
        self._grid = _Grid(chain, loose_bottles=tuple(bottles))
        self._by_day: list[float] = []
        self._kits_left = np.zeros((chain.horizon_days, path.kits + 1))
        self._kits_expired = 0.0
        self._bottles_expired = 0.0

    def step(self, day: int, chances: Floats) -> None:
        """One day: goods become ready, a session may take place, lots pass their date."""
        gone = self._by_day[-1] if self._by_day else 0.0
        if gone < 1.0 - _NEGLIGIBLE:
            self._receive(day)
            self._grid.step(day, chances)
            gone += self._grid.absorb(self._kits)
            self._expire(day)
            used = self._grid.units_distribution()[: self._path.kits + 1]
            self._kits_left[day, self._path.kits - np.arange(len(used))] = used
        self._kits_left[day, 0] += gone
        self._by_day.append(min(gone, 1.0))

    def _receive(self, day: int) -> None:
        coming = self._path.coming
        for place in reversed(range(len(coming))):
            later = [sum(goods.ready_chance[: day + 1]) for goods in coming[place + 1 :]]
            self._grid.arrive(place, _chance_now(coming[place].ready_chance, day), later)

    def _expire(self, day: int) -> None:
        kits = _expired_by(self._path.expiring_kits, day)
        if kits:
            self._kits_expired += self._grid.lift_kits(kits)
        bottles = _expired_by(self._path.expiring_bottles, day)
        if bottles:
            self._bottles_expired += self._grid.lift_bottles(bottles)

    def result(self) -> RunOutChances:
        return RunOutChances(
            by_day=np.array(self._by_day),
            kits_left=self._kits_left,
            kits_expired=self._kits_expired,
            bottles_expired=self._bottles_expired,
        )


def _expired_by(lots: Sequence[ExpiringUnits], day: int) -> int:
    """Units of all lots dated up to a day, when one of them ends that day; else 0."""
    if not any(lot.last_day == day for lot in lots):
        return 0
    return sum(lot.units for lot in lots if lot.last_day <= day)


class _Grid:
    """Joint distribution of chain state and goods used: [P, X, J, M, K, B].

    M counts arrivals so far, K kits opened, B loose bottles used. Only what holds more than
    `_NEGLIGIBLE` is kept: a window of X, K and B, and the states J that occur.
    """

    def __init__(self, chain: CatheterChain, *, loose_bottles: tuple[int, ...]) -> None:
        self._chain = chain
        self._loose = loose_bottles
        self._x_from = 0
        self._kits_from = 0
        self._bottles_from = 0
        self._states = np.flatnonzero(chain.start.any(axis=(0, 1)))
        start = chain.start[:, :, self._states]
        self._mass = np.zeros((*start.shape, len(loose_bottles), 1, 1))
        self._mass[:, :, :, 0, 0, 0] = start

    def step(self, day: int, chances: Floats) -> None:
        """One day: the rate moves, then a session may take place."""
        chain = self._chain
        if day < chain.first_day:
            return
        if day > 0:
            self._walk()
        if day in chain.timing.restarts:
            self._mass = self._mass.sum(axis=2, keepdims=True)
            self._states = np.array([chain.states.after_session[0]])
        chance = chain.session_chance[:, day, self._states]
        x_to = self._x_from + self._mass.shape[1]
        self._advance(chance, chances[:, self._x_from : x_to][..., self._states])
        self._trim()

    def _walk(self) -> None:
        """One random step of the rate; the window grows by one point at either end."""
        points = len(self._chain.walk)
        old = slice(self._x_from, self._x_from + self._mass.shape[1])
        new = slice(max(old.start - 1, 0), min(old.stop + 1, points))
        p, x, *rest = self._mass.shape
        step = self._chain.walk[new, old]
        moved = np.matmul(step, self._mass.reshape(p, x, -1))
        self._mass = moved.reshape(p, new.stop - new.start, *rest)
        self._x_from = new.start

    def _advance(self, chance: Floats, chances: Floats) -> None:
        """Move every state on: older without a session, fresh after one."""
        chain, mass = self._chain, self._mass
        p, x, j, m, k, b = mass.shape
        older = chain.states.without_session[self._states]
        fresh = chain.states.after_session if chance.any() else ()
        states = np.union1d(older, np.array(fresh, dtype=np.int64))
        most = max(outcome.bottles for outcome in chain.outcomes) if fresh else 0
        room = max(min(most - 1, max(self._loose) - self._bottles_from - b + 1), 0)
        moved = np.zeros((p, x, len(states), m, k + most, b + room))
        for place, to in enumerate(np.searchsorted(states, older)):
            stays = 1.0 - chance[:, place]
            moved[:, :, to, :, :k, :b] += mass[:, :, place] * stays[:, None, None, None, None]
        if fresh:
            by_component = chance.reshape(-1, chances.shape[0], 1, 1, j)
            drained = by_component * chances
            ended = np.matmul(drained.reshape(p, x, -1, j), mass.reshape(p, x, j, -1))
            ended = ended.reshape(p, x, -1, m, k, b)
            for o, outcome in enumerate(chain.outcomes):
                to = int(np.searchsorted(states, fresh[outcome.carry]))
                for arrived, loose in enumerate(self._loose):
                    self._open(
                        moved[:, :, to, arrived],
                        ended[:, :, o, arrived],
                        further=outcome.bottles - 1,
                        loose=loose,
                    )
        self._mass, self._states = moved, states

    def _open(self, into: Floats, ended: Floats, *, further: int, loose: int) -> None:
        """Add sessions that opened one kit and so many further bottles."""
        kits, bottles = ended.shape[-2:]
        left = loose - self._bottles_from - np.arange(bottles)
        plenty = int(np.count_nonzero(left >= further))
        into[..., 1 : 1 + kits, further : further + plenty] += ended[..., :plenty]
        for column in range(plenty, bottles):
            used = max(int(left[column]), 0)
            more_kits = 1 + further - used
            to = column + used
            into[..., more_kits : more_kits + kits, to] += ended[..., column]

    def arrive(self, place: int, chance: float, later_ready: Sequence[float]) -> None:
        """Goods number `place` become ready with this chance, after those before them.

        Args:
            place: number of the goods.
            chance: chance that they become ready this morning, given not before.
            later_ready: for each of the goods after them, chance to be ready by now; those
                that came too early are used from now on.
        """
        if chance <= 0.0:
            return
        moved = self._mass[:, :, :, place] * chance
        self._mass[:, :, :, place] -= moved
        for step, ready in enumerate(later_ready, place + 1):
            stays = moved * (1.0 - ready)
            self._mass[:, :, :, step] += stays
            moved = moved - stays
        self._mass[:, :, :, place + 1 + len(later_ready)] += moved

    def absorb(self, kits: Sequence[int]) -> float:
        """Take out what the shelf cannot serve; the probability taken out."""
        used = self._by_use()
        taken = 0.0
        for arrived, level in enumerate(kits):
            first_short = max(level + 1 - self._kits_from, 0)
            taken += float(used[arrived, first_short:].sum())
            self._mass[:, :, :, arrived, first_short:] = 0.0
        return taken

    def lift_kits(self, units: int) -> float:
        """Count kits that passed their date as used; the expected units written off."""
        return self._lift(units - self._kits_from, axis=4)

    def lift_bottles(self, units: int) -> float:
        """Count loose bottles that passed their date as used; expected units written off."""
        return self._lift(units - self._bottles_from, axis=5)

    def _lift(self, floor: int, *, axis: int) -> float:
        """Raise use along an axis to at least row `floor` of the window."""
        if floor <= 0:
            return 0.0
        mass = np.moveaxis(self._mass, axis, 0)
        low = mass[:floor]
        chances = low.reshape(low.shape[0], -1).sum(axis=1)
        lost = float((chances * (floor - np.arange(len(low)))).sum())
        lifted = np.zeros((max(len(mass), floor + 1), *mass.shape[1:]))
        lifted[: len(mass)] = mass
        lifted[:floor] = 0.0
        lifted[floor] += low.sum(axis=0)
        self._mass = np.ascontiguousarray(np.moveaxis(lifted, 0, axis))
        return lost

    def units_distribution(self) -> Floats:
        """Distribution of kits opened, from 0 on."""
        by_kits = self._by_use().sum(axis=(0, 2))
        return np.concatenate((np.zeros(self._kits_from), by_kits))

    def _by_use(self) -> Floats:
        """Probability by arrivals, kits and loose bottles used. [M, K, B]"""
        used = self._mass.shape[3:]
        total: Floats = self._mass.reshape(-1, math.prod(used)).sum(axis=0)
        return total.reshape(used)

    def _trim(self) -> None:
        used = self._by_use()
        kits = _kept(used.sum(axis=(0, 2)))
        bottles = _kept(used.sum(axis=(0, 1)))
        by_state = self._mass.reshape(*self._mass.shape[:3], -1).sum(axis=(0, 3))
        points = _kept(by_state.sum(axis=1))
        states = np.flatnonzero(by_state.sum(axis=0) > _NEGLIGIBLE)
        if len(states) == 0:
            states = np.array([0])
        kept = self._mass[:, points, :, :, kits, bottles]
        self._mass = np.ascontiguousarray(kept[:, :, states])
        self._states = self._states[states]
        self._x_from += points.start
        self._kits_from += kits.start
        self._bottles_from += bottles.start


def _kept(mass: Floats) -> slice:
    above = np.flatnonzero(mass > _NEGLIGIBLE)
    return slice(int(above[0]), int(above[-1]) + 1) if len(above) else slice(0, 1)


def _sessions_by_day(chain: CatheterChain) -> Floats:
    """Distribution of sessions: they depend on age alone, not on the volume."""
    timing = chain.timing
    variants, days, ages = timing.chance.shape
    mass = np.zeros((variants, ages, days + 1))
    start = max(timing.start_age_days, 1)
    mass[:, start - 1, 0] = timing.weights
    by_day = np.zeros((days, days + 1))
    for day in range(days):
        if day >= chain.first_day:
            if day in timing.restarts:
                fresh = np.zeros_like(mass)
                fresh[:, 0] = mass.sum(axis=1)
                mass = fresh
            drained = mass * timing.chance[:, day, :, None]
            stayed = mass - drained
            mass = np.zeros_like(mass)
            mass[:, 1:] = stayed[:, :-1]
            mass[:, -1] += stayed[:, -1]
            mass[:, 0, 1:] += drained.sum(axis=1)[:, :-1]
        by_day[day] = mass.sum(axis=(0, 1))
    return by_day


def _convolved(first: Floats, second: Floats) -> Floats:
    return np.stack([np.convolve(a, b) for a, b in zip(first, second, strict=True)])


def _ragged(rows: Sequence[Floats]) -> Floats:
    width = max(len(row) for row in rows)
    return np.stack([_padded(row, width) for row in rows])


def _padded(values: Sequence[float] | Floats, width: int) -> Floats:
    padded = np.zeros(width)
    padded[: min(len(values), width)] = np.asarray(values)[:width]
    return padded
