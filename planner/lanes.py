# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""A chain laid out for `planner.compiled`: its numbers in lanes, and the chances of a session.

A lane is one point of the grid of x under one drift. The drifts of a point are neighbours, so
that a step of the rate goes to the lane so many drifts away; an empty point stands at either
end of the grid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from planner import assumptions
from planner.chain import TABLE_EDGE, CatheterChain
from planner.compiling import compile_steps
from planner.consumption import losses_given_bottles
from planner.normal import Floats, Integers

Singles = np.ndarray[tuple[int, ...], np.dtype[np.float32]]

BLOCK = 16
"""Lanes in a block: a loop over whole blocks leaves no rest to be done one by one."""


_LINE_BYTES = 64
"""A line of the cache; lanes that begin with one are read in half the time."""


def line_of(count: int) -> Singles:
    """Room for so many numbers in single precision, at the beginning of a cache line."""
    room = np.empty(count + _LINE_BYTES // 4, dtype=np.float32)
    first = -room.ctypes.data % _LINE_BYTES // 4
    return room[first : first + count]


class ChainInLanes(NamedTuple):
    """What all variants of a chain have in common, as plain arrays.

    Attributes:
        first_day: first day on which a session may take place.
        held_of: place of each state's held days among the distinct ones. [J]
        without_session: next state when no session takes place. [J]
        after_session: next state by carry level.
        restarts: whether the household comes home that day. [day]
        limit_of: place of each day's session limit among the distinct ones. [day]
        threshold_counts: further bottles by kind of next kits and limit. [kind, limit]
        losses: chance of so many lost bottles, by good bottles. [bottles, lost]
        loss_counts: how many of them count. [bottles]
        drifts: how many drifts there are; neighbours on the grid are so many lanes apart.
        points: points of the grid.
        rounds: small steps in a walk.
        near: chance of one point up, and down, in each of them.
        far: the same of two points.
        chances: chance of each way a session can end without losses, in single precision and in
            one line: by kind, day, fluid held, way, lane.
        ways: how many ways there is room for.
    """

    first_day: int
    held_of: Integers
    without_session: Integers
    after_session: Integers
    restarts: Integers
    limit_of: Integers
    threshold_counts: Integers
    losses: Floats
    loss_counts: Integers
    drifts: int
    points: int
    rounds: int
    near: float
    far: float
    chances: Singles
    ways: int


def _lanes(drifts: int, points: int) -> int:
    """Lanes for a grid with two empty points at either end, in whole blocks."""
    return -(-(points + 4) * drifts // BLOCK) * BLOCK


def start_in_lanes(start: Floats) -> Singles:
    """The start of one variant, drift within point, after two empty points. [J, L]"""
    drifts, points, states = start.shape
    lanes = np.zeros((states, _lanes(drifts, points)), dtype=np.float32)
    lanes[:, 2 * drifts : drifts * (points + 2)] = start.transpose(2, 1, 0).reshape(states, -1)
    return lanes


def in_lanes(chain: CatheterChain, kinds: Sequence[tuple[int, ...]]) -> ChainInLanes:
    """A chain as plain arrays, with the chances of its sessions' ends worked out."""
    sizes, states, days = chain.sizes, chain.states, chain.horizon_days
    limits = sorted(set(sizes.limits_ml))
    thresholds = [[sizes.thresholds(limit, one) for limit in limits] for one in kinds]
    threshold_counts = np.array([[len(one) for one in by_limit] for by_limit in thresholds])
    most = int(threshold_counts.max())
    losses = [losses_given_bottles(good, chain.loss_chance) for good in range(1, most + 2)]
    held_days, held_of = np.unique(states.held_days, return_inverse=True)
    walk = chain.walk_in_steps
    restarts = np.zeros(days, dtype=np.int64)
    restarts[list(chain.timing.restarts)] = 1
    limit_of = np.searchsorted(limits, sizes.limits_ml)[:days]
    drifts, points = chain.ln_rates.shape
    ways = most + len(states.after_session)
    ways += ways % 2
    width = _lanes(drifts, points)
    shape = len(kinds), days, len(held_days), ways, width
    chances = line_of(math.prod(shape)).reshape(shape)
    chances[:] = 0.0
    for kind, (by_limit, counts) in enumerate(zip(thresholds, threshold_counts, strict=True)):
        _tabulate(
            np.ascontiguousarray(chain.ln_rates),
            chain.drifts,
            np.ascontiguousarray(chain.noise_tables),
            TABLE_EDGE,
            np.log(held_days),
            np.log(_padded(by_limit, max(most, 1))),
            counts,
            np.array(limits, dtype=np.float64),
            limit_of,
            len(states.after_session),
            states.carry_step_days,
            1.0 - assumptions.DRY_CHANCE,
            np.zeros(ways),
            chances[kind],
        )
    return ChainInLanes(
        first_day=chain.first_day,
        held_of=held_of.astype(np.int64),
        without_session=states.without_session.astype(np.int64),
        after_session=np.array(states.after_session, dtype=np.int64),
        restarts=restarts,
        limit_of=limit_of,
        threshold_counts=threshold_counts,
        losses=_padded([(), *losses], max(len(one) for one in losses)),
        loss_counts=np.array([0, *(len(one) for one in losses)], dtype=np.int64),
        drifts=drifts,
        points=points,
        rounds=walk.rounds,
        near=walk.near,
        far=walk.far,
        chances=chances.ravel(),
        ways=ways,
    )


def _padded(lines: Sequence[Sequence[float]], width: int) -> Floats:
    table = np.ones((len(lines), width))
    for row, line in zip(table, lines, strict=True):
        row[: len(line)] = line
    return table


@compile_steps
def _more_than(table, edge, z):
    """Read a survival function of log noise between its points, flat beyond its ends."""
    last = table.size - 1
    place = min(max((z + edge) * (last / (2.0 * edge)), 0.0), last - 1e-9)
    below = int(place)
    return table[below] + (table[below + 1] - table[below]) * (place - below)


@compile_steps
def _tabulate(
    ln_rates,
    drifts,
    tables,
    edge,
    ln_held,
    ln_thresholds,
    threshold_counts,
    limits_ml,
    limit_of,
    levels,
    step_days,
    wet,
    ln_more,
    chances,
):
    """Chance of each way a session can end without losses: by day, fluid held, way, lane.

    The ways are: so many bottles; then all of them and fluid left behind, by carry level.
    `ln_more` is room for the log volumes between them.
    """
    n_drifts, points = ln_rates.shape
    for day in range(limit_of.size):
        limit = limit_of[day]
        count = threshold_counts[limit]
        ways = count + levels
        for d in range(n_drifts):
            is_as_before = day > 0 and drifts[d] == 0.0 and limit_of[day - 1] == limit
            for x in range(points):
                lane = (x + 2) * n_drifts + d
                if is_as_before:
                    for h in range(ln_held.size):
                        for way in range(ways):
                            chances[day, h, way, lane] = chances[day - 1, h, way, lane]
                    continue
                ln_rate = ln_rates[d, x] + drifts[d] * day
                for way in range(count):
                    ln_more[way] = ln_thresholds[limit, way]
                for level in range(1, levels):
                    beyond = (level - 0.5) * step_days * np.exp(ln_rate)
                    ln_more[count + level - 1] = np.log(limits_ml[limit] + beyond)
                for h in range(ln_held.size):
                    above = 1.0
                    for way in range(ways - 1):
                        below = wet * _more_than(
                            tables[d], edge, ln_more[way] - ln_rate - ln_held[h]
                        )
                        chances[day, h, way, lane] = above - below
                        above = below
                    chances[day, h, ways - 1, lane] = above
