# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""The steps of `planner.joint` as one compiled loop.

Numbers are those of the plain version up to rounding; tests hold the two together. It is used
when numba is installed (`pip install ebbstock[fast]`) and left out otherwise.

The array is [D, X, R, S, K]: drift, grid of x, arrivals so far and loose bottles used, slot,
kits opened. Lines run over kits, because every step is a sum of shifted lines. Four things
make it fast:

- A state is put in a slot and stays there while it grows older. What part of it is left after
  days on which a session might have been is a factor of the slot, so growing older is free.
- Every place on [D, X, R] has its own window of kits; outside it the array is zero.
- The step of the rate and the sum over states go over a place while it is at hand.
- Windows begin and end on fours, and indices are unsigned: the machine then takes several
  numbers at a time.

All of it stands in one file, since compiled code that is kept on disk is renewed only when
its own file changes.
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
"""Kits a line has room for at first, and by how many it grows."""

_DONE = 1e-12
_LEAST = 1e-15
"""What a window's first and last place hold at least."""


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
def _good_chances(
    out, x_value, table, edge, ln_held, wanted, ln_thresholds, count, limit_ml, step_days, wet
):
    """Chance of each way a session can end without losses, at one rate. [G, H]"""
    goods = out.shape[0]
    ln_more = np.empty(goods)
    for g in range(goods - 1):
        if g < count:
            ln_more[g] = ln_thresholds[g]
        else:
            beyond = (g - count + 0.5) * step_days * np.exp(x_value)
            ln_more[g] = np.log(limit_ml + beyond)
    for h in range(ln_held.size):
        if wanted[h]:
            above = 1.0
            for g in range(goods - 1):
                below = wet * _survival(table, edge, ln_more[g] - x_value - ln_held[h])
                out[g, h] = above - below
                above = below
            out[goods - 1, h] = above


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
def _grown(mass, lows, highs, room):
    larger = np.zeros((*mass.shape[:4], room))
    for d in range(mass.shape[0]):
        for x in range(mass.shape[1]):
            for r in range(mass.shape[2]):
                low, high = lows[d, x, r], highs[d, x, r]
                if low < high:
                    larger[d, x, r, :, low:high] = mass[d, x, r, :, low:high]
    return larger


@_compile
def _cut(place, lows, highs, at, low, high):
    """Make the window of one place smaller; what is left out becomes zero."""
    for s in range(place.shape[0]):
        for k in range(lows[at], min(low, highs[at])):
            place[s, k] = 0.0
        for k in range(max(high, lows[at]), highs[at]):
            place[s, k] = 0.0
    lows[at], highs[at] = max(low, lows[at]), min(high, highs[at])
    if lows[at] >= highs[at]:
        lows[at], highs[at] = 0, 0


@_compile
def _widen(lows, highs, at, low, high):
    """Make the window of one place hold another one."""
    if lows[at] >= highs[at]:
        lows[at], highs[at] = low, high
    elif low < high:
        lows[at], highs[at] = min(low, lows[at]), max(high, highs[at])


@_compile
def _arrive(mass, lows, highs, x_from, x_to, columns, first, last, ready_now, ready_by):
    """Goods become ready this morning, the last ones looked at first."""
    coming = ready_now.size
    for m in range(coming - 1, -1, -1):
        if ready_now[m] <= 0.0:
            continue
        for d in range(mass.shape[0]):
            for x in range(x_from, x_to):
                here = mass[d, x]
                for b in range(first, last):
                    r = m * columns + b
                    low, high = lows[d, x, r], highs[d, x, r]
                    if low >= high:
                        continue
                    for later in range(m + 1, coming + 1):
                        _widen(lows, highs, (d, x, later * columns + b), low, high)
                    for s in range(mass.shape[3]):
                        for k in range(np.uint64(low), np.uint64(high)):
                            moved = here[r, s, k] * ready_now[m]
                            here[r, s, k] -= moved
                            for later in range(m + 1, coming):
                                stays = moved * (1.0 - ready_by[later])
                                here[later * columns + b, s, k] += stays
                                moved -= stays
                            here[coming * columns + b, s, k] += moved


