"""An upper bound of the run-out of several catheters' shelf, where the order of things matters.

Units that pass their date, and kits that served before loose bottles came, are known only beside
all else that happened. For any number of them the shelf is short at most where it is with that
number gone, or where more are (Boole's inequality, Feller, An Introduction to Probability Theory,
vol. 1, 3rd ed., ch. IV, memory); each day takes the numbers that give the least.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.demand import ExpiringUnits, RunOutChances, StockPath, levels, ready_chances
from planner.normal import Floats, Integers
from planner.shared_law import NEXT_TO_NEVER, JointLaw

_SELDOM = 5e-4
_TRIED = (0.3, 0.1, 0.03, 0.01, 3e-3, 1e-3, 1e-4, NEXT_TO_NEVER)
"""Numbers of units that are tried: the first ones exceeded at most with these chances."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """A number of units, and by day the chance that it is exceeded at most."""

    units: int
    more: Floats


class Bound:
    """An upper bound of the run-out of a shelf with dates and deliveries, and a lower one.

    Deliveries come in their order. What of the loose bottles of a delivery could no longer be
    used, since kits had served before it, is counted by the further bottles opened before it.
    """

    def __init__(
        self,
        law: JointLaw,
        stock: StockPath,
        days: int,
        *,
        doubt: Floats | None = None,
        counted_to: int = -1,
    ) -> None:
        """Take a shelf beside a law.

        Args:
            law: of use, with what of the shelf is already counted in it.
            stock: the shelf without that.
            days: how many days are asked for.
            doubt: chance that the law counts too much; none when not given. [day]
            counted_to: last day of kits counted in the law.
        """
        self._counted_to = counted_to
        self._law, self._stock, self._days = law, stock, days
        self._doubt = np.zeros(days) if doubt is None else doubt
        self._kits, self._bottles = levels(stock)
        self._ready = ready_chances(stock, days)
        self._kit_dated = _dated_by(stock.expiring_kits, days)
        self._bottle_dated = _dated_by(stock.expiring_bottles, days)

    def run_out(self) -> RunOutChances:
        """The upper bound, with how far above the truth it is at most."""
        most = np.ones(self._days)
        lost = np.zeros((2, self._days), dtype=np.int64)
        kit_losses, bottle_losses = list(self._kits_lost()), list(self._bottles_lost())
        for kits, bottles in itertools.product(_tried(kit_losses), _tried(bottle_losses)):
            for traded in self._traded(bottles.units):
                short = self._short(kits.units, bottles.units, traded)
                more = kits.more + bottles.more + (0.0 if traded is None else traded.more)
                bound = np.minimum(short + more, 1.0)
                better = bound < most
                most = np.where(better, bound, most)
                lost[0][better], lost[1][better] = kits.units, bottles.units
        most = np.maximum.accumulate(most)
        return RunOutChances(
            by_day=most,
            kits_left=self._kits_left(lost),
            kits_expired=_mean(kit_losses),
            bottles_expired=_mean(bottle_losses),
            at_least=self._least(kit_losses),
        )

    def settled(self) -> tuple[StockPath, Floats]:
        """The shelf less what may pass its date, without dates; the chance that more is lost."""
        kits, bottles = (
            next(one for one in losses if one.more[-1] <= _SELDOM)
            for losses in (self._kits_lost(), self._bottles_lost())
        )
        stock = replace(
            self._stock,
            kits=self._stock.kits - kits.units,
            bottles=self._stock.bottles - bottles.units,
            expiring_kits=(),
            expiring_bottles=(),
        )
        return stock, kits.more + bottles.more

    def _short(self, kits: int, bottles: int, traded: Allowance | None) -> Floats:
        """Chance of being short with so many units lost, and so many kits used too early.

        The shelf is short with so many deliveries on the first day on which use exceeds it,
        if just so many have come by then.
        """
        total = np.zeros(self._days)
        came = np.ones(self._days)
        stages = len(self._kits)
        for stage in range(stages):
            loose = self._bottles[stage] if traded is not None else self._bottles[0]
            early = min(traded.units, loose - self._bottles[0]) if traded is not None else 0
            over = self._law.short(
                self._kits[stage] - early - np.minimum(self._kit_dated, kits),
                loose + early - np.minimum(self._bottle_dated, bottles),
            )
            here = came
            if stage < stages - 1:
                ready_by = np.cumsum(self._ready[:, stage])
                here = came * (1.0 - ready_by)
                came = came * ready_by
            total += np.cumsum(np.diff(over, prepend=0.0) * here)
        return total

    def _kits_lost(self) -> Iterator[Allowance]:
        """Kits that pass their date: use by then is least with all loose bottles there."""
        served = self._law.served(self._bottles[-1])

        def fewer(day: int, units: int) -> float:
            return float(served[day, min(units, served.shape[1]) - 1]) if units > 0 else 0.0

        return _allowances(self._stock.expiring_kits, self._days, fewer)

    def _bottles_lost(self) -> Iterator[Allowance]:
        """The same for loose bottles, which serve further bottles alone."""

        def fewer(day: int, units: int) -> float:
            return float(self._law.chances[day, :, : max(units, 0)].sum())

        return _allowances(self._stock.expiring_bottles, self._days, fewer)

    def _traded(self, bottles_lost: int) -> Iterator[Allowance | None]:
        """Kits used for further bottles before loose ones came that could have served them.

        None stands for leaving those loose bottles out, which is right at any rate.
        """
        here = self._bottles[0]
        if self._bottles[-1] == here:
            yield Allowance(units=0, more=np.zeros(self._days))
            return
        yield None
        bringing = [n for n, one in enumerate(self._stock.coming) if one.bottles]
        tried = []
        for units in range(self._bottles[-1] - here + 1):
            beyond = self._law.further_beyond(here - bottles_lost + units)
            the_day_before = np.concatenate(([0.0], beyond[: self._days - 1]))
            more = np.cumsum((self._ready[:, bringing] * the_day_before[:, None]).sum(axis=1))
            tried.append(Allowance(units=units, more=more))
        yield from _tried(tried)

    def _least(self, kit_losses: Sequence[Allowance]) -> Floats:
        """A lower bound: short of all there will be, or before the first delivery."""
        kits, bottles = np.full(self._days, self._kits[-1]), np.full(self._days, self._bottles[-1])
        least = self._law.short(kits, bottles)
        bottles_are_certain = self._bottles[-1] == self._bottles[0] and not self._bottle_dated.any()
        # Kits that end before others that are counted in the law may not come on top of these.
        dated = [one.last_day for one in self._stock.expiring_kits]
        if len(dated) == 1 and dated[0] > self._counted_to and bottles_are_certain:
            for fewer, one in itertools.pairwise(kit_losses):
                # At least this many are lost, and what is left does not last.
                lasting = 1.0 - self._law.short(kits - one.units, bottles)
                least = np.maximum(least, fewer.more - lasting)
        if self._stock.coming:
            first = self._law.short(
                np.full(self._days, self._kits[0]), np.full(self._days, self._bottles[0])
            )
            waiting = 1.0 - np.cumsum(self._ready[:, 0])
            before = np.cumsum(np.diff(first, prepend=0.0) * waiting)
            least = np.maximum(least, before)
        found: Floats = np.maximum.accumulate(np.maximum(least - self._doubt, 0.0))
        return found

    def _kits_left(self, lost: Integers) -> Floats:
        """Kits left by day without deliveries, with the loss that each day's bound goes by."""
        left = np.zeros((self._days, self._stock.kits + 1))
        for day in range(self._days):
            kits = self._stock.kits - min(int(self._kit_dated[day]), int(lost[0, day]))
            bottles = self._stock.bottles - min(int(self._bottle_dated[day]), int(lost[1, day]))
            served = self._law.served(bottles)[day]
            opened = np.diff(served[: kits + 1], prepend=0.0)
            left[day, kits - np.arange(len(opened))] = opened
            left[day, 0] += 1.0 - opened.sum()
        return left


