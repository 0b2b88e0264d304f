"""The joint distribution of a catheter's state and the goods used so far, stepped by day."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from planner.chain import CatheterChain, walks_on
from planner.normal import Floats, Integers

NEGLIGIBLE = 1e-8

TRIM_EVERY_DAYS = 4
"""How often points, states and bottles that are next to impossible are dropped; kits daily."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinds:
    """Places in the order of kits, told apart by what the kits from there on hold.

    Attributes:
        next_kits_ml: by kind, as for `BottleSizes.thresholds`; kits as they are ordered come
            first. [mL]
        by_kits: kind by kits opened so far; the first one after these. [K]
    """

    next_kits_ml: tuple[tuple[int, ...], ...]
    by_kits: Integers


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """An evening on which a count is noted and begins anew, so that both parts are known together.

    What is noted stands where arrivals stand otherwise, so nothing may be on its way.

    Attributes:
        day: the evening, counted from the day of the plan.
        below: only smaller counts are noted; what has a larger one is left out.
        of_kits: whether kits opened are counted; else loose bottles used.
    """

    day: int
    below: int
    of_kits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Goods:
    """A shelf as arrays.

    Attributes:
        kits: kits in all, by the set of goods in transit that have come, a bit for each; None
            when use never stops at empty. [M]
        bottles: loose bottles in all, likewise. [M]
        ready_now: chance that each of the goods in transit becomes ready that morning, given
            not before. [day, goods]
        kit_floors, bottle_floors: units past their date by the end of a day on which a lot
            ends; else 0. [day]
        kinds: kinds of places in the order of kits.
        wants_both: whether kits and loose bottles are asked for together.
        mark: an evening on which a count is noted; arrivals then stand for what is noted.
    """

    kits: Integers | None
    bottles: Integers
    ready_now: Floats
    kit_floors: Integers
    bottle_floors: Integers
    kinds: Kinds
    wants_both: bool = False
    mark: Mark | None = None


