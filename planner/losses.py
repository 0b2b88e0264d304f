"""Bounds on what passes its use-by date unused, from the distributions of use alone.

Units that pass their date count as used, so that use ends L units further on, where L is the
largest, over the dates, of the units dated so far less those used by then. The chance that
use U and losses L together exceed a stock lies, for any number of units l, between
P(U > stock - l) - P(L < l) and P(U > stock - l) + P(L > l): the inequalities of Frechet and
Boole (Feller, An Introduction to Probability Theory, vol. 1, 3rd ed., ch. IV, memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from planner.demand import ExpiringUnits, UseChances
from planner.normal import Floats

_CERTAIN_ENOUGH = 1e-7
"""Chance of losing more below which a further unit of loss need not be looked at."""


def kits_lost(
    lots: Sequence[ExpiringUnits], use: UseChances, *, has_loose: bool
) -> list[tuple[int, float]]:
    """Kits that pass their date: numbers, and for each at most the chance that it is more.

    Where loose bottles serve as well, a session is only sure to take one kit.
    """
    by_day = use.sessions if has_loose else use.bottles
    return _lost(lots, lambda day: _reached(by_day[day]))


def bottles_lost(lots: Sequence[ExpiringUnits], use: UseChances) -> list[tuple[int, float]]:
    """The same for loose bottles, which serve what sessions take beyond their first bottle."""
    return _lost(lots, lambda day: _further(use.bottles[day], use.sessions[day]))


def _lost(
    lots: Sequence[ExpiringUnits], used_fewer: Callable[[int], Floats]
) -> list[tuple[int, float]]:
    more = np.zeros(sum(lot.units for lot in lots) + 1)
    dated = 0
    for lot in lots:
        dated += lot.units
        fewer = used_fewer(lot.last_day)
        # More than l are lost when fewer than dated - l were used.
        wanted = np.clip(dated - np.arange(len(more)), 0, len(fewer) - 1)
        more += fewer[wanted]
    found: list[tuple[int, float]] = []
    for units, chance in enumerate(np.minimum(more, 1.0)):
        found.append((units, float(chance)))
        if chance < _CERTAIN_ENOUGH:
            break
    return found


def _reached(law: Floats) -> Floats:
    """Chance that fewer than n are used, for n from 0 to one more than there can be."""
    return np.concatenate(([0.0], np.cumsum(law)))


def _further(bottles: Floats, sessions: Floats) -> Floats:
    """At most the chance that fewer than n bottles are opened beyond one for each session.

    P(B - S < n) <= P(B < n + s) + P(S > s) for any s.
    """
    fewer = _reached(bottles)
    more_sessions = 1.0 - np.cumsum(sessions)
    counts = np.arange(len(fewer))[:, None] + np.arange(len(sessions))[None, :]
    bound = fewer[np.minimum(counts, len(fewer) - 1)] + np.maximum(more_sessions, 0.0)[None, :]
    found: Floats = np.minimum(bound.min(axis=1), 1.0)
    found[0] = 0.0
    return found


def opened_early(
    use: UseChances, day: int | None, *, here: int, coming: int
) -> Iterator[tuple[int, int, float]]:
    """Kits used for further bottles before loose ones came, which can no longer spare them.

    Args:
        use: sessions and bottles by day.
        day: the last day before these loose bottles; None when none came.
        here: loose bottles before.
        coming: those that came.

    Yields:
        How many kits fewer and bottles more the shelf then has, and at most the chance that it
        has less. Last comes the shelf without the loose bottles that came, which is sure.
    """
    if day is None:
        yield 0, 0, 0.0
        return
    fewer = _reached(use.sessions[day])
    beyond = 1.0 - np.cumsum(use.bottles[day])
    for units in range(coming):
        # More than f further bottles are opened only when fewer than n sessions take place or
        # more than f + n bottles are opened, for any n.
        counts = np.minimum(np.arange(len(fewer)) + here + units, len(beyond) - 1)
        more = float(np.min(fewer + np.maximum(beyond[counts], 0.0)))
        yield units, units, min(more, 1.0)
        if more < _CERTAIN_ENOUGH:
            return
    yield 0, -coming, 0.0


def least_short_of_dated(
    use: UseChances, day: int, kits: int, lots: Sequence[ExpiringUnits]
) -> float:
    """At least the chance that kits alone, some of them dated, do not last through a day."""
    fewer = _reached(use.bottles[day])
    total = sum(lot.units for lot in lots)
    surely = np.zeros(total + 1)
    dated = 0
    for lot in lots:
        dated += lot.units
        used = _reached(use.bottles[lot.last_day])
        # At least l are lost when fewer than dated - l + 1 were used.
        wanted = dated - np.arange(total + 1) + 1
        chance = np.where(wanted > 0, used[np.clip(wanted, 0, len(used) - 1)], 0.0)
        surely = np.maximum(surely, chance)
    surely[0] = 1.0
    left = np.clip(kits - np.arange(total + 1) + 1, 0, len(fewer) - 1)
    return float(np.max(surely - fewer[left]))
