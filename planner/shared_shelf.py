"""Several catheters on one shelf: when it runs out.

Catheters are independent, given what was learned. Without use-by dates and deliveries a shelf
of K kits and L loose bottles lasts through a day exactly when sessions, and further bottles
beyond L, take K kits at most. Both only grow, so their law on that day decides, which is
convolved from those of the catheters.

Dates and deliveries let the order of things matter: an upper bound (`planner.shared_bound`) is
made closer, or exact, by counts that are noted on the evening that matters and begin anew, so
that use by then and after it are known together.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from planner.chain import CatheterChain
from planner.demand import (
    RunOutChances,
    StockPath,
    UseChances,
    combined_use,
    follow,
    levels,
    ready_chances,
    shortened,
    use_together,
)
from planner.joint import Mark
from planner.normal import Floats
from planner.shared_bound import Bound, without_lot
from planner.shared_law import (
    NEXT_TO_NEVER,
    JointLaw,
    convolved,
    exceeded_next_to_never,
    lifted,
    with_late_bottles,
)

WORTH_MAKING_EXACT = 0.002
"""A bound that may be so far above the truth is made closer where that can be done."""

_LIKELY = 0.1
"""Days on which a delivery comes with a lesser chance are not followed on their own."""

_MOST_CELLS = 4_000_000
"""Places of a law beyond which making a bound closer would take too long."""


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
    _lifted: list[tuple[Mark, bool, tuple[int, ...], JointLaw]] = field(
        default_factory=list, init=False, repr=False
    )
    _noted_late: list[tuple[Mark, Floats]] = field(default_factory=list, init=False, repr=False)

    def run_out(self, stock: StockPath, days: int | None = None) -> RunOutChances:
        """When the shelf runs out.

        Args:
            stock: the shelf.
            days: how many days are asked for; all when not given.
        """
        days = len(self.use.bottles) if days is None else days
        found = self.bound(stock, days)
        if found.at_least is None or found.most_above <= WORTH_MAKING_EXACT:
            return found
        # Once the shelf has surely run out, nothing changes.
        days = min(days, int(np.count_nonzero(found.at_least < 1.0 - NEXT_TO_NEVER)) + 1)
        found = self._with_dated_lots(stock, days, found)
        if len(stock.coming) == 1 and found.most_above > WORTH_MAKING_EXACT:
            found = self._with_delivery(stock, days, found)
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
        # Beyond the days on which sessions have surely taken all kits nothing is served.
        may_last = self.use.sessions[:days, : kits + 1].sum(axis=1) > NEXT_TO_NEVER
        served_days = min(int(np.count_nonzero(may_last)) + 1, days)
        chances = np.zeros((days, sessions + 1, further + 1))
        chances[:served_days] = convolved(
            [
                use_together(
                    shortened(one, served_days), self.kits_ml, sessions=sessions, further=further
                )[:, 0]
                for one in self.chains
            ]
        )
        law = JointLaw(chances=chances)
        self._laws.append(law)
        return law

    def _with_dated_lots(self, stock: StockPath, days: int, found: RunOutChances) -> RunOutChances:
        """Count what passes its date within the law of use, one lot at a time.

        A lot of loose bottles, and of kits alone, is counted exactly; beside loose bottles kits
        count as used by sessions alone.
        """
        alone: list[Floats] = []
        for of_kits, lots in ((True, stock.expiring_kits), (False, stock.expiring_bottles)):
            for place, lot in enumerate(lots):
                if lot.last_day >= days - 1:
                    break
                units = sum(one.units for one in lots[: place + 1])
                mark = Mark(day=lot.last_day, below=units, of_kits=of_kits)
                law = self._law_beyond(stock, mark, days)
                if law is None:
                    return found
                rest = without_lot(lots, place)
                others = replace(stock, expiring_kits=rest) if of_kits else None
                others = others or replace(stock, expiring_bottles=rest)
                other = Bound(
                    law,
                    others,
                    days,
                    doubt=self._doubt(stock, mark, days) if of_kits else None,
                    counted_to=lot.last_day if of_kits else -1,
                ).run_out()
                assert other.at_least is not None
                found = _closer(
                    found, most=other.by_day, least=other.at_least, kits_left=other.kits_left
                )
                if found.most_above <= WORTH_MAKING_EXACT:
                    return found
                alone.append(self._short(law, stock, days))
        if alone and not stock.coming and not (stock.expiring_kits and stock.expiring_bottles):
            # What counts is the lot of which most is lost: the shelf is short beside one of them.
            kits, bottles = levels(stock)
            usual = self._short(self.law(days, kits=kits[-1], bottles=bottles[-1]), stock, days)
            most = usual + sum(one - np.minimum(one, usual) for one in alone)
            found = _closer(found, most=most, least=np.zeros(days))
        return found

    @staticmethod
    def _short(law: JointLaw, stock: StockPath, days: int) -> Floats:
        """Chance of more use than all there is at home."""
        return law.short(np.full(days, stock.kits), np.full(days, stock.bottles))

    def _law_beyond(self, stock: StockPath, mark: Mark, days: int) -> JointLaw | None:
        """The law with what ends on an evening counted as used; None where that takes long."""
        kits, bottles = levels(stock)
        usual = self.law(days, kits=kits[-1], bottles=bottles[-1])
        asked = (days, kits[-1] + 1, (kits[-1] + bottles[-1] + 1) if bottles[-1] else 1)
        asked = tuple(map(min, asked, usual.chances.shape))
        of_kits = usual is self.of_kits
        for known_mark, known_of_kits, known, law in self._lifted:
            is_alike = (known_mark, known_of_kits) == (mark, of_kits)
            if is_alike and all(map(operator.ge, known, asked)):
                return law
        chances = usual.chances[:days, : _rounded_up(asked[1]), : _rounded_up(asked[2])]
        if chances.size * mark.below > _MOST_CELLS:
            return None
        _, n, f = chances.shape
        both = self._noted(mark, days, sessions=n - 1, further=f - 1)
        law = lifted(JointLaw(chances=chances), both, mark)
        self._lifted.append((mark, of_kits, chances.shape, law))
        return law

    def _doubt(self, stock: StockPath, mark: Mark, days: int) -> Floats:
        """Chance that kits had to serve for loose bottles before an evening, by later days."""
        kits, bottles = levels(stock)
        law = self.law(days, kits=kits[-1], bottles=bottles[-1])
        ended = sum(one.units for one in stock.expiring_bottles if one.last_day < mark.day)
        doubt = np.zeros(days)
        doubt[mark.day + 1 :] = law.further_beyond(stock.bottles - ended)[mark.day]
        return doubt

    def _with_delivery(self, stock: StockPath, days: int, found: RunOutChances) -> RunOutChances:
        """One delivery, followed for the days on which it may come.

        What passes its date is taken off the shelf beforehand, with the chance that it is more.
        """
        kits, bottles = levels(stock)
        law = self.law(days, kits=kits[-1], bottles=bottles[-1])
        settled, more = Bound(law, stock, days).settled()
        if bottles[-1]:
            most, least = self._with_late_bottles(settled, days)
        else:
            most, least = self._with_kits_coming(settled, days)
        if (settled.kits, settled.bottles) != (stock.kits, stock.bottles):
            least = np.zeros(days)
        return _closer(found, most=most + more, least=least)

    def _with_kits_coming(self, stock: StockPath, days: int) -> tuple[Floats, Floats]:
        """Kits before a delivery, and all kits after it, for every day on which it may come.

        Days on which the bound is close enough keep it.
        """
        ready = ready_chances(stock, days)[:, 0]
        kits, with_coming = levels(stock)[0]
        law = self.law(days, kits=with_coming, bottles=0)
        before = law.short(np.full(days, kits), np.zeros(days, dtype=np.int64))
        after = law.short(np.full(days, with_coming), np.zeros(days, dtype=np.int64))
        short = (1.0 - ready.sum()) * before
        above = 0.0
        for day in np.flatnonzero(ready):
            first = before[day - 1] if day else 0.0
            both = np.minimum(first, after)
            if ready[day] * both.max() > WORTH_MAKING_EXACT / 4:
                both = self._short_before_and_after(stock, int(day), days)
            else:
                above += float(ready[day] * both.max())
                both = np.zeros(days)
            came = np.minimum(first + after - both, 1.0)
            short += ready[day] * np.where(np.arange(days) < day, before, came)
        return short, short - above

    def _short_before_and_after(self, stock: StockPath, day: int, days: int) -> Floats:
        """Chance of more use than kits before a morning, and by each day than kits in all."""
        kits, with_coming = levels(stock)[0]
        law = self.law(days, kits=with_coming, bottles=0)
        before = law.short(np.full(days, kits), np.zeros(days, dtype=np.int64))[day - 1]
        mark = Mark(day=day - 1, below=kits + 1, of_kits=True)
        both = self._noted(mark, days, sessions=with_coming, further=0)[..., 0]
        by_then, later = np.indices(both.shape[1:])
        served = both[:, by_then + later <= with_coming].sum(axis=1)
        after = law.short(np.full(days, with_coming), np.zeros(days, dtype=np.int64))
        # Short before or after: what is not served both before and after.
        found: Floats = np.maximum(before + after - (1.0 - served), 0.0)
        return found

    def _with_late_bottles(self, stock: StockPath, days: int) -> tuple[Floats, Floats]:
        """Loose bottles that come once kits had to serve: short before, or of all there is then.

        The chances of both are added up.
        """
        ready = ready_chances(stock, days)[:, 0]
        (kits, all_kits), (here, all_bottles) = levels(stock)
        law = self.law(days, kits=all_kits, bottles=all_bottles)

        def short(of: JointLaw, kits: int, bottles: int) -> Floats:
            return of.short(np.full(days, kits), np.full(days, bottles))

        before, least_after = short(law, kits, here), short(law, all_kits, all_bottles)
        most, least = ((1.0 - ready.sum()) * before for _ in range(2))
        without = short(law, all_kits, here)
        found: dict[int, tuple[Floats, bool]] = {}
        last = int(np.max(np.flatnonzero(ready), initial=0))
        for day in (int(one) for one in np.flatnonzero(ready)):
            first = before[day - 1] if day else 0.0
            # The later they come, the more kits have served: unlikely days go by the last one.
            followed = day if ready[day] > _LIKELY else last
            if followed not in found:
                beside = self._law_of_late(stock, followed - 1, days)
                beside_short = without if beside is None else short(beside, all_kits, all_bottles)
                after = np.where(np.arange(days) < followed, without, beside_short)
                found[followed] = after, beside is not None
            after, is_followed = found[followed]
            surely = after if followed == day and is_followed else least_after
            is_before = np.arange(days) < day
            most += ready[day] * np.where(is_before, before, np.minimum(first + after, 1.0))
            least += ready[day] * np.where(is_before, before, np.maximum(first, surely))
        return most, least

    def _law_of_late(self, stock: StockPath, day: int, days: int) -> JointLaw | None:
        """The law beside loose bottles that come after this evening; None where it takes long."""
        (_, kits), (here, bottles) = levels(stock)
        law = self.law(days, kits=kits, bottles=bottles)
        if bottles == here or day < 0:
            return law
        usual = law.chances[:days, : kits + 1, : kits + bottles + 1]
        # More further bottles by then are next to never opened.
        by_then = usual[day].sum(axis=0)
        mark = Mark(day=day, below=exceeded_next_to_never(by_then) + 1, of_kits=False)
        both = self._late_noted(mark, days, sessions=kits, after=bottles - here - 1)
        if both is None:
            return None
        law = JointLaw(chances=usual)
        return with_late_bottles(law, both, mark, here=here, coming=bottles - here)

    def _late_noted(self, mark: Mark, days: int, *, sessions: int, after: int) -> Floats | None:
        """Further bottles up to an evening and after it, remembered for other amounts."""
        asked = (days, mark.below, sessions + 1, after + 1)
        for known_mark, both in self._noted_late:
            if known_mark.day == mark.day and all(map(operator.ge, both.shape, asked)):
                return both[:days]
        if math.prod(asked) > _MOST_CELLS:
            return None
        sessions = _rounded_up(sessions)
        both = self._noted(mark, days, sessions=sessions, further=mark.below - 1, after=after)
        self._noted_late.append((mark, both))
        return both

    def _noted(
        self, mark: Mark, days: int, *, sessions: int, further: int, after: int | None = None
    ) -> Floats:
        """Counts of all catheters together, as in `use_together`. [day, a, n, f]"""
        return convolved(
            [
                use_together(
                    shortened(one, days),
                    self.kits_ml,
                    sessions=sessions,
                    further=further,
                    mark=mark,
                    further_after=after,
                )
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


def _closer(
    found: RunOutChances, *, most: Floats, least: Floats, kits_left: Floats | None = None
) -> RunOutChances:
    """The least of two upper bounds and the most of the lower ones, on the first days."""
    assert found.at_least is not None
    days = len(most)
    by_day, at_least, left = found.by_day.copy(), found.at_least.copy(), found.kits_left.copy()
    better = np.flatnonzero(most < by_day[:days])
    by_day[better] = most[better]
    if kits_left is not None:
        left[better] = kits_left[better]
    by_day = np.maximum.accumulate(np.clip(by_day, 0.0, 1.0))
    at_least[:days] = np.maximum(at_least[:days], np.minimum(least, 1.0))
    return replace(found, by_day=by_day, at_least=at_least, kits_left=left)


def _rounded_up(count: int) -> int:
    """A few more, so that what is worked out serves for the next numbers too."""
    return -(-count // 8) * 8
