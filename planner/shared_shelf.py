"""Several catheters on one shelf: when it runs out.

Catheters are independent, given what was learned. Without use-by dates and deliveries a shelf
of K kits and L loose bottles lasts through a day exactly when sessions, and further bottles
beyond L, take K kits at most. Both only grow, so their law on that day decides, which is
convolved from those of the catheters.

Dates and deliveries let the order of things matter. Shelves of kits alone with one of them are
followed exactly, with what was used by then and after it. All others get an upper bound (see
`planner.shared_bound`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from planner.chain import CatheterChain
from planner.demand import (
    ExpiringUnits,
    RunOutChances,
    StockPath,
    UseChances,
    combined_use,
    follow,
    levels,
    ready_chances,
    shortened,
    use_before_and_after,
    use_together,
)
from planner.joint import Mark
from planner.normal import Floats
from planner.shared_bound import Bound
from planner.shared_law import NEXT_TO_NEVER, JointLaw, convolved, exceeded_next_to_never

WORTH_MAKING_EXACT = 0.002
"""A bound that may be so far above the truth is made exact where that can be done."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharedUse:
    """What several catheters use of one shelf.

    Attributes:
        kits_ml: capacity of the next kits where they are not as ordered. [mL]
        use: sessions, and bottles, each on its own.
        of_kits: the law where every bottle is one of a kit; it counts as a session.
    """

    chains: tuple[CatheterChain, ...]
    kits_ml: tuple[int, ...]
    use: UseChances
    of_kits: JointLaw
    _laws: list[JointLaw] = field(default_factory=list, init=False, repr=False)

    def run_out(self, stock: StockPath, days: int | None = None) -> RunOutChances:
        """When the shelf runs out.

        Args:
            stock: the shelf.
            days: how many days are asked for; all when not given.
        """
        days = len(self.use.bottles) if days is None else days
        found = self.bound(stock, days)
        if found.most_above > WORTH_MAKING_EXACT:
            return self._exactly(stock, days, found) or found
        return found

    def bound(self, stock: StockPath, days: int) -> RunOutChances:
        """The upper bound of the run-out, which is quick."""
        kits, bottles = levels(stock)
        law = self.law(days, kits=kits[-1], bottles=bottles[-1])
        return Bound(law, stock, days).run_out()

    def least_short(self, stock: StockPath, day: int) -> float:
        """A lower bound of running short through a day: all that comes is there at once."""
        kits, bottles = levels(stock)
        law = self.law(day + 1, kits=kits[-1], bottles=bottles[-1])
        served = law.served(bottles[-1])[day]
        return 1.0 - float(served[min(kits[-1], len(served) - 1)])

    def law(self, days: int, *, kits: int, bottles: int) -> JointLaw:
        """The law of use over so many days, as far as so many units can serve it."""
        if not bottles:
            return self.of_kits
        most_sessions = exceeded_next_to_never(self.use.sessions[days - 1])
        fewest_sessions = int(np.argmax(np.cumsum(self.use.sessions[days - 1]) > NEXT_TO_NEVER))
        most_bottles = exceeded_next_to_never(self.use.bottles[days - 1])
        sessions = min(kits, most_sessions)
        further = min(kits + bottles, most_bottles - fewest_sessions)
        for law in self._laws:
            asked = (days, sessions + 1, further + 1)
            if all(had >= one for had, one in zip(law.chances.shape, asked, strict=True)):
                return law
        tables = [
            use_together(shortened(one, days), self.kits_ml, sessions=sessions, further=further)
            for one in self.chains
        ]
        law = JointLaw(chances=convolved(tables))
        self._laws.append(law)
        return law

    def _exactly(self, stock: StockPath, days: int, bound: RunOutChances) -> RunOutChances | None:
        """The run-out itself where kits are alone, with one lot that expires or one delivery."""
        if levels(stock)[1][-1]:
            return None
        if len(stock.expiring_kits) == 1 and not stock.coming:
            return self._with_dated_lot(stock, stock.expiring_kits[0], days, bound)
        if len(stock.coming) == 1 and not stock.expiring_kits:
            return self._with_delivery(stock, days, bound)
        return None

    def _with_dated_lot(
        self, stock: StockPath, lot: ExpiringUnits, days: int, bound: RunOutChances
    ) -> RunOutChances:
        """Kits of which some end: the rest alone must serve what is used after that."""
        law = self.law(days, kits=stock.kits, bottles=0).chances[:days, : stock.kits + 1, 0]
        opened = np.zeros((days, stock.kits + 1))
        opened[:, : law.shape[1]] = law
        both = self._before_and_after(lot.last_day, below=lot.units, most=stock.kits, days=days)
        by_then, later = np.indices(both.shape[1:])
        total = by_then + later
        for kits in range(stock.kits + 1):
            opened[:, kits] -= both[:, total == kits].sum(axis=1)
            if kits >= lot.units:
                opened[:, kits] += both[:, :, kits - lot.units].sum(axis=1)
        served = opened.sum(axis=1)
        left = opened[:, ::-1].copy()
        left[:, 0] += 1.0 - served
        return replace(bound, by_day=_as_chances(1.0 - served), kits_left=left, most_above=0.0)

    def _with_delivery(
        self, stock: StockPath, days: int, bound: RunOutChances
    ) -> RunOutChances | None:
        """Kits before a delivery, and all kits after it, for every day on which it may come.

        Days on which the bound is close enough keep it.
        """
        ready = ready_chances(stock, days)[:, 0]
        kits, with_coming = levels(stock)[0]
        law = self.law(days, kits=with_coming, bottles=0)
        before = law.short(np.full(days, kits), np.zeros(days, dtype=np.int64))
        after = law.short(np.full(days, with_coming), np.zeros(days, dtype=np.int64))
        short = (1.0 - ready.sum()) * before
        most_above = 0.0
        for day in np.flatnonzero(ready):
            first = before[day - 1] if day else 0.0
            both = np.minimum(first, after)
            if ready[day] * both.max() > WORTH_MAKING_EXACT / 4:
                both = self._short_before_and_after(stock, int(day), days)
            else:
                both = np.zeros(days)
                most_above += float(ready[day] * min(first, after[-1]))
            came = np.minimum(first + after - both, 1.0)
            short += ready[day] * np.where(np.arange(days) < day, before, came)
        return replace(bound, by_day=_as_chances(short), most_above=most_above)

    def _short_before_and_after(self, stock: StockPath, day: int, days: int) -> Floats:
        """Chance of more use than kits before a morning, and by each day than kits in all."""
        kits, with_coming = levels(stock)[0]
        law = self.law(days, kits=with_coming, bottles=0)
        before = law.short(np.full(days, kits), np.zeros(days, dtype=np.int64))[day - 1]
        both = self._before_and_after(day - 1, below=kits + 1, most=with_coming, days=days)
        by_then, later = np.indices(both.shape[1:])
        served = both[:, by_then + later <= with_coming].sum(axis=1)
        after = law.short(np.full(days, with_coming), np.zeros(days, dtype=np.int64))
        # Short before or after: what is not served both before and after.
        found: Floats = np.maximum(before + after - (1.0 - served), 0.0)
        return found

    def _before_and_after(self, day: int, *, below: int, most: int, days: int) -> Floats:
        """Kits opened by an evening, fewer than so many, and after it. [day, by then, after]"""
        mark = Mark(day=day, below=below)
        return convolved(
            [
                use_before_and_after(shortened(one, days), self.kits_ml, mark=mark, most=most)
                for one in self.chains
            ]
        )


def shared_use(chains: Sequence[CatheterChain], kits_ml: Sequence[int]) -> SharedUse:
    """What catheters use together, as if all kits at home were of the smallest size.

    Which of them opens which kit is not known ahead.

    Args:
        chains: of each catheter.
        kits_ml: capacity of each kit at home. [mL]
    """
    smallest_ml = min((*kits_ml, *(one.sizes.kit_ml for one in chains)))
    as_small = (smallest_ml,) * len(kits_ml)
    as_stock = StockPath(kits=0, bottles=0, kits_ml=as_small)
    use = combined_use([follow(one, [as_stock]).use for one in chains])
    return SharedUse(
        chains=tuple(chains),
        kits_ml=as_small,
        use=use,
        of_kits=JointLaw(chances=use.bottles[:, :, None]),
    )


def _as_chances(by_day: Floats) -> Floats:
    return np.maximum.accumulate(np.clip(by_day, 0.0, 1.0))
