# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""The steps of `planner.joint` as one compiled loop.

Numbers are those of the plain version up to rounding; tests hold the two together. It is used
when numba is installed (`pip install ebbstock[fast]`) and left out otherwise.

Rows run over kits opened, because that is the longest axis and every step is a sum of shifted
rows. The array is [D, X, J, M, B, K]: drift, grid of x, state, arrivals so far, loose bottles
used, kits opened.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numba import njit

from planner import assumptions
from planner.chain import TABLE_EDGE, WALK_EVERY_DAYS, CatheterChain
from planner.consumption import losses_given_bottles
from planner.joint import NEGLIGIBLE, TRIM_EVERY_DAYS, Goods, Stepped
from planner.normal import Floats, Integers

ROOM = 48
"""Kits a row has room for at first, and by how many it grows."""

_DONE = 1e-12


_compile = njit(cache=True, nogil=True, fastmath={"reassoc", "contract", "nsz"})


class _Chain(NamedTuple):
    """One variant of a chain as plain arrays.

    Attributes:
        start: probability of each state on the first day. [D, X, J]
        session_chance: probability of a session. [day, J]
        held_of: place of each state's held days in `held_days`. [J]
        held_days: distinct days' worth of fluid held.
        without_session: next state when no session takes place. [J]
        after_session: next state by carry level.
        restarts: whether the household comes home that day. [day]
        limit_of: place of each day's session limit in `limits_ml`. [day]
        thresholds: volumes above which one more bottle is opened, by limit, padded. [limit, T]
        threshold_counts: how many of them count. [limit]
        losses: chance of so many lost bottles, by good bottles. [bottles, lost]
        loss_counts: how many of them count. [bottles]
        rounds: three-point steps in a day's walk.
        share: chance of one step up, and down, in each of them.
    """

    start: Floats
    first_day: int
    session_chance: Floats
    held_of: Integers
    held_days: Floats
    without_session: Integers
    after_session: Integers
    carry_step_days: float
    restarts: Integers
    limit_of: Integers
    thresholds: Floats
    threshold_counts: Integers
    limits_ml: Floats
    losses: Floats
    loss_counts: Integers
    ln_rates: Floats
    drifts: Floats
    noise_tables: Floats
    table_edge: float
    dry_chance: float
    rounds: int
    share: float


def step_through(chain: CatheterChain, goods: Goods) -> Stepped:
    """`planner.joint.step_through`, compiled."""
    none = np.zeros(0, dtype=np.int64)
    results = [
        _run(
            *_as_arrays(chain, variant),
            none if goods.kits is None else goods.kits,
            goods.bottles,
            goods.ready_now,
            goods.ready_by,
            goods.kit_floors,
            goods.bottle_floors,
            NEGLIGIBLE,
        )
        for variant in range(len(chain.start))
    ]
    kits, gone, kits_expired, bottles_expired = zip(*results, strict=True)
    return Stepped(
        kits=sum(kits),
        gone=sum(gone),
        kits_expired=sum(kits_expired),
        bottles_expired=sum(bottles_expired),
    )


def _as_arrays(chain: CatheterChain, variant: int) -> _Chain:
    sizes, states = chain.sizes, chain.states
    limits = sorted(set(sizes.limits_ml))
    thresholds = [sizes.thresholds(limit) for limit in limits]
    most = max(len(one) for one in thresholds)
    losses = [losses_given_bottles(good, chain.loss_chance) for good in range(1, most + 2)]
    held_days, held_of = np.unique(states.held_days, return_inverse=True)
    rounds, share = chain.walk_steps
    drifts = np.flatnonzero(chain.start[variant].any(axis=(1, 2)))
    restarts = np.zeros(chain.horizon_days, dtype=np.int64)
    restarts[list(chain.timing.restarts)] = 1
    return _Chain(
        start=np.ascontiguousarray(chain.start[variant, drifts]),
        first_day=chain.first_day,
        session_chance=np.ascontiguousarray(chain.session_chance[variant]),
        held_of=held_of.astype(np.int64),
        held_days=held_days,
        without_session=states.without_session.astype(np.int64),
        after_session=np.array(states.after_session, dtype=np.int64),
        carry_step_days=states.carry_step_days,
        restarts=restarts,
        limit_of=np.searchsorted(limits, sizes.limits_ml),
        thresholds=_padded(thresholds, max(most, 1)),
        threshold_counts=np.array([len(one) for one in thresholds], dtype=np.int64),
        limits_ml=np.array(limits, dtype=np.float64),
        losses=_padded([(), *losses], max(len(one) for one in losses)),
        loss_counts=np.array([0, *(len(one) for one in losses)], dtype=np.int64),
        ln_rates=np.ascontiguousarray(chain.ln_rates[drifts]),
        drifts=chain.drifts[drifts],
        noise_tables=np.ascontiguousarray(chain.noise_tables[drifts]),
        table_edge=TABLE_EDGE,
        dry_chance=assumptions.DRY_CHANCE,
        rounds=rounds,
        share=share,
    )


