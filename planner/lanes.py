# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""A chain laid out for `planner.compiled`: its numbers in lanes, and the chances of a session.

A lane is one point of the grid of x under one drift. The drifts of a point are neighbours, so
that a step of the rate goes to the lane so many drifts away; an empty point stands at either
end of the grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numba import njit

from planner import assumptions
from planner.chain import TABLE_EDGE, CatheterChain
from planner.consumption import losses_given_bottles
from planner.normal import Floats, Integers

BLOCK = 16
"""Lanes in a block: a loop over whole blocks leaves no rest to be done one by one."""

_NEVER = 1e-13
"""A way to end a session that is less likely than this at all lanes is left out."""

_compile = njit(cache=True, nogil=True, error_model="numpy")


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
        chances: chance of each way a session can end without losses. [kind, day, G, H, L]
        happens: whether any lane has a chance of it that counts. [kind, day, G, H]
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
    chances: Floats
    happens: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


def _lanes(drifts: int, points: int) -> int:
    """Lanes for a grid with an empty point at either end, in whole blocks."""
    return -(-(points + 2) * drifts // BLOCK) * BLOCK


def start_in_lanes(start: Floats) -> Floats:
    """The start of one variant, drift within point, after an empty point. [J, L]"""
    drifts, points, states = start.shape
    lanes = np.zeros((states, _lanes(drifts, points)))
    lanes[:, drifts : drifts * (points + 1)] = start.transpose(2, 1, 0).reshape(states, -1)
    return lanes


def in_lanes(chain: CatheterChain, kinds: Sequence[tuple[int, ...]]) -> ChainInLanes:
    """A chain as plain arrays, with the chances of its sessions' ends worked out."""
    sizes, states = chain.sizes, chain.states
    limits = sorted(set(sizes.limits_ml))
    thresholds = [[sizes.thresholds(limit, one) for limit in limits] for one in kinds]
    threshold_counts = np.array([[len(one) for one in by_limit] for by_limit in thresholds])
    most = int(threshold_counts.max())
    losses = [losses_given_bottles(good, chain.loss_chance) for good in range(1, most + 2)]
    held_days, held_of = np.unique(states.held_days, return_inverse=True)
    walk = chain.walk_in_steps
    restarts = np.zeros(chain.horizon_days, dtype=np.int64)
    restarts[list(chain.timing.restarts)] = 1
    limit_of = np.searchsorted(limits, sizes.limits_ml)
    drifts, points = chain.ln_rates.shape
    tables = [
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
            _lanes(drifts, points),
            most + len(states.after_session),
            _NEVER,
        )
        for by_limit, counts in zip(thresholds, threshold_counts, strict=True)
    ]
    chances, happens = zip(*tables, strict=True)
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
        chances=np.stack(chances),
        happens=np.stack(happens),
    )


def _padded(lines: Sequence[Sequence[float]], width: int) -> Floats:
    table = np.ones((len(lines), width))
    for row, line in zip(table, lines, strict=True):
        row[: len(line)] = line
    return table


@_compile
def _survival(tables, d, edge, z):
    """Read a survival function of log noise between its points, flat beyond its ends."""
    last = tables.shape[1] - 1
    place = (z + edge) * (last / (2.0 * edge))
    if place <= 0.0:
        return tables[d, 0]
    if place >= last:
        return tables[d, last]
    below = int(place)
    return tables[d, below] + (tables[d, below + 1] - tables[d, below]) * (place - below)


@_compile
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
    lanes,
    most_ways,
    never,
):
    """Chance of each way a session can end without losses, by day. [day, G, H, L]

    The ways are: so many bottles; then all of them and fluid left behind, by carry level.
    """
    days = limit_of.size
    n_drifts, points = ln_rates.shape
    helds = ln_held.size
    chances = np.zeros((days, most_ways, helds, lanes))
    happens = np.zeros((days, most_ways, helds), dtype=np.bool_)
    for day in range(days):
        limit = limit_of[day]
        count = threshold_counts[limit]
        ways = count + levels
        ln_more = np.empty(ways)
        for x in range(points):
            for d in range(n_drifts):
                lane = (x + 1) * n_drifts + d
                ln_rate = ln_rates[d, x] + drifts[d] * day
                for g in range(ways - 1):
                    if g < count:
                        ln_more[g] = ln_thresholds[limit, g]
                    else:
                        beyond = (g - count + 0.5) * step_days * np.exp(ln_rate)
                        ln_more[g] = np.log(limits_ml[limit] + beyond)
                for h in range(helds):
                    above = 1.0
                    for g in range(ways):
                        below = 0.0
                        if g < ways - 1:
                            z = ln_more[g] - ln_rate - ln_held[h]
                            below = wet * _survival(tables, d, edge, z)
                        chances[day, g, h, lane] = above - below
                        if above - below > never:
                            happens[day, g, h] = True
                        above = below
    return chances, happens