def no_shelf(days: int, kinds: Kinds | None = None) -> Goods:
    """Use that never stops at empty, of kits in this order."""
    nothing = np.zeros(days, dtype=np.int64)
    return Goods(
        kits=None,
        bottles=np.zeros(1, dtype=np.int64),
        ready_now=np.zeros((days, 0)),
        kit_floors=nothing,
        bottle_floors=nothing,
        kinds=kinds or Kinds(next_kits_ml=((),), by_kits=nothing[:0]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepped:
    """A chain stepped through the horizon beside one shelf.

    Attributes:
        kits: probability of kits opened among what has not run out. [day, kits]
        gone: probability of running out on each day. [day]
        kits_expired, bottles_expired: expected units that pass their date unused. [units]
        both: the same by what was noted, or arrivals, and loose bottles used where asked for;
            else empty. [day, arrivals, loose bottles, kits]
    """

    kits: Floats
    gone: Floats
    kits_expired: float
    bottles_expired: float
    both: Floats


def step_through(chain: CatheterChain, shelves: Sequence[Goods]) -> list[Stepped]:
    """Step all variants of a chain through the horizon, beside each of several shelves.

    The shelves have the same kinds of kits, of which the chances are worked out once.
    Less than `NEGLIGIBLE` is dropped. `planner.compiled` has the same, compiled.
    """
    kinds = shelves[0].kinds.next_kits_ml
    chances = [
        [chain.outcome_chances(day, next_kits_ml) for next_kits_ml in kinds]
        for day in range(chain.horizon_days)
    ]
    return [_beside(chain, chances, goods) for goods in shelves]


def _beside(chain: CatheterChain, chances: Sequence[Sequence[Floats]], goods: Goods) -> Stepped:
    days = chain.horizon_days
    gone = np.zeros(days)
    rows: list[list[Floats]] = [[] for _ in range(days)]
    kits_expired = bottles_expired = 0.0
    both = _room_for_both(goods, days)
    grids = [
        JointUse(
            chain,
            variant,
            loose_bottles=tuple(int(units) for units in goods.bottles),
            kind_of=tuple(int(kind) for kind in goods.kinds.by_kits),
        )
        for variant in range(len(chain.start))
    ]
    for day in range(days):
        for grid in grids:
            for place, chance in enumerate(goods.ready_now[day]):
                grid.arrive(place, float(chance))
            grid.step(day, chances[day])
            if goods.kits is not None:
                gone[day] += grid.absorb(goods.kits)
            grid.trim_kits()
            kits_expired += grid.lift_kits(int(goods.kit_floors[day]))
            bottles_expired += grid.lift_bottles(int(goods.bottle_floors[day]))
            rows[day].append(grid.units_distribution())
            if goods.wants_both:
                grid.add_both(both[day])
            if goods.mark is not None and day == goods.mark.day:
                grid.note(goods.mark)
    width = max(len(row) for by_variant in rows for row in by_variant)
    kits = np.zeros((days, width))
    for day, by_variant in enumerate(rows):
        for row in by_variant:
            kits[day, : len(row)] += row
    return Stepped(
        kits=kits,
        gone=gone,
        kits_expired=kits_expired,
        bottles_expired=bottles_expired,
        both=both,
    )


def _room_for_both(goods: Goods, days: int) -> Floats:
    if goods.kits is None or not goods.wants_both:
        return np.zeros((0, 0, 0, 0))
    arrivals, columns = len(goods.kits), int(goods.bottles.max()) + 1
    return np.zeros((days, arrivals, columns, int(goods.kits.max()) + 1))


class JointUse:
    """Joint distribution of chain state and goods used, one variant: [D, X, J, M, K, B].

    M is the set of goods that have come, K kits opened, B loose bottles used. Only what holds
    more than `NEGLIGIBLE` is kept: a window of X, K and B, and the states J that occur.
    """

    def __init__(
        self,
        chain: CatheterChain,
        variant: int,
        *,
        loose_bottles: tuple[int, ...],
        kind_of: tuple[int, ...] = (),
    ) -> None:
        self._chain = chain
        self._session_chance = chain.session_chance[variant]
        self._loose = loose_bottles
        self._kind_of = kind_of
        self._x_from = 0
        self._kits_from = 0
        self._bottles_from = 0
        self._drifts = np.flatnonzero(chain.start[variant].any(axis=(1, 2)))
        whole = chain.start[variant, self._drifts]
        self._states = np.flatnonzero(whole.any(axis=(0, 1)))
        start = whole[:, :, self._states]
        self._mass = np.zeros((*start.shape, len(loose_bottles), 1, 1))
        self._mass[:, :, :, 0, 0, 0] = start
        self._used = self._by_use()

    def step(self, day: int, chances: Sequence[Floats]) -> None:
        """One day: the rate moves, then a session may take place.

        Args:
            day: days from the day of the plan.
            chances: `CatheterChain.outcome_chances` of that day by kind.
        """
        chain = self._chain
        if day < chain.first_day:
            return
        if walks_on(day):
            self._walk()
        if day in chain.timing.restarts:
            self._mass = self._mass.sum(axis=2, keepdims=True)
            self._states = np.array([chain.states.after_session[0]])
        chance = self._session_chance[day, self._states]
        x_to = self._x_from + self._mass.shape[1]
        here = [one[self._drifts, self._x_from : x_to][..., self._states] for one in chances]
        self._advance(chance, here)
        if day % TRIM_EVERY_DAYS == TRIM_EVERY_DAYS - 1:
            self._trim()
        self._used = self._by_use()

    def _walk(self) -> None:
        """One random step of the rate; the window grows by as many points as it may move."""
        points, reach = len(self._chain.walk), self._chain.walk_in_steps.reach
        old = slice(self._x_from, self._x_from + self._mass.shape[1])
        new = slice(max(old.start - reach, 0), min(old.stop + reach, points))
        d, x, *rest = self._mass.shape
        step = self._chain.walk[new, old]
        moved = np.matmul(step, self._mass.reshape(d, x, -1))
        self._mass = moved.reshape(d, new.stop - new.start, *rest)
        self._x_from = new.start

    def _advance(self, chance: Floats, chances: Sequence[Floats]) -> None:
        """Move every state on: older without a session, fresh after one."""
        chain, mass = self._chain, self._mass
        d, x, j, m, k, b = mass.shape
        older = chain.states.without_session[self._states]
        fresh = chain.states.after_session if chance.any() else ()
        states = np.union1d(older, np.array(fresh, dtype=np.int64))
        most = max(outcome.bottles for outcome in chain.outcomes) if fresh else 0
        room = max(min(most - 1, max(self._loose) - self._bottles_from - b + 1), 0)
        moved = np.zeros((d, x, len(states), m, k + most, b + room))
        for place, to in enumerate(np.searchsorted(states, older)):
            moved[:, :, to, :, :k, :b] += mass[:, :, place] * (1.0 - chance[place])
        for kind, first, last in self._runs_of_one_kind(k) if fresh else ():
            part = np.ascontiguousarray(mass[..., first:last, :])
            ended = np.matmul(chances[kind] * chance, part.reshape(d, x, j, -1))
            ended = ended.reshape(d, x, -1, m, last - first, b)
            for o, outcome in enumerate(chain.outcomes):
                to = int(np.searchsorted(states, fresh[outcome.carry]))
                for arrived, loose in enumerate(self._loose):
                    self._open(
                        moved[:, :, to, arrived, first:],
                        ended[:, :, o, arrived],
                        further=outcome.bottles - 1,
                        loose=loose,
                    )
        self._mass, self._states = moved, states

    def _runs_of_one_kind(self, kits: int) -> Iterator[tuple[int, int, int]]:
        """Kind, first and end of each stretch of the window whose next kits are of one kind."""
        known = self._kind_of[self._kits_from : self._kits_from + kits]
        kinds = (*known, *(0,) * (kits - len(known)))
        first = 0
        for end in range(1, kits + 1):
            if end == kits or kinds[end] != kinds[first]:
                yield kinds[first], first, end
                first = end

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

    def arrive(self, place: int, chance: float) -> None:
        """Goods number `place` become ready this morning with this chance, given not before."""
        if chance <= 0.0:
            return
        for has in range(len(self._loose)):
            if not has >> place & 1:
                moved = self._mass[:, :, :, has] * chance
                self._mass[:, :, :, has] -= moved
                self._mass[:, :, :, has | 1 << place] += moved
        self._used = self._by_use()

    def absorb(self, kits: Integers) -> float:
        """Take out what the shelf cannot serve; the probability taken out."""
        taken = 0.0
        for arrived, level in enumerate(kits):
            first_short = max(int(level) + 1 - self._kits_from, 0)
            short = self._used[arrived, first_short:]
            if short.any():
                taken += float(short.sum())
                short[...] = 0.0
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
        self._used = self._by_use()
        return lost

    def units_distribution(self) -> Floats:
        """Distribution of kits opened, from 0 on."""
        by_kits = self._used.sum(axis=(0, 2))
        return np.concatenate((np.zeros(self._kits_from), by_kits))

    def add_both(self, into: Floats) -> None:
        """Add the probability by arrivals, loose bottles used and kits opened. [M, B, K]"""
        by_both = self._used.transpose(0, 2, 1)[:, :, : into.shape[2] - self._kits_from]
        _, bottles, kits = by_both.shape
        b, k = self._bottles_from, self._kits_from
        into[:, b : b + bottles, k : k + kits] += by_both

    def note(self, mark: Mark) -> None:
        """Let a count stand for arrivals, and begin it anew."""
        axis, first = (4, self._kits_from) if mark.of_kits else (5, self._bottles_from)
        counted = np.moveaxis(self._mass[:, :, :, 0], axis - 1, 3)
        counted = counted[:, :, :, : max(mark.below - first, 0)]
        mass = np.zeros((*self._mass.shape[:4], *counted.shape[4:]))
        mass[:, :, :, first : first + counted.shape[3]] = counted
        self._mass = np.expand_dims(mass, axis)
        self._kits_from *= not mark.of_kits
        self._bottles_from *= mark.of_kits
        self._used = self._by_use()

    def _by_use(self) -> Floats:
        """Probability by arrivals, kits and loose bottles used. [M, K, B]"""
        used = self._mass.shape[3:]
        total: Floats = self._mass.reshape(-1, math.prod(used)).sum(axis=0)
        return total.reshape(used)

    def trim_kits(self) -> None:
        """Keep only counts of kits that matter, once the shelf has served what it can."""
        kits = _kept(self._used.sum(axis=(0, 2)))
        self._used = self._used[:, kits]
        self._mass = self._mass[:, :, :, :, kits]
        self._kits_from += kits.start

    def _trim(self) -> None:
        """Keep only points, states and counts of bottles that matter."""
        bottles = _kept(self._by_use().sum(axis=(0, 1)))
        by_state = self._mass.reshape(*self._mass.shape[:3], -1).sum(axis=(0, 3))
        points = _kept(by_state.sum(axis=1))
        states = np.flatnonzero(by_state.sum(axis=0) > NEGLIGIBLE)
        if len(states) == 0:
            states = np.array([0])
        self._mass = np.ascontiguousarray(self._mass[:, points, :, :, :, bottles][:, :, states])
        self._states = self._states[states]
        self._x_from += points.start
        self._bottles_from += bottles.start


def _kept(mass: Floats) -> slice:
    above = np.flatnonzero(mass > NEGLIGIBLE)
    return slice(int(above[0]), int(above[-1]) + 1) if len(above) else slice(0, 1)
