"""The law of use of several catheters together: sessions and further bottles, by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from planner.joint import Mark
from planner.normal import Floats, Integers

NEXT_TO_NEVER = 1e-7
"""A chance below which numbers of units need not be told apart."""

_DAYS_AT_ONCE = 16
_NOTHING = 1e-11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointLaw:
    """Sessions and further bottles of all catheters, known together.

    Attributes:
        chances: probability of n sessions and f further bottles by the end of each day; what
            is more of either is left out. [day, n, f]
    """

    chances: Floats
    _served: dict[int, Floats] = field(default_factory=dict, init=False, repr=False)

    def served(self, bottles: int) -> Floats:
        """Chance that at most k kits are opened, with so many loose bottles. [day, k]"""
        found = self._served.get(bottles)
        if found is None:
            days, n, f = self.chances.shape
            opened = np.zeros((days, n + f))
            from_loose = min(max(bottles + 1, 0), f)
            opened[:, :n] = self.chances[:, :, :from_loose].sum(axis=2)
            for further in range(from_loose, f):
                kits = further - bottles
                opened[:, kits : kits + n] += self.chances[:, :, further]
            found = np.cumsum(opened, axis=1)
            self._served[bottles] = found
        return found

    def short(self, kits: Integers, bottles: Integers) -> Floats:
        """Chance that use by the end of each day exceeds so many units. [day]"""
        found = np.ones(len(kits))
        for count in np.unique(bottles):
            served = self.served(int(count))
            days = np.flatnonzero((bottles == count) & (kits >= 0))
            found[days] -= served[days, np.minimum(kits[days], served.shape[1] - 1)]
        return np.maximum.accumulate(np.clip(found, 0.0, 1.0))

    def further_beyond(self, units: int) -> Floats:
        """Chance that more further bottles were opened, among what is told apart. [day]"""
        found: Floats = self.chances[:, :, max(units + 1, 0) :].sum(axis=(1, 2))
        return found


def lifted(law: JointLaw, both: Floats, mark: Mark) -> JointLaw:
    """The law as if units that end on the evening of a mark were all used by then.

    Args:
        law: without it.
        both: all catheters' counts by what was used by then, and after it. [day, a, n, f]
        mark: the evening, and how many units end.
    """
    days, n, f = law.chances.shape
    units = mark.below
    more = (units, 0) if mark.of_kits else (0, units)
    chances = np.zeros((days, n + more[0], f + more[1]))
    chances[:, :n, :f] = law.chances
    later = slice(mark.day + 1, days)
    table = both[later, :units]
    for used in range(units):
        place = (used, 0) if mark.of_kits else (0, used)
        part = table[:, used]
        rows, columns = part.shape[1:]
        into = chances[later, place[0] : place[0] + rows, place[1] : place[1] + columns]
        into -= part[:, : into.shape[1], : into.shape[2]]
    ended = table.sum(axis=1)
    rows, columns = ended.shape[1:]
    into = chances[later, more[0] : more[0] + rows, more[1] : more[1] + columns]
    into += ended[:, : into.shape[1], : into.shape[2]]
    return JointLaw(chances=np.maximum(chances, 0.0))


def with_late_bottles(
    law: JointLaw, both: Floats, mark: Mark, *, here: int, coming: int
) -> JointLaw:
    """The law as if loose bottles that come after the evening of a mark had been there before.

    Where more further bottles were opened by then than were here, kits served for the rest,
    and as many of those that come are spared. They count as used, so that the shelf is short at
    the same use.

    Args:
        law: without it.
        both: all catheters' counts by further bottles by then, and after it. [day, a, n, f]
        mark: the evening.
        here: loose bottles that evening.
        coming: those that come.
    """
    days, n, f = law.chances.shape
    chances = np.zeros((days, n, f + coming))
    chances[:, :, :f] = law.chances
    later = slice(mark.day + 1, days)
    for used in range(here + 1, min(mark.below, f)):
        for after in range(min(coming, f - used)):
            part = both[later, used, :n, after]
            chances[later, : part.shape[1], used + after] -= part
            chances[later, : part.shape[1], used + coming] += part
    return JointLaw(chances=np.maximum(chances, 0.0))


def convolved(tables: Sequence[Floats]) -> Floats:
    """Sums of independent groups of counts, day by day, as far as each table goes. [day, ...]"""
    total = np.zeros_like(tables[0])
    axes = tuple(range(1, total.ndim))
    for first in range(0, len(total), _DAYS_AT_ONCE):
        sums, *others = (_without_rest(one[first : first + _DAYS_AT_ONCE]) for one in tables)
        for one in others:
            sizes = tuple(m + n - 1 for m, n in zip(sums.shape[1:], one.shape[1:], strict=True))
            wide = tuple(_fast(size) for size in sizes)
            spectrum = np.fft.rfftn(sums, wide, axes) * np.fft.rfftn(one, wide, axes)
            kept = tuple(slice(min(*both)) for both in zip(sizes, total.shape[1:], strict=True))
            sums = np.fft.irfftn(spectrum, wide, axes)[(slice(None), *kept)]
        filled = tuple(slice(size) for size in sums.shape[1:])
        total[(slice(first, first + _DAYS_AT_ONCE), *filled)] = sums
    return np.maximum(total, 0.0)


def _without_rest(table: Floats) -> Floats:
    """A table up to the last counts that hold anything."""
    for axis in range(1, table.ndim):
        rest = tuple(n for n in range(table.ndim) if n != axis)
        holding = np.flatnonzero(table.max(axis=rest) > _NOTHING)
        table = np.take(table, np.arange(int(holding[-1]) + 1 if len(holding) else 1), axis)
    return table


def _fast(count: int) -> int:
    """A length that is quick to transform and no shorter."""
    return min(m << k for k in range(12) for m in (1, 3, 5, 9) if m << k >= count)


def exceeded_next_to_never(law: Floats) -> int:
    """The number that is exceeded with a negligible chance only."""
    at_least = np.cumsum(law[::-1])[::-1]
    return int(np.flatnonzero(at_least > NEXT_TO_NEVER)[-1])
