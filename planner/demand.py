"""Cumulative use by exact forward dynamic programming, and the run-out it leads to.

The chain of `planner.chain` is stepped day by day together with what has been used. There
is no simulation and no rounding of demand: the only approximations are the grid of the log
rate, the carry-over levels, and leaving out count rows below 1e-11.

Two passes exist. `use_by_day` never stops at empty: it serves every stock level and every
number of boxes. `run_out_by_day` follows the shelf as it is, with use-by dates and goods in
transit; run-out is absorbing, because goods that come afterwards come too late.

References:
    Feller, An Introduction to Probability Theory, vol. 1, 3rd ed., ch. XV, absorbing
    Markov chains (memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.chain import CatheterChain
from planner.normal import Floats

Integers = npt.NDArray[np.int64]

_NEGLIGIBLE = 1e-11


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

    @property
    def is_pooled(self) -> bool:
        """Whether only kits are there, so that counting bottles is enough."""
        return self.bottles == 0 and all(goods.bottles == 0 for goods in self.coming)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOutChances:
    """Result of following one shelf.

    Attributes:
        by_day: probability that the run-out has happened by the end of each day. [day]
        kits_expired, bottles_expired: expected units that pass their date unused. [units]
    """

    by_day: Floats
    kits_expired: float
    bottles_expired: float


def use_by_day(chain: CatheterChain) -> UseChances:
    """Distributions of cumulative sessions and bottles for one catheter."""
    grid = _Grid(chain, split=False)
    bottles = []
    for day in range(chain.horizon_days):
        grid.step(day)
        bottles.append(grid.extras_distribution())
    return UseChances(sessions=_sessions_by_day(chain), bottles=_ragged(bottles))


def combined_use(uses: Sequence[UseChances]) -> UseChances:
    """Use of several independent catheters together, day by day."""
    total = uses[0]
    for more in uses[1:]:
        total = UseChances(
            sessions=_convolved(total.sessions, more.sessions),
            bottles=_convolved(total.bottles, more.bottles),
        )
    return total


def run_out_by_day(chain: CatheterChain, stock: StockPath) -> RunOutChances:
    """Follow one shelf used by one catheter until it cannot serve a session.

    A session can be served while a kit is left for it and while kits and loose bottles
    together hold the bottles it opens. First expired is used first; what passes its date
    unused is gone.
    """
    grid = _Grid(chain, split=not stock.is_pooled, arrivals=len(stock.coming))
    kits, bottles = _levels(stock)
    by_day = np.zeros(chain.horizon_days)
    gone = 0.0
    kits_expired = bottles_expired = 0.0
    for day in range(chain.horizon_days):
        for place, goods in enumerate(stock.coming):
            grid.arrive(place, _chance_now(goods.ready_chance, day))
        grid.step(day)
        gone += grid.absorb(kits, bottles)
        by_day[day] = gone
        kits_expired += _expire(grid, stock.expiring_kits, day, bottles, kind="kits")
        bottles_expired += _expire(grid, stock.expiring_bottles, day, bottles, kind="bottles")
    return RunOutChances(
        by_day=np.minimum(by_day, 1.0),
        kits_expired=kits_expired,
        bottles_expired=bottles_expired,
    )


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
    return RunOutChances(by_day=np.minimum(total, 1.0), kits_expired=0.0, bottles_expired=0.0)


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


def _expire(
    grid: _Grid, lots: Sequence[ExpiringUnits], day: int, bottles: list[int], *, kind: str
) -> float:
    """Write off what passed its date; the expected units lost."""
    reached = sum(lot.units for lot in lots if lot.last_day <= day)
    if not any(lot.last_day == day for lot in lots):
        return 0.0
    if kind == "kits":
        return grid.use_at_least_kits(reached, bottles)
    return grid.use_at_least_bottles(reached)


class _Grid:
    """Joint distribution of chain state and use: [P, X, J, M, n, e].

    M counts arrivals so far. In split form n is sessions (kits opened for a first bottle)
    and e further bottles; in pooled form n stays 0 and e counts all bottles. Rows below
    `_NEGLIGIBLE` at the ends of n and e are dropped as they appear.
    """

    def __init__(self, chain: CatheterChain, *, split: bool, arrivals: int = 0) -> None:
        self._chain = chain
        self._split = split
        self._n0 = 0
        self._e0 = 0
        self._mass = np.zeros((*chain.start.shape, arrivals + 1, 1, 1))
        self._mass[:, :, :, 0, 0, 0] = chain.start

    def step(self, day: int) -> None:
        """One day: the rate moves, then a session may take place."""
        chain = self._chain
        if day < chain.first_day:
            return
        mass = self._mass
        if day > 0:
            mass = _walked(chain.walk, mass)
        if day in chain.restarts:
            mass = self._came_home(mass)
        chance = chain.session_chance[:, day, :]
        if not chance.any():
            self._mass = self._aged(mass)
            return
        shape = chance[:, None, :, None, None, None]
        drained = mass * shape
        stayed = self._aged(mass - drained)
        self._mass = self._with_sessions(stayed, drained, day)
        self._trim()

    def _with_sessions(self, stayed: Floats, drained: Floats, day: int) -> Floats:
        chain = self._chain
        p, x, j, m, n, e = drained.shape
        flat = drained.reshape(p, x, j, m * n * e)
        ended = np.matmul(chain.outcome_chances(day), flat).reshape(p, x, -1, m, n, e)
        most = chain.most_bottles
        grown_n, grown_e = (1, most - 1) if self._split else (0, most)
        mass = np.zeros((p, x, j, m, n + grown_n, e + grown_e))
        mass[..., :n, :e] = stayed
        for o, outcome in enumerate(chain.outcomes):
            state = outcome.carry * chain.ages
            up_n = 1 if self._split else 0
            up_e = outcome.bottles - up_n
            mass[:, :, state, :, up_n : up_n + n, up_e : up_e + e] += ended[:, :, o]
        return mass

    def _aged(self, mass: Floats) -> Floats:
        p, x, _, *rest = mass.shape
        by_age = mass.reshape(p, x, self._chain.carry_levels, self._chain.ages, *rest)
        older = np.zeros_like(by_age)
        older[:, :, :, 1:] = by_age[:, :, :, :-1]
        older[:, :, :, -1] += by_age[:, :, :, -1]
        return older.reshape(mass.shape)

    def _came_home(self, mass: Floats) -> Floats:
        fresh = np.zeros_like(mass)
        fresh[:, :, 0] = mass.sum(axis=2)
        return fresh

    def arrive(self, place: int, chance: float) -> None:
        """Goods number `place` become ready with this chance, after those before them."""
        if chance > 0.0:
            moved = self._mass[:, :, :, place] * chance
            self._mass[:, :, :, place] -= moved
            self._mass[:, :, :, place + 1] += moved

    def absorb(self, kits: Sequence[int], bottles: Sequence[int]) -> float:
        """Take out what the shelf cannot serve; the probability taken out."""
        n, e = self._used()
        taken = 0.0
        for m in range(self._mass.shape[3]):
            if self._split:
                short = (n > kits[m]) | (n + e > kits[m] + bottles[m])
            else:
                short = n + e > kits[m] + bottles[m]
            taken += float(self._mass[:, :, :, m][..., short].sum())
            self._mass[:, :, :, m][..., short] = 0.0
        self._trim()
        return taken

    def use_at_least_kits(self, units: int, bottles: Sequence[int]) -> float:
        """Lift kits used to what has expired; the expected units written off."""
        lost = 0.0
        for m in range(self._mass.shape[3]):
            n, e = self._used()
            kits_used = n + np.maximum(0, e - bottles[m]) if self._split else e
            lost += self._lift(m, np.maximum(0, units - kits_used), along_n=self._split)
        return lost

    def use_at_least_bottles(self, units: int) -> float:
        """Lift loose bottles used to what has expired; the expected units written off."""
        lost = 0.0
        for m in range(self._mass.shape[3]):
            _, e = self._used()
            lost += self._lift(m, np.maximum(0, units - e), along_n=False)
        return lost

    def _lift(self, m: int, by: Integers, *, along_n: bool) -> float:
        """Move the mass of each (n, e) up by `by` units along one axis."""
        most = int(by.max())
        if most == 0:
            return 0.0
        pad = [(0, 0)] * 4 + ([(0, most), (0, 0)] if along_n else [(0, 0), (0, most)])
        rows, columns = by.shape
        before = self._mass[:, :, :, m].copy()
        self._mass = np.pad(self._mass, pad)
        target = np.zeros_like(self._mass[:, :, :, m])
        lost = 0.0
        for row in range(rows):
            for column in range(columns):
                up = int(by[row, column])
                to = (row + up, column) if along_n else (row, column + up)
                here = before[..., row, column]
                target[..., to[0], to[1]] += here
                if up:
                    lost += up * float(here.sum())
        self._mass[:, :, :, m] = target
        return lost

    def extras_distribution(self) -> Floats:
        """Distribution of e from 0 on."""
        by_e = self._mass.sum(axis=(0, 1, 2, 3, 4))
        return np.concatenate((np.zeros(self._e0), by_e))

    def _used(self) -> tuple[Integers, Integers]:
        n = self._n0 + np.arange(self._mass.shape[4], dtype=np.int64)
        e = self._e0 + np.arange(self._mass.shape[5], dtype=np.int64)
        grid = np.meshgrid(n, e, indexing="ij")
        return grid[0], grid[1]

    def _trim(self) -> None:
        by_n = self._mass.sum(axis=(0, 1, 2, 3, 5))
        by_e = self._mass.sum(axis=(0, 1, 2, 3, 4))
        n_from, n_to = _kept(by_n)
        e_from, e_to = _kept(by_e)
        self._mass = self._mass[..., n_from:n_to, e_from:e_to]
        self._n0 += n_from
        self._e0 += e_from


def _kept(mass: Floats) -> tuple[int, int]:
    above = np.flatnonzero(mass > _NEGLIGIBLE)
    if len(above) == 0:
        return 0, 1
    return int(above[0]), int(above[-1]) + 1


def _walked(walk: Floats, mass: Floats) -> Floats:
    p, x, *rest = mass.shape
    moved: Floats = np.matmul(walk, mass.reshape(p, x, -1)).reshape(p, x, *rest)
    return moved


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
            if day in chain.restarts:
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