def _padded(lines: Sequence[Sequence[float]], width: int) -> Floats:
    table = np.ones((len(lines), width))
    for row, line in zip(table, lines, strict=True):
        row[: len(line)] = line
    return table


@_compile
def _survival(table, edge, z):
    """Read a survival function of log noise between its points, flat beyond its ends."""
    last = table.size - 1
    place = (z + edge) * (last / (2.0 * edge))
    if place <= 0.0:
        return table[0]
    if place >= last:
        return table[last]
    below = int(place)
    return table[below] + (table[below + 1] - table[below]) * (place - below)


@_compile
def _walk(mass, x_from, x_to, rows, active, low, high, share, rounds):
    """A day's random step of the rate, in place; the ends of the grid reflect."""
    drifts, points, states, _, _ = mass.shape
    before = np.empty((states, rows.size, high))
    for _ in range(rounds):
        for d in range(drifts):
            before[:] = 0.0
            for x in range(x_from, x_to):
                here = mass[d, x]
                above = mass[d, min(x + 1, points - 1)]
                up = share if x + 1 < points else 0.0
                stay = 1.0 - share - up if x > 0 else 1.0 - up
                for j in range(states):
                    if active[j]:
                        for n in range(rows.size):
                            r = rows[n]
                            for k in range(np.uint64(low), np.uint64(high)):
                                old = here[j, r, k]
                                here[j, r, k] = (
                                    stay * old + share * before[j, n, k] + up * above[j, r, k]
                                )
                                before[j, n, k] = old


@_compile
def _good_chances(
    out,
    x_value,
    table,
    edge,
    held_days,
    wanted,
    thresholds,
    threshold_count,
    limit_ml,
    levels,
    step_days,
    dry_chance,
):
    """Chance of each way a session can end without losses, at one rate. [G, H]"""
    wet = 1.0 - dry_chance
    goods = threshold_count + levels
    for h in range(held_days.size):
        if not wanted[h]:
            continue
        ln_held = x_value + np.log(held_days[h])
        above = 1.0
        for g in range(goods):
            if g == goods - 1:
                below = 0.0
            elif g < threshold_count:
                below = wet * _survival(table, edge, np.log(thresholds[g]) - ln_held)
            else:
                level = g - threshold_count + 1
                beyond = (level - 0.5) * step_days * np.exp(x_value)
                below = wet * _survival(table, edge, np.log(limit_ml + beyond) - ln_held)
            out[g, h] = above - below
            above = below


@_compile
def _rows(arrivals, columns, first, last):
    """Places of the rows in use, arrival by arrival."""
    rows = np.empty(arrivals * (last - first), dtype=np.int64)
    n = 0
    for m in range(arrivals):
        for b in range(first, last):
            rows[n] = m * columns + b
            n += 1
    return rows


@_compile
def _grown(mass, room):
    larger = np.zeros((*mass.shape[:4], room))
    larger[:, :, :, :, : mass.shape[4]] = mass
    return larger


@_compile
def _arrive(mass, x_from, x_to, active, columns, first, last, low, high, ready_now, ready_by):
    """Goods become ready this morning, the last ones looked at first."""
    coming = ready_now.size
    for m in range(coming - 1, -1, -1):
        if ready_now[m] <= 0.0:
            continue
        for d in range(mass.shape[0]):
            for x in range(x_from, x_to):
                here = mass[d, x]
                for j in range(active.size):
                    if active[j]:
                        for b in range(first, last):
                            for k in range(np.uint64(low), np.uint64(high)):
                                moved = here[j, m * columns + b, k] * ready_now[m]
                                here[j, m * columns + b, k] -= moved
                                for later in range(m + 1, coming):
                                    stays = moved * (1.0 - ready_by[later])
                                    here[j, later * columns + b, k] += stays
                                    moved -= stays
                                here[j, coming * columns + b, k] += moved


