"""The joint distribution of a catheter's state and the goods used so far, stepped by day."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.chain import CatheterChain
from planner.normal import Floats

NEGLIGIBLE = 1e-8


class JointUse:
    """Joint distribution of chain state and goods used, one variant: [D, X, J, M, K, B].

    M counts arrivals so far, K kits opened, B loose bottles used. Only what holds more than
    `NEGLIGIBLE` is kept: a window of X, K and B, and the states J that occur.
    """

    def __init__(
        self, chain: CatheterChain, variant: int, *, loose_bottles: tuple[int, ...]
    ) -> None:
        self._chain = chain
        self._session_chance = chain.session_chance[variant]
        self._loose = loose_bottles
        self._x_from = 0
        self._kits_from = 0
        self._bottles_from = 0
        whole = chain.start[variant]
        self._states = np.flatnonzero(whole.any(axis=(0, 1)))
        start = whole[:, :, self._states]
        self._mass = np.zeros((*start.shape, len(loose_bottles), 1, 1))
        self._mass[:, :, :, 0, 0, 0] = start
        self._used = self._by_use()

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
        chance = self._session_chance[day, self._states]
        x_to = self._x_from + self._mass.shape[1]
        self._advance(chance, chances[:, self._x_from : x_to][..., self._states])
        self._trim()

    def _walk(self) -> None:
        """One random step of the rate; the window grows by one point at either end."""
        points = len(self._chain.walk)
        old = slice(self._x_from, self._x_from + self._mass.shape[1])
        new = slice(max(old.start - 1, 0), min(old.stop + 1, points))
        d, x, *rest = self._mass.shape
        step = self._chain.walk[new, old]
        moved = np.matmul(step, self._mass.reshape(d, x, -1))
        self._mass = moved.reshape(d, new.stop - new.start, *rest)
        self._x_from = new.start

    def _advance(self, chance: Floats, chances: Floats) -> None:
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
        if fresh:
            ended = np.matmul(chances * chance, mass.reshape(d, x, j, -1))
            ended = ended.reshape(d, x, -1, m, k, b)
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
        self._used = self._by_use()

    def absorb(self, kits: Sequence[int]) -> float:
        """Take out what the shelf cannot serve; the probability taken out."""
        taken = 0.0
        for arrived, level in enumerate(kits):
            first_short = max(level + 1 - self._kits_from, 0)
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

    def _by_use(self) -> Floats:
        """Probability by arrivals, kits and loose bottles used. [M, K, B]"""
        used = self._mass.shape[3:]
        total: Floats = self._mass.reshape(-1, math.prod(used)).sum(axis=0)
        return total.reshape(used)

    def _trim(self) -> None:
        self._used = self._by_use()
        kits = _kept(self._used.sum(axis=(0, 2)))
        bottles = _kept(self._used.sum(axis=(0, 1)))
        self._used = self._used[:, kits, bottles]
        by_state = self._mass.reshape(*self._mass.shape[:3], -1).sum(axis=(0, 3))
        points = _kept(by_state.sum(axis=1))
        states = np.flatnonzero(by_state.sum(axis=0) > NEGLIGIBLE)
        if len(states) == 0:
            states = np.array([0])
        kept = self._mass[:, points, :, :, kits, bottles]
        self._mass = np.ascontiguousarray(kept[:, :, states])
        self._states = self._states[states]
        self._x_from += points.start
        self._kits_from += kits.start
        self._bottles_from += bottles.start


def _kept(mass: Floats) -> slice:
    above = np.flatnonzero(mass > NEGLIGIBLE)
    return slice(int(above[0]), int(above[-1]) + 1) if len(above) else slice(0, 1)