def _allowances(
    lots: Sequence[ExpiringUnits], days: int, fewer: Callable[[int, int], float]
) -> Iterator[Allowance]:
    """Units that pass their date, from none on, each with the chance that it is more.

    Args:
        lots: soonest date first.
        days: days that are looked at.
        fewer: chance that by the end of a day fewer than so many units were used.
    """
    ended = [one for one in lots if one.last_day < days - 1]
    for units in itertools.count():
        more = np.zeros(days)
        dated = 0
        for lot in ended:
            dated += lot.units
            more[lot.last_day + 1 :] += fewer(lot.last_day, dated - units)
        yield Allowance(units=units, more=np.minimum(more, 1.0))
        if more[-1] < NEXT_TO_NEVER:
            return


def _tried(allowances: Sequence[Allowance]) -> Iterator[Allowance]:
    """None, and the fewest that are exceeded at most with each of some chances."""
    chosen = {0}
    for level in _TRIED:
        chosen.add(next((n for n, one in enumerate(allowances) if one.more[-1] <= level), 0))
    return (allowances[n] for n in sorted(chosen))


def without_lot(lots: Sequence[ExpiringUnits], place: int) -> tuple[ExpiringUnits, ...]:
    """The lots but one, with as many units dated up to each later date as before."""
    rest = [*lots[:place], *lots[place + 1 :]]
    if place < len(rest):
        after = rest[place]
        rest[place] = ExpiringUnits(last_day=after.last_day, units=after.units + lots[place].units)
    return tuple(rest)


def _dated_by(lots: Sequence[ExpiringUnits], days: int) -> Integers:
    """Units whose date has passed on each day. [day]"""
    found = np.zeros(days, dtype=np.int64)
    for lot in lots:
        found[max(lot.last_day + 1, 0) :] += lot.units
    return found


def _mean(losses: Sequence[Allowance]) -> float:
    return float(sum(one.more[-1] for one in losses))