@_compile
def _come_home(mass, lows, highs, x_from, x_to, rows, slot_of, factor, home):
    """All states become the one of a drain elsewhere the day before."""
    into = -1
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and (into < 0 or factor[s] > factor[into]):
            into = s
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and s != into:
            share = factor[s] / factor[into]
            for d in range(mass.shape[0]):
                for x in range(x_from, x_to):
                    for r in rows:
                        here = mass[d, x, r]
                        for k in range(np.uint64(lows[d, x, r]), np.uint64(highs[d, x, r])):
                            here[into, k] += share * here[s, k]
    slot_of[:] = -1
    slot_of[home] = into


@_compile
def _grow_older(slot_of, factor, chance, without_session, next_slot, next_factor, merges):
    """Which slot each state of tomorrow is in, and which slots have to be added to others."""
    next_slot[:] = -1
    count = 0
    for j in range(slot_of.size):
        s = slot_of[j]
        if s < 0 or chance[j] >= 1.0:
            continue
        left = factor[s] * (1.0 - chance[j])
        to = without_session[j]
        other = next_slot[to]
        next_factor[s] = left
        if other < 0:
            next_slot[to] = s
            continue
        into, add = (other, s) if next_factor[other] >= left else (s, other)
        merges[count, 0], merges[count, 1] = into, add
        next_slot[to] = into
        count += 1
    return count


@_compile
def _walk(here, above, before, r, slots, low, high, stay, share, up):
    """One random step of the rate at one place, in place; `before` is the point below."""
    for s in slots:
        for k in range(np.uint64(low), np.uint64(high)):
            old = here[r, s, k]
            here[r, s, k] = stay * old + share * before[r, s, k] + up * above[r, s, k]
            before[r, s, k] = old


@_compile
def _add_up(totals, r, g, here, slots, weights, line, low, high):
    """Sum over slots with one line of weights.

    Whole arrays are passed, since every slice of one costs counting its users.
    """
    for k in range(np.uint64(low), np.uint64(high)):
        totals[r, g, k] = 0.0
    fours = slots.size - slots.size % 4
    for n in range(0, fours, 4):
        a, b, c, d = slots[n], slots[n + 1], slots[n + 2], slots[n + 3]
        u, v = weights[line, n], weights[line, n + 1]
        w, z = weights[line, n + 2], weights[line, n + 3]
        for k in range(np.uint64(low), np.uint64(high)):
            totals[r, g, k] += (
                u * here[r, a, k] + v * here[r, b, k] + w * here[r, c, k] + z * here[r, d, k]
            )
    for n in range(fours, slots.size):
        a, u = slots[n], weights[line, n]
        for k in range(np.uint64(low), np.uint64(high)):
            totals[r, g, k] += u * here[r, a, k]


@_compile
def _forget(before, r, slots, wrote_low, wrote_high, low, high):
    """What was written outside a window becomes zero again."""
    for s in slots:
        for k in range(wrote_low, min(low, wrote_high)):
            before[r, s, k] = 0.0
        for k in range(max(high, wrote_low), wrote_high):
            before[r, s, k] = 0.0


@_compile
def _open(
    into, ended, low, high, row, left, new_slot, parts, count, losses, loss_counts, lows, highs
):
    """Take one kit and further bottles, loose ones first, for each way of ending."""
    for g in range(ended.shape[1] - 1):
        good = min(g, count) + 1
        level = max(g - count, 0)
        for lost in range(loss_counts[good]):
            further = good + lost - 1
            taken = min(further, left)
            shift = np.uint64(1 + further - taken)
            to = new_slot[level]
            weight = losses[good, lost] * parts[level]
            for k in range(np.uint64(low), np.uint64(high)):
                into[row + taken, to, k + shift] += weight * ended[row, g, k]
            _widen(lows, highs, row + taken, low + 1, high + 1 + further - taken)


