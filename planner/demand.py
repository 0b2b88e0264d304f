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

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.chain import BottleSizes, CatheterChain
from planner.joint import Goods, Kinds, Mark, Stepped, no_shelf
from planner.normal import Floats, Integers

try:
    from planner.compiled import step_through
except (ImportError, RuntimeError):  # no numba, or no folder that it may keep compiled code in
    from planner.joint import step_through


MOST_GOODS_APART = 3
"""Goods in transit that may come in any order; each one more doubles the work."""


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
        kits_ml: capacity of each kit in the order of opening, where not all are as ordered;
            those that come later are. [mL]
    """

    kits: int
    bottles: int
    expiring_kits: tuple[ExpiringUnits, ...] = ()
    expiring_bottles: tuple[ExpiringUnits, ...] = ()
    coming: tuple[ComingGoods, ...] = ()
    kits_ml: tuple[int, ...] = ()

    @property
    def is_plain(self) -> bool:
        """Whether there are only kits, of which none expires or comes within the horizon."""
        return not (self.bottles or self.expiring_kits or self.expiring_bottles or self.coming)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOutChances:
    """Result of following one shelf.

    Attributes:
        by_day: probability that the run-out has happened by the end of each day. [day]
        kits_left: distribution of kits left at the end of each day without goods in transit;
            after the run-out none are left. [day, kits]
        kits_expired, bottles_expired: expected units that pass their date unused. [units]
        at_least: lower bounds of `by_day` where it may be above the truth; None where exact.
    """

    by_day: Floats
    kits_left: Floats
    kits_expired: float
    bottles_expired: float
    at_least: Floats | None = None

    @property
    def most_above(self) -> float:
        """By how much `by_day` is above the truth at most."""
        if self.at_least is None:
            return 0.0
        return float(np.max(self.by_day - self.at_least, initial=0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """What one catheter uses, and when each of several stock paths fails it."""

    use: UseChances
    run_outs: tuple[RunOutChances, ...]


def follow(chain: CatheterChain, paths: Sequence[StockPath] = ()) -> Followed:
    """Step one catheter through the horizon, with any number of stock paths beside it.

    A session can be served while a kit is left for it and while kits and loose bottles
    together hold the bottles it opens. Loose bottles go first for further bottles, then the
    bottles of kits. First expired is used first; what passes its date unused is gone. The
    paths are one shelf with different goods in transit: their kits have the same sizes.
    """
    days = chain.horizon_days
    kinds = _kinds(chain.sizes, paths[0].kits_ml if paths else ())
    shelves = [_goods(path, days, kinds) for path in paths if not path.is_plain]
    endless, *beside = step_through(chain, [no_shelf(days, kinds), *shelves])
    use = UseChances(sessions=_sessions_by_day(chain), bottles=_without_empty_end(endless.kits))
    stepped = iter(beside)
    return Followed(
        use=use,
        run_outs=tuple(
            _read_off(use, path) if path.is_plain else _run_out(path, next(stepped))
            for path in paths
        ),
    )


def _without_empty_end(table: Floats) -> Floats:
    """The columns up to the last that holds anything."""
    return table[:, : int(np.flatnonzero(table.any(axis=0))[-1]) + 1]


def run_out_of(chain: CatheterChain, path: StockPath) -> RunOutChances:
    """When one stock path fails one catheter, as `follow` has it, without the use besides."""
    days = chain.horizon_days
    (stepped,) = step_through(chain, [_goods(path, days, _kinds(chain.sizes, path.kits_ml))])
    return _run_out(path, stepped)


def use_together(
    chain: CatheterChain,
    kits_ml: Sequence[int],
    *,
    sessions: int,
    further: int,
    mark: Mark | None = None,
    further_after: int | None = None,
) -> Floats:
    """Sessions of one catheter, and bottles beyond one for each of them, known together.

    Args:
        chain: the catheter.
        kits_ml: capacity of its next kits where they are not as ordered. [mL]
        sessions: the most that are told apart; after the mark as well.
        further: the most further bottles that are told apart, losses included. When 0, every
            bottle is one of a kit and counts as a session.
        mark: an evening on which one of the counts is noted and begins anew.
        further_after: the most further bottles after it, where these are fewer.

    Returns:
        Probability of a noted, n sessions and f further bottles by the end of each day; what is
        more of any is left out. [day, a, n, f]
    """
    # With a loose bottle for every further one, kits opened are the sessions.
    stock = StockPath(kits=sessions, bottles=further + 1 if further else 0)
    goods = _goods(stock, chain.horizon_days, _kinds(chain.sizes, kits_ml))
    if mark is not None:
        goods = replace(
            goods,
            mark=mark,
            kits=np.repeat(goods.bottles * 0 + sessions, mark.below),
            bottles=np.repeat(goods.bottles, mark.below),
        )
        if further_after is not None:
            goods.bottles[1:] = further_after + 1
    (stepped,) = step_through(chain, [replace(goods, wants_both=True)])
    if further_after is not None:
        further = further_after
    return stepped.both[:, :, : further + 1].transpose(0, 1, 3, 2)


def shortened(chain: CatheterChain, days: int) -> CatheterChain:
    """The chain over fewer days."""
    timing = replace(
        chain.timing,
        chance=chain.timing.chance[:, :days],
        restarts=frozenset(day for day in chain.timing.restarts if day < days),
    )
    return replace(chain, timing=timing, session_chance=chain.session_chance[:, :days])


def _kinds(sizes: BottleSizes, kits_ml: Sequence[int]) -> Kinds:
    """Kinds of places among kits of these capacities."""
    places: dict[tuple[int, ...], int] = {(): 0}
    by_kits = [
        places.setdefault(_next_kits_ml(sizes, kits_ml[n:]), len(places))
        for n in range(len(kits_ml))
    ]
    return Kinds(next_kits_ml=tuple(places), by_kits=np.array(by_kits, dtype=np.int64))


def _next_kits_ml(sizes: BottleSizes, kits_ml: Sequence[int]) -> tuple[int, ...]:
    """What the kits hold that one session may open; empty when they are as ordered."""
    most = 1 if sizes.loose_ml is not None else sizes.most_bottles()
    opened = [*kits_ml[:most], *[sizes.kit_ml] * (most - len(kits_ml))]
    return () if all(one == sizes.kit_ml for one in opened) else tuple(opened)


def _goods(path: StockPath, days: int, kinds: Kinds) -> Goods:
    kits, bottles, ready = _told_apart(path, days)
    left = 1.0 - (np.cumsum(ready, axis=0) - ready)
    ready_now = np.where(left > 1e-12, np.minimum(ready / np.maximum(left, 1e-12), 1.0), 1.0)
    return Goods(
        kits=path.kits + _by_set(kits),
        bottles=path.bottles + _by_set(bottles),
        ready_now=ready_now,
        kit_floors=_floors(path.expiring_kits, days),
        bottle_floors=_floors(path.expiring_bottles, days),
        kinds=kinds,
    )


def _told_apart(path: StockPath, days: int) -> tuple[list[int], list[int], Floats]:
    """Kits, loose bottles and chances of goods in transit that may come in any order.

    Where there are more of them than are told apart, the last ones count once all have come.
    """
    kits = [one.kits for one in path.coming]
    bottles = [one.bottles for one in path.coming]
    ready = ready_chances(path, days)
    apart = MOST_GOODS_APART - 1
    if len(kits) > MOST_GOODS_APART:
        all_ready = np.cumsum(ready[:, apart:], axis=0).prod(axis=1)
        ready = np.column_stack([ready[:, :apart], np.diff(all_ready, prepend=0.0)])
        kits = [*kits[:apart], sum(kits[apart:])]
        bottles = [*bottles[:apart], sum(bottles[apart:])]
    return kits, bottles, ready


def _by_set(units: Sequence[int]) -> Integers:
    """Units in all by the set of goods that have come, a bit for each."""
    sets = range(1 << len(units))
    return np.array([sum(n for i, n in enumerate(units) if has >> i & 1) for has in sets])


def _floors(lots: Sequence[ExpiringUnits], days: int) -> Integers:
    """Units of all lots dated up to a day, on days on which one of them ends; else 0."""
    floors = np.zeros(days, dtype=np.int64)
    for lot in lots:
        if 0 <= lot.last_day < days:
            floors[lot.last_day] = sum(one.units for one in lots if one.last_day <= lot.last_day)
    return floors


def _run_out(path: StockPath, stepped: Stepped) -> RunOutChances:
    gone = np.minimum(np.cumsum(stepped.gone), 1.0)
    left = np.zeros((len(gone), path.kits + 1))
    used = stepped.kits[:, : path.kits + 1]
    left[:, path.kits - np.arange(used.shape[1])] = used
    left[:, 0] += gone
    return RunOutChances(
        by_day=gone,
        kits_left=left,
        kits_expired=stepped.kits_expired,
        bottles_expired=stepped.bottles_expired,
    )


def _read_off(use: UseChances, path: StockPath) -> RunOutChances:
    """The run-out of a plain shelf: it is short once more bottles were needed than kits are."""
    enough = use.bottles[:, : path.kits + 1]
    left = np.zeros((len(enough), path.kits + 1))
    left[:, path.kits - np.arange(enough.shape[1])] = enough
    gone = np.clip(1.0 - enough.sum(axis=1), 0.0, 1.0)
    left[:, 0] += gone
    return RunOutChances(
        by_day=np.maximum.accumulate(gone), kits_left=left, kits_expired=0.0, bottles_expired=0.0
    )


def combined_use(uses: Sequence[UseChances]) -> UseChances:
    """Use of several independent catheters together, day by day."""
    total = uses[0]
    for more in uses[1:]:
        total = UseChances(
            sessions=_convolved(total.sessions, more.sessions),
            bottles=_convolved(total.bottles, more.bottles),
        )
    return total


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


def levels(stock: StockPath) -> tuple[list[int], list[int]]:
    """Kits, and loose bottles, at home with so many deliveries; none first."""
    kits, bottles = [stock.kits], [stock.bottles]
    for goods in stock.coming:
        kits.append(kits[-1] + goods.kits)
        bottles.append(bottles[-1] + goods.bottles)
    return kits, bottles


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
            before = mass[:, :, : day + 1]
            drained = before * timing.chance[:, day, :, None]
            stayed = before - drained
            after = mass[:, :, : day + 2]
            after[:, 0, 0] = 0.0
            after[:, 0, 1:] = drained.sum(axis=1)
            after[:, 1:, :-1] = stayed[:, :-1]
            after[:, -1, :-1] += stayed[:, -1]
        by_day[day] = mass.sum(axis=(0, 1))
    return by_day


def _convolved(first: Floats, second: Floats) -> Floats:
    return np.stack([np.convolve(a, b) for a, b in zip(first, second, strict=True)])


def ready_chances(stock: StockPath, days: int) -> Floats:
    """Chance that each of the goods in transit becomes ready that morning. [day, goods]"""
    ready = np.zeros((days, len(stock.coming)))
    for place, goods in enumerate(stock.coming):
        by_day = np.asarray(goods.ready_chance)[:days]
        ready[: len(by_day), place] = by_day
    return ready