@_compile
def _come_home(mass, x_from, x_to, rows, active, low, high, home):
    """All states become the one of a drain elsewhere the day before."""
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for n in range(rows.size):
                r = rows[n]
                if not active[home]:
                    for k in range(np.uint64(low), np.uint64(high)):
                        here[home, r, k] = 0.0
                for j in range(active.size):
                    if active[j] and j != home:
                        for k in range(np.uint64(low), np.uint64(high)):
                            here[home, r, k] += here[j, r, k]
    active[:] = False
    active[home] = True


@_compile
def _stay(here, into, rows, active, written, without_session, session_chance, low, high, next_high):
    """Days without a session: every state grows older."""
    for j in range(active.size):
        if active[j]:
            to = without_session[j]
            keep = 1.0 - session_chance[j]
            for n in range(rows.size):
                r = rows[n]
                if written[to]:
                    for k in range(np.uint64(low), np.uint64(high)):
                        into[to, r, k] += keep * here[j, r, k]
                else:
                    for k in range(np.uint64(low), np.uint64(high)):
                        into[to, r, k] = keep * here[j, r, k]
                    for k in range(np.uint64(high), np.uint64(next_high)):
                        into[to, r, k] = 0.0
            written[to] = True


@_compile
def _end(ended, here, r, active, session_chance, held_of, chances, low, high):
    """What sessions of one row end as, before losses. [G, K]"""
    goods = ended.shape[0]
    ended[:] = 0.0
    for j in range(active.size):
        if active[j] and session_chance[j] > 0.0:
            for g in range(goods):
                weight = session_chance[j] * chances[g, held_of[j]]
                for k in range(np.uint64(low), np.uint64(high)):
                    ended[g, k] += weight * here[j, r, k]


@_compile
def _open(
    into, ended, m, b, columns, left, after_session, n_thresholds, losses, loss_counts, low, high
):
    """Take one kit and further bottles, loose ones first, for each way of ending."""
    for g in range(ended.shape[0]):
        good = min(g, n_thresholds) + 1
        to = after_session[max(g - n_thresholds, 0)]
        for lost in range(loss_counts[good]):
            further = good + lost - 1
            taken = min(further, left)
            shift = np.uint64(1 + further - taken)
            r = m * columns + b + taken
            weight = losses[good, lost]
            for k in range(np.uint64(low), np.uint64(high)):
                into[to, r, k + shift] += weight * ended[g, k]


@_compile
def _kept(mass, first, last, negligible):
    """The part of a window between the first and the last place that matter."""
    begin, end = first, last
    while begin < end and mass[begin] <= negligible:
        begin += 1
    while end > begin and mass[end - 1] <= negligible:
        end -= 1
    if begin == end:
        return first, first + 1
    return begin, end


@_compile
def _margins(mass, x_from, x_to, rows, active, columns, low, high):
    """Probability by column, by point of the grid and by state."""
    by_column = np.zeros(columns)
    by_point = np.zeros(mass.shape[1])
    by_state = np.zeros(active.size)
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for j in range(active.size):
                if active[j]:
                    for n in range(rows.size):
                        r = rows[n]
                        total = 0.0
                        for k in range(np.uint64(low), np.uint64(high)):
                            total += here[j, r, k]
                        by_column[r % columns] += total
                        by_point[x] += total
                        by_state[j] += total
    return by_column, by_point, by_state


