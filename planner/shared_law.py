"""The law of use of several catheters together: sessions and further bottles, by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from planner.normal import Floats, Integers

NEXT_TO_NEVER = 1e-7
"""A chance below which numbers of units need not be told apart."""

_DAYS_AT_ONCE = 32


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


def convolved(tables: Sequence[Floats]) -> Floats:
    """Sums of independent pairs of counts, day by day, as far as each table goes. [day, n, f]"""
    days, n, f = tables[0].shape
    total = np.empty((days, n, f))
    wide = (_fast(2 * n - 1), _fast(2 * f - 1))
    for first in range(0, days, _DAYS_AT_ONCE):
        some = slice(first, first + _DAYS_AT_ONCE)

        def both(one: Floats, other: Floats, some: slice = some) -> Floats:
            spectrum = np.fft.rfft2(one, wide) * np.fft.rfft2(other[some], wide)
            found: Floats = np.fft.irfft2(spectrum, wide)[:, :n, :f]
            return found

        total[some] = reduce(both, tables[1:], tables[0][some])
    return np.maximum(total, 0.0)


def _fast(count: int) -> int:
    """A length that is quick to transform and no shorter."""
    return min(m << k for k in range(12) for m in (1, 3, 5, 9) if m << k >= count)


def exceeded_next_to_never(law: Floats) -> int:
    """The number that is exceeded with a negligible chance only."""
    at_least = np.cumsum(law[::-1])[::-1]
    return int(np.flatnonzero(at_least > NEXT_TO_NEVER)[-1])