@_compile
def _settle(
    here,
    sums,
    ended,
    lows,
    highs,
    rows,
    all_rows,
    columns,
    loose,
    new_slot,
    is_fresh,
    factor,
    count,
    losses,
    loss_counts,
):
    """Put what today's sessions end as where it belongs, at one rate, and add everything up."""
    walked_lows, walked_highs = lows.copy(), highs.copy()
    parts = np.ones(new_slot.size)
    for level in range(new_slot.size):
        if is_fresh[level]:
            for r in all_rows:
                for k in range(np.uint64(lows[r]), np.uint64(highs[r])):
                    here[r, new_slot[level], k] = 0.0
        else:
            parts[level] = 1.0 / factor[new_slot[level]]
    if new_slot.size:
        for r in rows:
            low, high = walked_lows[r], walked_highs[r]
            if low < high:
                left = max(loose[r // columns] - r % columns, 0)
                _open(
                    here,
                    ended,
                    low,
                    high,
                    r,
                    left,
                    new_slot,
                    parts,
                    count,
                    losses,
                    loss_counts,
                    lows,
                    highs,
                )
    stayed = ended.shape[1] - 1
    for r in all_rows:
        low, high = lows[r], highs[r]
        for k in range(np.uint64(low), np.uint64(high)):
            sums[r, k] = 0.0
        for k in range(np.uint64(walked_lows[r]), np.uint64(walked_highs[r])):
            sums[r, k] = ended[r, stayed, k]
        for level in range(new_slot.size):
            part = factor[new_slot[level]]
            for k in range(np.uint64(low), np.uint64(high)):
                sums[r, k] += part * here[r, new_slot[level], k]
        _narrow(here[r], sums[r], lows, highs, r, walked_highs[r], new_slot)


@_compile
def _narrow(place, total, lows, highs, at, walked_high, new_slot):
    """Leave out the ends of a window that hold next to nothing.

    Beyond where a line ended before today's sessions only new slots hold anything.
    """
    low, high = lows[at], highs[at]
    while low < high and total[low] <= _LEAST:
        low += 1
    while high > low and total[high - 1] <= _LEAST:
        high -= 1
    middle = min(max(high, walked_high), highs[at])
    for level in range(new_slot.size):
        for k in range(max(middle, lows[at]), highs[at]):
            place[new_slot[level], k] = 0.0
    highs[at] = max(middle, lows[at])
    _cut(place, lows, highs, at, low, high)


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
def _margins(sums, lows, highs, x_from, x_to, rows, columns):
    """Probability by column and by point of the grid."""
    by_column = np.zeros(columns)
    by_point = np.zeros(sums.shape[1])
    for d in range(sums.shape[0]):
        for x in range(x_from, x_to):
            for r in rows:
                total = 0.0
                for k in range(np.uint64(lows[d, x, r]), np.uint64(highs[d, x, r])):
                    total += sums[d, x, r, k]
                by_column[r % columns] += total
                by_point[x] += total
    return by_column, by_point


@_compile
def _drop_states(mass, sums, lows, highs, x_from, x_to, rows, slot_of, factor, negligible):
    """Leave out states that hold next to nothing, and take them out of the sums."""
    totals = np.zeros(slot_of.size)
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            for r in rows:
                for j in range(slot_of.size):
                    s = slot_of[j]
                    if s >= 0:
                        total = 0.0
                        for k in range(np.uint64(lows[d, x, r]), np.uint64(highs[d, x, r])):
                            total += mass[d, x, r, s, k]
                        totals[j] += factor[s] * total
    nothing = totals.max() <= negligible
    for j in range(slot_of.size):
        s = slot_of[j]
        if s < 0 or totals[j] > negligible:
            continue
        if nothing:  # the first one stays, so that there is one
            nothing = False
            continue
        slot_of[j] = -1
        for d in range(mass.shape[0]):
            for x in range(x_from, x_to):
                for r in rows:
                    for k in range(np.uint64(lows[d, x, r]), np.uint64(highs[d, x, r])):
                        sums[d, x, r, k] -= factor[s] * mass[d, x, r, s, k]


@_compile
def _serve(used, mass, sums, lows, highs, x_from, x_to, rows, columns, levels):
    """Add up by kits used what is served; what is not is taken out and its sum given back."""
    used[:] = 0.0
    gone = 0.0
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            for r in rows:
                low, high = lows[d, x, r], highs[d, x, r]
                last = max(min(levels[r // columns] + 1, high), low)
                for k in range(np.uint64(low), np.uint64(last)):
                    used[k] += sums[d, x, r, k]
                for k in range(np.uint64(last), np.uint64(high)):
                    gone += sums[d, x, r, k]
                if last < high:
                    _cut(mass[d, x, r], lows, highs, (d, x, r), low, last)
    return gone


@_compile
def _lift_kits(mass, lows, highs, x_from, x_to, rows, floor):
    """Count kits past their date as used."""
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            for r in rows:
                here = mass[d, x, r]
                low, high = lows[d, x, r], highs[d, x, r]
                if low >= min(floor, high):
                    continue
                for s in range(mass.shape[3]):
                    for k in range(low, min(floor, high)):
                        here[s, floor] += here[s, k]
                        here[s, k] = 0.0
                lows[d, x, r], highs[d, x, r] = floor, max(high, floor + 1)


@_compile
def _lift_bottles(
    mass, lows, highs, x_from, x_to, arrivals, columns, first, last, floor, slot_of, factor
):
    """Count loose bottles past their date as used; the expected units written off."""
    lost = 0.0
    for d in range(mass.shape[0]):
        for x in range(x_from, x_to):
            here = mass[d, x]
            for m in range(arrivals):
                for b in range(first, min(floor, last)):
                    r = m * columns + b
                    low, high = lows[d, x, r], highs[d, x, r]
                    if low >= high:
                        continue
                    _widen(lows, highs, (d, x, m * columns + floor), low, high)
                    for j in range(slot_of.size):
                        s = slot_of[j]
                        if s >= 0:
                            for k in range(np.uint64(low), np.uint64(high)):
                                lost += factor[s] * here[r, s, k] * (floor - b)
                                here[m * columns + floor, s, k] += here[r, s, k]
                    _cut(here[r], lows, highs, (d, x, r), 0, 0)
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
    slots = states + levels
    endless = stock.size == 0
    if endless:
        stock = np.full(arrivals, 1 << 40)
    most = threshold_counts.max() + losses.shape[1]
    ln_held = np.log(held_days)
    ln_thresholds = np.log(thresholds)

    room = ROOM
    places = (n_drifts, points, arrivals * columns)
    mass = np.zeros((*places, slots, room))
    sums = np.zeros((*places, room))
    lows = np.zeros(places, dtype=np.int64)
    highs = np.zeros(places, dtype=np.int64)
    slot_of = np.full(states, -1)
    factor = np.ones(slots)
    for j in range(states):
        mass[:, :, 0, j, 0] = start[:, :, j]
        if start[:, :, j].any():
            slot_of[j] = j
    highs[:, :, 0] = 1
    x_from, x_to = 0, points
    low, high = 0, 1
    first_column, last_column = 0, 1
    rows = _rows(arrivals, columns, first_column, last_column)

    width = days * most + 1 if endless else stock[0] + 1
    used_by_day = np.zeros((days, width))
    gone_by_day = np.zeros(days)
    kits_expired = 0.0
    bottles_expired = 0.0

    next_slot = np.empty(states, dtype=np.int64)
    next_factor = np.ones(slots)
    merges = np.empty((states, 2), dtype=np.int64)
    used = np.zeros(room)
    before = np.zeros((places[2], slots, room))
    below = np.zeros((2, places[2]), dtype=np.int64)
    wrote = np.zeros((2, places[2]), dtype=np.int64)
    ended = np.empty((places[2], threshold_counts.max() + levels + 1, room))
    wanted = np.zeros(held_days.size, dtype=np.bool_)

    for day in range(days):
        if max(high + most, kit_floors[day] + 1) + 8 > room:
            room = max(high + most, kit_floors[day] + 1) + 8 + ROOM
            room += -room % 8
            mass = _grown(mass, lows, highs, room)
            sums = np.zeros((*places, room))
            used = np.zeros(room)
            before = np.zeros((places[2], slots, room))
            ended = np.empty((places[2], ended.shape[1], room))
        _arrive(
            mass,
            lows,
            highs,
            x_from,
            x_to,
            columns,
            first_column,
            last_column,
            ready_now[day],
            ready_by[day],
        )
        chance = session_chance[day]
        is_walk_day = day % WALK_EVERY_DAYS == WALK_EVERY_DAYS - 1
        walks = rounds if is_walk_day and day >= first_day else 0
        if day >= first_day and restarts[day]:
            _come_home(mass, lows, highs, x_from, x_to, rows, slot_of, factor, after_session[0])
        if day < first_day:
            chance = np.zeros(states)
        limit = limit_of[day]
        count = threshold_counts[limit]
        goods = count + levels

        wanted[:] = False
        in_session = np.empty(states, dtype=np.int64)
        in_use = np.empty(states, dtype=np.int64)
        n_session, n_use = 0, 0
        for j in range(states):
            if slot_of[j] >= 0 and chance[j] > 0.0:
                in_session[n_session] = j
                in_use[n_use] = j
                wanted[held_of[j]] = True
                n_session += 1
                n_use += 1
        for j in range(states):
            if slot_of[j] >= 0 and chance[j] <= 0.0:
                in_use[n_use] = j
                n_use += 1
        use_slots = slot_of[in_use[:n_use]]
        session_slots = use_slots[:n_session]
        if day >= first_day:
            n_merges = _grow_older(
                slot_of, factor, chance, without_session, next_slot, next_factor, merges
            )
        else:
            n_merges = 0
            next_slot[:] = slot_of
            next_factor[:] = factor

        new_slot = np.empty(levels if n_session else 0, dtype=np.int64)
        is_fresh = np.ones(levels, dtype=np.bool_)
        next_high, next_column = high, last_column
        all_rows = rows
        if n_session:
            next_high += most
            next_column = max(min(last_column + most - 1, columns), last_column)
            all_rows = _rows(arrivals, columns, first_column, next_column)
            free = np.ones(slots, dtype=np.bool_)
            for s in use_slots:
                free[s] = False
            for level in range(levels):
                to = after_session[level]
                if next_slot[to] >= 0:
                    new_slot[level] = next_slot[to]
                    is_fresh[level] = False
                else:
                    s = np.argmax(free)
                    free[s] = False
                    new_slot[level] = s
                    next_slot[to] = s
                    next_factor[s] = 1.0
        stay_weights = np.zeros((1, n_use))
        for n in range(n_use):
            j = in_use[n]
            stay_weights[0, n] = factor[slot_of[j]] * (1.0 - chance[j])
            for level in range(new_slot.size):
                if next_slot[without_session[j]] == new_slot[level]:
                    stay_weights[0, n] = 0.0
        weights = np.empty((goods, n_session))
        chances = np.empty((goods, held_days.size))

        if walks:
            x_from, x_to = max(x_from - walks, 0), min(x_to + walks, points)
        for extra in range(max(walks, 1)):
            is_last = extra >= walks - 1
            for d in range(n_drifts):
                below[:] = 0
                wrote[:] = 0
                for x in range(x_from, x_to):
                    here = mass[d, x]
                    holds = False
                    for r in rows:
                        if walks and x + 1 < x_to:
                            holds |= highs[d, x + 1, r] > 0
                        holds |= highs[d, x, r] > 0 or below[1, r] > 0
                    if n_session and is_last and holds:
                        _good_chances(
                            chances,
                            ln_rates[d, x] + drifts[d] * day,
                            noise_tables[d],
                            table_edge,
                            ln_held,
                            wanted,
                            ln_thresholds[limit],
                            count,
                            limits_ml[limit],
                            carry_step_days,
                            1.0 - dry_chance,
                        )
                        for n in range(n_session):
                            j = in_session[n]
                            taking = factor[slot_of[j]] * chance[j]
                            for g in range(goods):
                                weights[g, n] = taking * chances[g, held_of[j]]
                    above = mass[d, min(x + 1, points - 1)]
                    up = share if x + 1 < points else 0.0
                    stay = 1.0 - share - up if x > 0 else 1.0 - up
                    for r in rows:
                        at = d, x, r
                        own_low, own_high = lows[at], highs[at]
                        if walks:
                            if x + 1 < x_to:
                                _widen(lows, highs, at, lows[d, x + 1, r], highs[d, x + 1, r])
                            _widen(lows, highs, at, below[0, r], below[1, r])
                        low_k, high_k = lows[at] & ~3, (highs[at] + 3) & ~3
                        lows[at], highs[at] = low_k, high_k
                        if walks:
                            _forget(before, r, use_slots, wrote[0, r], wrote[1, r], low_k, high_k)
                            _walk(
                                here,
                                above,
                                before,
                                r,
                                use_slots,
                                low_k,
                                high_k,
                                stay,
                                share,
                                up,
                            )
                            below[0, r], below[1, r] = own_low, own_high
                            wrote[0, r], wrote[1, r] = low_k, high_k
                        if not is_last or low_k >= high_k:
                            continue
                        _add_up(ended, r, goods, here, use_slots, stay_weights, 0, low_k, high_k)
                        for g in range(goods if n_session else 0):
                            _add_up(ended, r, g, here, session_slots, weights, g, low_k, high_k)
                        for n in range(n_merges):
                            into, add = merges[n, 0], merges[n, 1]
                            part = next_factor[add] / next_factor[into]
                            for k in range(np.uint64(low_k), np.uint64(high_k)):
                                here[r, into, k] += part * here[r, add, k]
                    if is_last:
                        _settle(
                            here,
                            sums[d, x],
                            ended[:, : goods + 1],
                            lows[d, x],
                            highs[d, x],
                            rows,
                            all_rows,
                            columns,
                            loose,
                            new_slot,
                            is_fresh,
                            next_factor,
                            count,
                            losses,
                            loss_counts,
                        )
                if walks:
                    for r in rows:
                        _forget(before, r, use_slots, wrote[0, r], wrote[1, r], 0, 0)
        slot_of[:] = next_slot
        factor[:] = next_factor
        high, last_column, rows = next_high, next_column, all_rows

        if day >= first_day and day % TRIM_EVERY_DAYS == TRIM_EVERY_DAYS - 1:
            by_column, by_point = _margins(sums, lows, highs, x_from, x_to, rows, columns)
            _drop_states(mass, sums, lows, highs, x_from, x_to, rows, slot_of, factor, negligible)
            first_column, last_column = _kept(by_column, first_column, last_column, negligible)
            from_x, to_x = _kept(by_point, x_from, x_to, negligible)
            for d in range(n_drifts):
                for x in range(x_from, x_to):
                    for r in rows:
                        if not (from_x <= x < to_x and first_column <= r % columns < last_column):
                            _cut(mass[d, x, r], lows, highs, (d, x, r), 0, 0)
            x_from, x_to = from_x, to_x
            rows = _rows(arrivals, columns, first_column, last_column)

        gone_by_day[day] = _serve(used, mass, sums, lows, highs, x_from, x_to, rows, columns, stock)
        is_done = not endless and used.sum() < _DONE
        low, high = _kept(used, low, high, negligible)
        for d in range(n_drifts):
            for x in range(x_from, x_to):
                for r in rows:
                    if lows[d, x, r] < low or highs[d, x, r] > high:
                        _cut(mass[d, x, r], lows, highs, (d, x, r), low, high)
        if kit_floors[day] > low:
            floor = kit_floors[day]
            used[high : floor + 1] = 0.0
            for k in range(low, min(floor, high)):
                kits_expired += used[k] * (floor - k)
                used[floor] += used[k]
                used[k] = 0.0
            _lift_kits(mass, lows, highs, x_from, x_to, rows, floor)
            low, high = floor, max(high, floor + 1)
        if bottle_floors[day] > first_column:
            floor = bottle_floors[day]
            bottles_expired += _lift_bottles(
                mass,
                lows,
                highs,
                x_from,
                x_to,
                arrivals,
                columns,
                first_column,
                last_column,
                floor,
                slot_of,
                factor,
            )
            first_column, last_column = floor, max(last_column, floor + 1)
            rows = _rows(arrivals, columns, first_column, last_column)
        for k in range(low, min(high, width)):
            used_by_day[day, k] = used[k]
        if is_done:
            break
    return used_by_day, gone_by_day, kits_expired, bottles_expired