@_compile
def _serve(used, mass, x_from, x_to, rows, active, columns, low, high, levels):
    """Add up by kits used what is served; what is not is taken out and its sum given back."""
    used[:] = 0.0
    gone = 0.0
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for j in range(active.size):
                if active[j]:
                    for n in range(rows.size):
                        r = rows[n]
                        last = max(min(levels[r // columns] + 1, high), low)
                        for k in range(np.uint64(low), np.uint64(last)):
                            used[k] += here[j, r, k]
                        for k in range(np.uint64(last), np.uint64(high)):
                            gone += here[j, r, k]
                            here[j, r, k] = 0.0
    return gone


@_compile
def _lift_kits(mass, x_from, x_to, rows, active, low, high, floor):
    """Count kits past their date as used; the expected units written off."""
    lost = 0.0
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for j in range(active.size):
                if active[j]:
                    for n in range(rows.size):
                        r = rows[n]
                        for k in range(np.uint64(high), np.uint64(floor + 1)):
                            here[j, r, k] = 0.0
                        for k in range(np.uint64(low), np.uint64(floor)):
                            moved = here[j, r, k]
                            lost += moved * (floor - np.int64(k))
                            here[j, r, floor] += moved
                            here[j, r, k] = 0.0
    return lost


@_compile
def _lift_bottles(mass, x_from, x_to, arrivals, active, columns, first, last, low, high, floor):
    """Count loose bottles past their date as used; the expected units written off."""
    lost = 0.0
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for j in range(active.size):
                if active[j]:
                    for m in range(arrivals):
                        for b in range(last, floor + 1):
                            for k in range(np.uint64(low), np.uint64(high)):
                                here[j, m * columns + b, k] = 0.0
                        for b in range(first, floor):
                            for k in range(np.uint64(low), np.uint64(high)):
                                moved = here[j, m * columns + b, k]
                                lost += moved * (floor - b)
                                here[j, m * columns + floor, k] += moved
                                here[j, m * columns + b, k] = 0.0
    return lost


@_compile
def _run(
    start,
    first_day,
    session_chance,
    held_of,
    held_days,
    without_session,
    after_session,
    carry_step_days,
    restarts,
    limit_of,
    thresholds,
    threshold_counts,
    limits_ml,
    losses,
    loss_counts,
    ln_rates,
    drifts,
    noise_tables,
    table_edge,
    dry_chance,
    rounds,
    share,
    stock,
    loose,
    ready_now,
    ready_by,
    kit_floors,
    bottle_floors,
    negligible,
):
    days, states = session_chance.shape
    n_drifts, points, _ = start.shape
    arrivals = loose.size
    columns = loose.max() + 1
    levels = after_session.size
    endless = stock.size == 0
    if endless:
        stock = np.full(arrivals, 1 << 40)
    most = threshold_counts.max() + losses.shape[1]

    room = ROOM
    shape = (n_drifts, points, states, arrivals * columns)
    mass = np.zeros((*shape, room))
    fresh = np.zeros((*shape, room))
    mass[:, :, :, 0, 0] = start
    active = np.zeros(states, dtype=np.bool_)
    for j in range(states):
        active[j] = start[:, :, j].any()
    x_from, x_to = 0, points
    low, high = 0, 1
    first_column, last_column = 0, 1
    rows = _rows(arrivals, columns, first_column, last_column)

    width = days * most + 1 if endless else stock[0] + 1
    used_by_day = np.zeros((days, width))
    gone_by_day = np.zeros(days)
    kits_expired = 0.0
    bottles_expired = 0.0

    chances = np.zeros((threshold_counts.max() + levels, held_days.size))
    wanted = np.zeros(held_days.size, dtype=np.bool_)
    now_active = np.zeros(states, dtype=np.bool_)
    written = np.zeros(states, dtype=np.bool_)

    for day in range(days):
        if max(high + most, kit_floors[day] + 1) > room:
            room = max(high + most, kit_floors[day] + 1) + ROOM
            mass = _grown(mass, room)
            fresh = np.zeros((*shape, room))
        _arrive(
            mass,
            x_from,
            x_to,
            active,
            columns,
            first_column,
            last_column,
            low,
            high,
            ready_now[day],
            ready_by[day],
        )
        if day >= first_day:
            if day % WALK_EVERY_DAYS == WALK_EVERY_DAYS - 1:
                wide_from, wide_to = max(x_from - rounds, 0), min(x_to + rounds, points)
                mass[:, wide_from:x_from] = 0.0
                mass[:, x_to : min(wide_to + 1, points)] = 0.0
                x_from, x_to = wide_from, wide_to
                _walk(mass, x_from, x_to, rows, active, low, high, share, rounds)
            if restarts[day]:
                _come_home(mass, x_from, x_to, rows, active, low, high, after_session[0])

            now_active[:] = False
            wanted[:] = False
            any_session = False
            for j in range(states):
                if active[j]:
                    now_active[without_session[j]] = True
                    if session_chance[day, j] > 0.0:
                        any_session = True
                        wanted[held_of[j]] = True
            limit = limit_of[day]
            n_thresholds = threshold_counts[limit]
            next_high, next_column = high, last_column
            if any_session:
                next_high += most
                next_column = max(min(last_column + most - 1, columns), last_column)
                for level in range(levels):
                    now_active[after_session[level]] = True
            ended = np.empty((n_thresholds + levels, high))
            new_rows = _rows(arrivals, columns, last_column, next_column)
            all_rows = _rows(arrivals, columns, first_column, next_column)

            for d in range(n_drifts):
                for x in range(x_from, x_to):
                    here = mass[d, x]
                    into = fresh[d, x]
                    written[:] = False
                    _stay(
                        here,
                        into,
                        rows,
                        active,
                        written,
                        without_session,
                        session_chance[day],
                        low,
                        high,
                        next_high,
                    )
                    if not any_session:
                        continue
                    for j in range(states):
                        if written[j]:
                            for n in range(new_rows.size):
                                for k in range(np.uint64(low), np.uint64(next_high)):
                                    into[j, new_rows[n], k] = 0.0
                        elif now_active[j]:
                            for n in range(all_rows.size):
                                for k in range(np.uint64(low), np.uint64(next_high)):
                                    into[j, all_rows[n], k] = 0.0
                    _good_chances(
                        chances,
                        ln_rates[d, x] + drifts[d] * day,
                        noise_tables[d],
                        table_edge,
                        held_days,
                        wanted,
                        thresholds[limit],
                        n_thresholds,
                        limits_ml[limit],
                        levels,
                        carry_step_days,
                        dry_chance,
                    )
                    for m in range(arrivals):
                        for b in range(first_column, last_column):
                            _end(
                                ended,
                                here,
                                m * columns + b,
                                active,
                                session_chance[day],
                                held_of,
                                chances,
                                low,
                                high,
                            )
                            _open(
                                into,
                                ended,
                                m,
                                b,
                                columns,
                                max(loose[m] - b, 0),
                                after_session,
                                n_thresholds,
                                losses,
                                loss_counts,
                                low,
                                high,
                            )
            mass, fresh = fresh, mass
            active[:] = now_active
            high, last_column, rows = next_high, next_column, all_rows

            if day % TRIM_EVERY_DAYS == TRIM_EVERY_DAYS - 1:
                by_column, by_point, by_state = _margins(
                    mass, x_from, x_to, rows, active, columns, low, high
                )
                first_column, last_column = _kept(by_column, first_column, last_column, negligible)
                x_from, x_to = _kept(by_point, x_from, x_to, negligible)
                for j in range(states):
                    active[j] = active[j] and by_state[j] > negligible
                if not active.any():
                    active[0] = True
                rows = _rows(arrivals, columns, first_column, last_column)

        used = np.empty(high)
        gone_by_day[day] = _serve(used, mass, x_from, x_to, rows, active, columns, low, high, stock)
        low, high = _kept(used, low, high, negligible)
        if kit_floors[day] > low:
            floor = kit_floors[day]
            kits_expired += _lift_kits(mass, x_from, x_to, rows, active, low, high, floor)
            low, high = floor, max(high, floor + 1)
        if bottle_floors[day] > first_column:
            floor = bottle_floors[day]
            bottles_expired += _lift_bottles(
                mass,
                x_from,
                x_to,
                arrivals,
                active,
                columns,
                first_column,
                last_column,
                low,
                high,
                floor,
            )
            first_column, last_column = floor, max(last_column, floor + 1)
            rows = _rows(arrivals, columns, first_column, last_column)
        if kit_floors[day] > 0:
            used = np.empty(high)
            _serve(used, mass, x_from, x_to, rows, active, columns, low, high, stock)
        for k in range(low, min(high, width)):
            used_by_day[day, k] = used[k]
        if not endless and used.sum() < _DONE:
            break
    return used_by_day, gone_by_day, kits_expired, bottles_expired
