# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""The steps of `planner.joint` as one compiled loop.

Numbers are those of the plain version up to rounding to single precision; tests hold the two
together. It is used when numba is installed (`pip install ebbstock[fast]`).

The array is [slot, row, kits opened, lane]. A row is a place on [goods that have come, loose
bottles used]; a lane is one point of the grid of x under one drift. Every step does the same to all
lanes and to neighbouring numbers of kits, which lie side by side, so loops are long and the
machine takes sixteen lanes at a time. What else makes it fast:

- A state is put in a slot and stays there while it grows older. What part of it is left after
  days on which a session might have been is a factor of the slot, so growing older is free.
- Each slot of a row has its own window of kits. What lies outside counts as nothing and is
  cleared only when the window grows over it.
- States with the same days' worth of fluid held are added up before the ways a session can end
  are told apart.
- What is held in all at a place is known from what goes in and out, without adding up lanes.
- The chances of those ways are worked out once for all variants and shelves, by `planner.lanes`.

All that compiled functions call stands in one file, since compiled code that is kept on disk
is renewed only when its own file changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from planner import joint
from planner.chain import WALK_EVERY_DAYS, CatheterChain
from planner.compiling import compile_line, compile_steps
from planner.joint import NEGLIGIBLE, TRIM_EVERY_DAYS, Goods, Stepped
from planner.lanes import BLOCK, ChainInLanes, Singles, in_lanes, line_of, start_in_lanes
from planner.normal import Floats, Integers

_DONE = 1e-12
_LEAST = 1e-10
"""What an end of a window, and what moves, hold at least."""

_TOGETHER = 3
"""Amounts of fluid held that one loop looks at."""

_SMALL_FACTOR = 1e-4

_CHUNK = 16
"""Neighbouring numbers of kits that are worked on at once, so that they fit the first cache."""


class Bands(NamedTuple):
    """Where one variant is, beside one shelf.

    Attributes:
        mass: by slot, row, kits opened and lane, in one line.
        first, last: window of kits; the same where a slot of a row is empty. [slot, row]
        total: probability, summed over slots and lanes. [row, kits]
        lanes: lanes of a place.
    """

    mass: Singles
    first: Integers
    last: Integers
    total: Floats
    lanes: int


class Shelf(NamedTuple):
    """`Goods` as plain arrays, with what follows from them.

    Attributes:
        stock: kits in all, by goods that have come; more than can be used when use never stops.
        loose: loose bottles in all, by goods that have come.
        columns: places for loose bottles used.
        most: most bottles that a session opens, losses included.
        is_endless: whether use never stops at empty.
        mark_day, mark_below, marks_kits: as in `Mark`; never is -1.
    """

    stock: Integers
    loose: Integers
    columns: int
    most: int
    is_endless: bool
    ready_now: Floats
    kit_floors: Integers
    bottle_floors: Integers
    kind_of: Integers
    mark_day: int
    mark_below: int
    marks_kits: bool


class States(NamedTuple):
    """Where each state is, today and tomorrow.

    Attributes:
        slot_of, next_slot: slot of each state; -1 when nothing is in it. [J]
        factor, next_factor: what part of a slot counts. [slot]
        by_held: states, those with the least fluid held first. [J]
        used: room for the slots in use. [slot]
        free: room for whether a slot is free. [slot]
    """

    slot_of: Integers
    next_slot: Integers
    factor: Floats
    next_factor: Floats
    by_held: Integers
    used: Integers
    free: np.ndarray[tuple[int], np.dtype[np.bool_]]


class Day(NamedTuple):
    """Room for what one day's sessions are worked out from.

    Attributes:
        drain_from: where the states with so many days' worth of fluid held begin. [H + 1]
        drain_slots, drain_weights: slots of states in which a session may take place, and
            what part of them has one.
        held: lines of sessions by fluid held, of the places worked on. [chunk and lane]
        ended: lines of sessions by way of ending. [way, chunk and lane]
        way_total: their sums over lanes. [way, chunk]
        new_slot: slot of what follows a session, by carry level.
        new_part: what a session counts in it. [level]
        merges: slots that have to be added to others. [(into, from)]
    """

    drain_from: Integers
    drain_slots: Integers
    drain_weights: Singles
    held: Singles
    ended: Singles
    way_total: Floats
    new_slot: Integers
    new_part: Floats
    merges: Integers


class Scratch(NamedTuple):
    """Room for lines and sums."""

    before: Singles
    rows: Integers
    by_kits: Floats
    by_column: Floats


class Found(NamedTuple):
    """What `_run` adds to.

    Attributes:
        used: probability of kits opened. [day, kits]
        gone: probability of running out on each day. [day]
        expired: kits, and loose bottles, that pass their date. [2]
        both: probability by row and kits opened; or nothing. [day, row, kits]
    """

    used: Floats
    gone: Floats
    expired: Floats
    both: Floats


def step_through(chain: CatheterChain, shelves: Sequence[Goods]) -> list[Stepped]:
    """`planner.joint.step_through`, compiled; the plain one where memory does not suffice."""
    try:
        return _step_through(chain, shelves)
    except MemoryError:  # room is taken for all places of a shelf, which a large one has many of
        return joint.step_through(chain, shelves)


def _step_through(chain: CatheterChain, shelves: Sequence[Goods]) -> list[Stepped]:
    common = in_lanes(chain, shelves[0].kinds.next_kits_ml)
    variants = [
        (start_in_lanes(start), np.ascontiguousarray(chance))
        for start, chance in zip(chain.start, chain.session_chance, strict=True)
    ]
    return [_beside(common, variants, goods) for goods in shelves]


def _beside(
    common: ChainInLanes, variants: Sequence[tuple[Singles, Floats]], goods: Goods
) -> Stepped:
    days = len(common.restarts)
    shelf = _shelf(common, goods, days)
    room = int(shelf.stock.max()) + 1
    width = room if goods.kits is None else int(goods.kits[0]) + 1
    rows = len(shelf.stock) * shelf.columns
    found = Found(
        used=np.zeros((days, width)),
        gone=np.zeros(days),
        expired=np.zeros(2),
        both=np.zeros((days, rows, room) if goods.wants_both else (0, 0, 0)),
    )
    for start, session_chance in variants:
        n_states, lanes = start.shape
        slots = n_states + len(common.after_session)
        _run(
            start,
            session_chance,
            common,
            shelf,
            _bands(slots, rows, room, lanes),
            _states(common, n_states, slots),
            _day(common, n_states, lanes),
            _scratch(common, shelf, rows, room, lanes),
            found,
        )
    kits_expired, bottles_expired = found.expired.tolist()
    return Stepped(
        kits=found.used,
        gone=found.gone,
        kits_expired=kits_expired,
        bottles_expired=bottles_expired,
        both=found.both.reshape(-1, len(shelf.stock), shelf.columns, room),
    )


def _shelf(common: ChainInLanes, goods: Goods, days: int) -> Shelf:
    most = int(common.threshold_counts.max()) + common.losses.shape[1]
    return Shelf(
        stock=np.full(len(goods.bottles), days * most) if goods.kits is None else goods.kits,
        loose=goods.bottles,
        columns=int(goods.bottles.max()) + 1,
        most=most,
        is_endless=goods.kits is None,
        ready_now=goods.ready_now,
        kit_floors=goods.kit_floors,
        bottle_floors=goods.bottle_floors,
        kind_of=goods.kinds.by_kits,
        mark_day=goods.mark.day if goods.mark else -1,
        mark_below=goods.mark.below if goods.mark else 0,
        marks_kits=goods.mark is not None and goods.mark.of_kits,
    )


def _bands(slots: int, rows: int, room: int, lanes: int) -> Bands:
    return Bands(
        mass=line_of(slots * rows * room * lanes),
        first=np.zeros((slots, rows), dtype=np.int64),
        last=np.zeros((slots, rows), dtype=np.int64),
        total=np.zeros((rows, room)),
        lanes=lanes,
    )


def _states(common: ChainInLanes, states: int, slots: int) -> States:
    return States(
        slot_of=np.full(states, -1),
        next_slot=np.full(states, -1),
        factor=np.ones(slots),
        next_factor=np.ones(slots),
        by_held=np.argsort(common.held_of, kind="stable"),
        used=np.zeros(slots, dtype=np.int64),
        free=np.zeros(slots, dtype=np.bool_),
    )


def _day(common: ChainInLanes, states: int, lanes: int) -> Day:
    levels = len(common.after_session)
    helds = int(common.held_of.max()) + 1
    ended = line_of((common.ways + 2) * _CHUNK * lanes)
    ended[:] = 0.0
    return Day(
        drain_from=np.zeros(helds + 1, dtype=np.int64),
        drain_slots=np.zeros(states, dtype=np.int64),
        drain_weights=np.zeros(states, dtype=np.float32),
        held=line_of(_TOGETHER * _CHUNK * lanes),
        ended=ended,
        way_total=np.zeros((common.ways, _CHUNK)),
        new_slot=np.zeros(levels, dtype=np.int64),
        new_part=np.ones(levels),
        merges=np.zeros((states, 2), dtype=np.int64),
    )


def _scratch(common: ChainInLanes, shelf: Shelf, rows: int, room: int, lanes: int) -> Scratch:
    before = line_of(_CHUNK * lanes + 2 * _margin(common.drifts))
    before[:] = 0.0
    return Scratch(
        before=before,
        rows=np.zeros(rows, dtype=np.int64),
        by_kits=np.zeros(room),
        by_column=np.zeros(shelf.columns),
    )


@compile_line
def _add(into, to, line, at, weight, count):
    for i in range(count):
        into[to + i] += weight * line[at + i]


@compile_line
def _set(into, to, line, at, weight, count):
    for i in range(count):
        into[to + i] = weight * line[at + i]


@compile_line
def _clear(line, at, count):
    for i in range(count):
        line[at + i] = np.float32(0.0)


@compile_line
def _scale(line, at, factor, count):
    for i in range(count):
        line[at + i] *= factor


@compile_line
def _sum(line, at, count):
    total = np.float32(0.0)
    for i in range(count):
        total += line[at + i]
    return total


@compile_line
def _tell_four(way0, way1, way2, way3, keep, to, size, chances, a, b, c, lanes, held, places):
    """Tell sessions with three amounts of fluid held apart by four ways of ending."""
    a1, a2, a3 = a + lanes, a + lanes + lanes, a + lanes + lanes + lanes
    b1, b2, b3 = b + lanes, b + lanes + lanes, b + lanes + lanes + lanes
    c1, c2, c3 = c + lanes, c + lanes + lanes, c + lanes + lanes + lanes
    x, y, z = to - to, size, size + size
    to1, to2, to3 = to + size, to + size + size, to + size + size + size
    for _ in range(places):
        for i in range(lanes):
            u, v, w = held[x + i], held[y + i], held[z + i]
            way0[to + i] = keep * way0[to + i] + (
                chances[a + i] * u + chances[b + i] * v + chances[c + i] * w
            )
            way1[to1 + i] = keep * way1[to1 + i] + (
                chances[a1 + i] * u + chances[b1 + i] * v + chances[c1 + i] * w
            )
            way2[to2 + i] = keep * way2[to2 + i] + (
                chances[a2 + i] * u + chances[b2 + i] * v + chances[c2 + i] * w
            )
            way3[to3 + i] = keep * way3[to3 + i] + (
                chances[a3 + i] * u + chances[b3 + i] * v + chances[c3 + i] * w
            )
        x, y, z = x + lanes, y + lanes, z + lanes
        to, to1, to2, to3 = to + lanes, to1 + lanes, to2 + lanes, to3 + lanes


@compile_line
def _tell_two(way0, way1, keep, to, size, chances, a, b, c, lanes, held, places):
    """The same by two ways."""
    a1, b1, c1 = a + lanes, b + lanes, c + lanes
    x, y, z = to - to, size, size + size
    to1 = to + size
    for _ in range(places):
        for i in range(lanes):
            u, v, w = held[x + i], held[y + i], held[z + i]
            way0[to + i] = keep * way0[to + i] + (
                chances[a + i] * u + chances[b + i] * v + chances[c + i] * w
            )
            way1[to1 + i] = keep * way1[to1 + i] + (
                chances[a1 + i] * u + chances[b1 + i] * v + chances[c1 + i] * w
            )
        x, y, z, to, to1 = x + lanes, y + lanes, z + lanes, to + lanes, to1 + lanes


@compile_line
def _step(into, to, line, at, points, share, count):
    """What a small random step brings from both sides, so many lanes away, less what it takes.

    Written so that nothing is lost or gained, however the share is rounded.
    """
    for i in range(count):
        here = at + i
        into[to + i] += share * (
            (line[here - points] + line[here + points]) - np.float32(2.0) * line[here]
        )


@compile_steps
def _u(number):
    return np.uint64(number)


@compile_steps
def _at(bands, s, r, k):
    """Where the lanes of a place begin."""
    rows, room = bands.total.shape
    return _u(((s * rows + r) * room + k) * bands.lanes)


@compile_steps
def _widen(bands, s, r, first, last):
    """Make the window of a slot of a row hold another one; what it grows over is cleared."""
    old_first, old_last = bands.first[s, r], bands.last[s, r]
    if old_first >= old_last:
        _clear(bands.mass, _at(bands, s, r, first), _u((last - first) * bands.lanes))
        bands.first[s, r], bands.last[s, r] = first, last
        return
    if first < old_first:
        _clear(bands.mass, _at(bands, s, r, first), _u((old_first - first) * bands.lanes))
        bands.first[s, r] = first
    if last > old_last:
        _clear(bands.mass, _at(bands, s, r, old_last), _u((last - old_last) * bands.lanes))
        bands.last[s, r] = last


@compile_steps
def _put(bands, s, r, first, last, line, at, weight):
    """Add lines to places of a slot of a row."""
    is_new = bands.first[s, r] >= bands.last[s, r]
    if is_new:
        bands.first[s, r], bands.last[s, r] = first, last
    else:
        _widen(bands, s, r, first, last)
    to, count = _at(bands, s, r, first), _u((last - first) * bands.lanes)
    if is_new:
        _set(bands.mass, to, line, at, np.float32(weight), count)
    else:
        _add(bands.mass, to, line, at, np.float32(weight), count)


@compile_steps
def _pass_on(bands, s, r, into, to, part):
    """Add part of a slot of a row to another slot or row, at the same numbers of kits."""
    first, last = bands.first[s, r], bands.last[s, r]
    if first < last:
        _put(bands, into, to, first, last, bands.mass, _at(bands, s, r, first), part)


@compile_steps
def _empty(bands, r, used, n_used):
    for n in range(n_used):
        bands.first[used[n], r] = bands.last[used[n], r] = 0
    bands.total[r, :] = 0.0


@compile_steps
def _rows(shelf, rows, first, last):
    """List the rows of these columns; how many there are."""
    n = 0
    for m in range(shelf.loose.size):
        for b in range(first, last):
            rows[n] = m * shelf.columns + b
            n += 1
    return n


@compile_steps
def _in_use(states):
    """List the slots that hold a state; how many there are."""
    n = 0
    for j in range(states.slot_of.size):
        if states.slot_of[j] >= 0:
            states.used[n] = states.slot_of[j]
            n += 1
    return n


@compile_steps
def _arrive(bands, shelf, t, first, last, low, high, used, n_used):
    """Goods become ready this morning."""
    for place in range(shelf.ready_now.shape[1]):
        share = shelf.ready_now[t, place]
        if share <= 0.0:
            continue
        for has in range(shelf.loose.size):
            if has >> place & 1:
                continue
            for b in range(first, last):
                r = has * shelf.columns + b
                to = (has | 1 << place) * shelf.columns + b
                for n in range(n_used):
                    _pass_on(bands, used[n], r, used[n], to, share)
                for k in range(low, high):
                    bands.total[to, k] += share * bands.total[r, k]
                if share >= 1.0:
                    _empty(bands, r, used, n_used)
                    continue
                for n in range(n_used):
                    k, end = bands.first[used[n], r], bands.last[used[n], r]
                    at, count = _at(bands, used[n], r, k), _u((end - k) * bands.lanes)
                    _scale(bands.mass, at, np.float32(1.0 - share), count)
                for k in range(low, high):
                    bands.total[r, k] *= 1.0 - share


@compile_steps
def _come_home(bands, states, rows, n_rows, home):
    """All states become the one of a drain elsewhere the day before."""
    slot_of, factor = states.slot_of, states.factor
    into = -1
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and (into < 0 or factor[s] > factor[into]):
            into = s
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and s != into:
            for i in range(n_rows):
                _pass_on(bands, s, rows[i], into, rows[i], factor[s] / factor[into])
    slot_of[:] = -1
    slot_of[home] = into


@compile_steps
def _put_factors_in(bands, states, rows, n_rows, n_used):
    """Slots of which little counts are written anew, so that what joins them does not overflow."""
    for n in range(n_used):
        s = states.used[n]
        if states.factor[s] >= _SMALL_FACTOR:
            continue
        for i in range(n_rows):
            k, last = bands.first[s, rows[i]], bands.last[s, rows[i]]
            if k < last:
                at, count = _at(bands, s, rows[i], k), _u((last - k) * bands.lanes)
                _scale(bands.mass, at, np.float32(states.factor[s]), count)
        states.factor[s] = 1.0


@compile_steps
def _grow_older(states, chance, without_session, merges):
    """Which slot each state of tomorrow is in, and which slots have to be added to others."""
    next_slot, next_factor = states.next_slot, states.next_factor
    next_slot[:] = -1
    count = 0
    for j in range(states.slot_of.size):
        s = states.slot_of[j]
        if s < 0 or chance[j] >= 1.0:
            continue
        left = states.factor[s] * (1.0 - chance[j])
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


@compile_steps
def _margin(drifts):
    """Room before and after a line for its neighbours on the grid, in whole blocks."""
    return -(-2 * drifts // BLOCK) * BLOCK


@compile_steps
def _small_step(bands, chain, before, at, places):
    """One small random step of the rate at neighbouring places; the grid is mirrored."""
    mass, lanes, drifts = bands.mass, bands.lanes, chain.drifts
    margin, count = _margin(drifts), places * lanes
    _set(before, _u(margin), mass, at, np.float32(1.0), _u(count))
    _clear(before, _u(margin + count), _u(2 * drifts))
    _step(mass, at, before, _u(margin), _u(drifts), np.float32(chain.near), _u(count))
    if chain.far:
        _step(mass, at, before, _u(margin), _u(2 * drifts), np.float32(chain.far), _u(count))
    # What went to the two empty points at either end comes back from there.
    high = chain.points + 2
    for place in range(places):
        for e in range(drifts):
            here = at + _u(place * lanes + e)
            for point in range(0 if chain.far else 1, 2):
                out, back = _u(point * drifts), _u((3 - point) * drifts)
                mass[here + back] += mass[here + out]
                mass[here + out] = np.float32(0.0)
                out, back = _u((high + 1 - point) * drifts), _u((high - 2 + point) * drifts)
                mass[here + back] += mass[here + out]
                mass[here + out] = np.float32(0.0)


@compile_steps
def _walk(bands, chain, before, rows, n_rows, used, n_used):
    """One random step of the rate everywhere."""
    for i in range(n_rows):
        for n in range(n_used):
            s, r = used[n], rows[i]
            k, last = bands.first[s, r], bands.last[s, r]
            while k < last:
                places = min(last - k, _CHUNK)
                for _ in range(chain.rounds):
                    _small_step(bands, chain, before, _at(bands, s, r, k), places)
                k += places


@compile_steps
def _tighten(bands, states, rows, n_rows, low, high, n_used):
    """Leave out the ends of windows that hold next to nothing."""
    count = _u(bands.lanes)
    for i in range(n_rows):
        for n in range(n_used):
            s, r = states.used[n], rows[i]
            first, last = max(bands.first[s, r], low), min(bands.last[s, r], high)
            least = _LEAST / states.factor[s]
            while first < last and _sum(bands.mass, _at(bands, s, r, first), count) < least:
                first += 1
            while first < last and _sum(bands.mass, _at(bands, s, r, last - 1), count) < least:
                last -= 1
            bands.first[s, r], bands.last[s, r] = first, max(first, last)


@compile_steps
def _kept(mass, first, last):
    """The places from the first to the last that hold more than a negligible part."""
    while first < last - 1 and mass[first] <= NEGLIGIBLE:
        first += 1
    while last > first + 1 and mass[last - 1] <= NEGLIGIBLE:
        last -= 1
    return first, last


@compile_steps
def _who_drains(states, day, held_of, chance):
    """List the slots in which a session may take place, by fluid held; whether there is any."""
    n = place = 0
    helds = day.drain_from.size - 1
    for h in range(helds):
        day.drain_from[h] = n
        while place < states.by_held.size and held_of[states.by_held[place]] == h:
            j = states.by_held[place]
            s = states.slot_of[j]
            if s >= 0 and chance[j] > 0.0:
                day.drain_slots[n] = s
                day.drain_weights[n] = states.factor[s] * chance[j]
                n += 1
            place += 1
    day.drain_from[helds] = n
    return n > 0


@compile_steps
def _find_slots(bands, states, day, after_session, n_used):
    """Where what follows a session goes."""
    states.free[:] = True
    for n in range(n_used):
        states.free[states.used[n]] = False
    for level in range(after_session.size):
        to = after_session[level]
        s = states.next_slot[to]
        if s < 0:
            s = 0
            while not states.free[s]:
                s += 1
            states.free[s] = False
            bands.first[s, :] = 0
            bands.last[s, :] = 0
            states.next_slot[to] = s
            states.next_factor[s] = 1.0
        day.new_slot[level] = s
        day.new_part[level] = 1.0 / states.next_factor[s]


@compile_steps
def _hold(bands, day, h, r, k, places, line):
    """Put sessions at neighbouring places with one amount of fluid held in a line, if any."""
    lanes = bands.lanes
    is_new = True
    for n in range(day.drain_from[h], day.drain_from[h + 1]):
        s = day.drain_slots[n]
        first, last = max(bands.first[s, r], k), min(bands.last[s, r], k + places)
        if first >= last:
            continue
        at, into = _at(bands, s, r, first), line + _u((first - k) * lanes)
        count = _u((last - first) * lanes)
        if is_new:
            _clear(day.held, line, _u((first - k) * lanes))
            _set(day.held, into, bands.mass, at, day.drain_weights[n], count)
            _clear(day.held, into + count, _u((k + places - last) * lanes))
        else:
            _add(day.held, into, bands.mass, at, day.drain_weights[n], count)
        is_new = False
    return not is_new


@compile_steps
def _end_sessions(bands, day, chances, q, ways, all_ways, r, k, places):
    """Sessions at neighbouring places by way of ending, taken out of the totals, if any."""
    ended, held, lanes = day.ended, day.held, _u(bands.lanes)
    size, some = _u(_CHUNK * bands.lanes), _u(places)
    keep = np.float32(0.0)  # of what stands there from before
    count = 0
    a = b = c = q
    for h in range(day.drain_from.size - 1):
        if _hold(bands, day, h, r, k, places, _u(count) * size):
            a, b, c = b, c, q + h * all_ways * bands.lanes
            count += 1
        is_last = h == day.drain_from.size - 2
        if count < _TOGETHER and not (is_last and count):
            continue
        while count < _TOGETHER:
            _clear(held, _u(count) * size, some * lanes)
            a, b, c = b, c, q
            count += 1
        for way in range(0, ways, 4):
            to = _u(way) * size
            d, e, f = _u(a) + _u(way) * lanes, _u(b) + _u(way) * lanes, _u(c) + _u(way) * lanes
            if ways - way <= 2:
                _tell_two(ended, ended, keep, to, size, chances, d, e, f, lanes, held, some)
            else:
                _tell_four(
                    ended, ended, ended, ended, keep, to, size, chances, d, e, f, lanes, held, some
                )
        keep = np.float32(1.0)
        count = 0
    if keep == 0.0:
        return False
    for way in range(ways):
        for place in range(places):
            amount = _sum(ended, _u(way) * size + _u(place * lanes), _u(lanes))
            day.way_total[way, place] = amount
            bands.total[r, k + place] -= amount
    return True


@compile_steps
def _take_goods(bands, shelf, chain, day, r, k, places, count):
    """Take one kit and further bottles, loose ones first; what cannot be served is given back."""
    size = _CHUNK * bands.lanes
    arrival = r // shelf.columns
    stock = shelf.stock[arrival]
    left = max(shelf.loose[arrival] - r % shelf.columns, 0)
    gone = 0.0
    for level in range(chain.after_session.size):
        least_good = count if level else 0
        for further in range(least_good, count + chain.losses.shape[1]):
            taken = min(further, left)
            kits = 1 + further - taken
            served = min(places, max(stock + 1 - kits - k, 0))
            for good in range(least_good, min(further, count) + 1):
                lost = further - good
                if lost >= chain.loss_counts[good + 1]:
                    continue
                way = count + level if level else good
                share = chain.losses[good + 1, lost]
                for place in range(served, places):
                    gone += share * day.way_total[way, place]
                first, last = 0, served
                while first < last and share * day.way_total[way, first] < _LEAST:
                    first += 1
                while first < last and share * day.way_total[way, last - 1] < _LEAST:
                    last -= 1
                if first == last:
                    continue
                to = k + kits
                for place in range(first, last):
                    bands.total[r + taken, to + place] += share * day.way_total[way, place]
                at = _u(way * size + first * bands.lanes)
                part = share * day.new_part[level]
                s = day.new_slot[level]
                _put(bands, s, r + taken, to + first, to + last, day.ended, at, part)
    return gone


@compile_steps
def _reach(bands, day, r):
    """The window of a row that holds those of all slots in which a session may take place."""
    low, high = bands.total.shape[1], 0
    for n in range(day.drain_from[-1]):
        s = day.drain_slots[n]
        if bands.first[s, r] < bands.last[s, r]:
            low, high = min(low, bands.first[s, r]), max(high, bands.last[s, r])
    return low, high


@compile_steps
def _have_sessions(bands, shelf, chain, day, t, r):
    """Sessions of one row, from the most kits down; the probability of running out in one.

    Nothing is read after something was added to it: whatever a session takes leads to more
    kits, or to a row that comes later.
    """
    days, helds = chain.limit_of.size, day.drain_from.size - 1
    levels = chain.after_session.size
    gone = 0.0
    low, end = _reach(bands, day, r)
    while end > low:
        kind = shelf.kind_of[end - 1] if end - 1 < shelf.kind_of.size else 0
        k = end - 1
        while k > low and end - k < _CHUNK:
            if (shelf.kind_of[k - 1] if k - 1 < shelf.kind_of.size else 0) != kind:
                break
            k -= 1
        count = chain.threshold_counts[kind, chain.limit_of[t]]
        q = (kind * days + t) * helds * chain.ways * bands.lanes
        ways = count + levels
        if _end_sessions(bands, day, chain.chances, q, ways, chain.ways, r, k, end - k):
            gone += _take_goods(bands, shelf, chain, day, r, k, end - k, count)
        end = k
    return gone


@compile_steps
def _lift_kits(bands, r, low, high, floor, used, n_used):
    """Count kits past their date as used."""
    for n in range(n_used):
        s = used[n]
        first, last = bands.first[s, r], min(bands.last[s, r], floor)
        if first >= last:
            continue
        _widen(bands, s, r, floor, floor + 1)
        to = _at(bands, s, r, floor)
        for k in range(first, last):
            _add(bands.mass, to, bands.mass, _at(bands, s, r, k), np.float32(1.0), _u(bands.lanes))
        bands.first[s, r] = floor
    for k in range(low, min(floor, high)):
        bands.total[r, floor] += bands.total[r, k]
        bands.total[r, k] = 0.0


@compile_steps
def _note_kits(bands, shelf, first, last, low, high, used, n_used):
    """Let kits opened so far stand for arrivals, and count kits anew."""
    lanes = _u(bands.lanes)
    for r in range(first, last):
        for n in range(n_used):
            s = used[n]
            from_k, to_k = bands.first[s, r], min(bands.last[s, r], shelf.mark_below)
            for k in range(max(from_k, 1), to_k):
                to = k * shelf.columns + r
                at, there = _at(bands, s, r, k), _at(bands, s, to, 0)
                _set(bands.mass, there, bands.mass, at, np.float32(1.0), lanes)
                bands.first[s, to], bands.last[s, to] = 0, 1
            bands.last[s, r] = 1 if from_k == 0 and to_k > 0 else 0
            bands.first[s, r] = 0
        for k in range(max(low, 1), high):
            if k < shelf.mark_below:
                bands.total[k * shelf.columns + r, 0] = bands.total[r, k]
            bands.total[r, k] = 0.0


@compile_steps
def _note_bottles(bands, shelf, first, last, low, high, used, n_used):
    """Let loose bottles used so far stand for arrivals, and count them anew."""
    for r in range(max(first, 1), last):
        if r < shelf.mark_below:
            to = r * shelf.columns
            for n in range(n_used):
                _pass_on(bands, used[n], r, used[n], to, 1.0)
            for k in range(low, high):
                bands.total[to, k] = bands.total[r, k]
        _empty(bands, r, used, n_used)


@compile_steps
def _run(start, session_chance, chain, shelf, bands, states, day, scratch, found):
    """Step one variant through the horizon and add what is found."""
    days, n_states = session_chance.shape
    rows, by_kits, by_column = scratch.rows, scratch.by_kits, scratch.by_column
    room = by_kits.size
    for j in range(n_states):
        for i in range(bands.lanes):
            if start[j, i] > 0.0:
                states.slot_of[j] = j
                bands.total[0, 0] += start[j, i]
        if states.slot_of[j] >= 0:
            bands.last[j, 0] = 1
            for i in range(bands.lanes):
                bands.mass[_at(bands, j, 0, 0) + _u(i)] = start[j, i]
    low, high = 0, 1
    first, last = 0, 1  # columns in use
    n_rows = _rows(shelf, rows, first, last)

    for t in range(days):
        n_used = _in_use(states)
        _arrive(bands, shelf, t, first, last, low, high, states.used, n_used)
        if t >= chain.first_day:
            if t % WALK_EVERY_DAYS == WALK_EVERY_DAYS - 1:
                _tighten(bands, states, rows, n_rows, low, high, n_used)
                _walk(bands, chain, scratch.before, rows, n_rows, states.used, n_used)
            if chain.restarts[t]:
                _come_home(bands, states, rows, n_rows, chain.after_session[0])
                n_used = _in_use(states)

            _put_factors_in(bands, states, rows, n_rows, n_used)

            # Tomorrow's states: those of today, older, and new ones after a session.
            chance = session_chance[t]
            n_merges = _grow_older(states, chance, chain.without_session, day.merges)
            any_session = _who_drains(states, day, chain.held_of, chance)
            next_high, next_last = high, last
            if any_session:
                _find_slots(bands, states, day, chain.after_session, n_used)
                next_high = min(high + shelf.most, room)
                next_last = max(min(last + shelf.most - 1, shelf.columns), last)
            for i in range(n_rows - 1, -1, -1):
                if any_session:
                    r = rows[i]
                    found.gone[t] += _have_sessions(bands, shelf, chain, day, t, r)
                for n in range(n_merges):
                    into, add = day.merges[n, 0], day.merges[n, 1]
                    part = states.next_factor[add] / states.next_factor[into]
                    _pass_on(bands, add, rows[i], into, rows[i], part)
            for j in range(n_states):
                states.slot_of[j] = states.next_slot[j]
            for s in range(states.factor.size):
                states.factor[s] = states.next_factor[s]
            high, last = next_high, next_last
            n_rows = _rows(shelf, rows, first, last)
            n_used = _in_use(states)

            if t % TRIM_EVERY_DAYS == TRIM_EVERY_DAYS - 1:
                by_column[:] = 0.0
                for i in range(n_rows):
                    for k in range(low, high):
                        by_column[rows[i] % shelf.columns] += bands.total[rows[i], k]
                from_b, to_b = _kept(by_column, first, last)
                for i in range(n_rows):
                    if not from_b <= rows[i] % shelf.columns < to_b:
                        _empty(bands, rows[i], states.used, n_used)
                first, last = from_b, to_b
                n_rows = _rows(shelf, rows, first, last)

        all_served = 0.0
        for k in range(low, high):
            by_kits[k] = 0.0
            for i in range(n_rows):
                by_kits[k] += bands.total[rows[i], k]
            all_served += by_kits[k]
        from_k, to_k = _kept(by_kits, low, high)
        for i in range(n_rows):
            r = rows[i]
            bands.total[r, low:from_k] = 0.0
            bands.total[r, to_k:high] = 0.0
            for n in range(n_used):
                s = states.used[n]
                bands.first[s, r] = max(bands.first[s, r], from_k)
                bands.last[s, r] = max(min(bands.last[s, r], to_k), bands.first[s, r])
        low, high = from_k, to_k
        floor = shelf.kit_floors[t]
        if floor > low:
            for k in range(low, min(floor, high)):
                found.expired[0] += by_kits[k] * (floor - k)
            for i in range(n_rows):
                _lift_kits(bands, rows[i], low, high, floor, states.used, n_used)
            low, high = floor, max(high, floor + 1)
        floor = shelf.bottle_floors[t]
        if floor > first:
            for i in range(n_rows):
                r = rows[i]
                lifted = floor - r % shelf.columns
                if lifted <= 0:
                    continue
                for n in range(n_used):
                    s = states.used[n]
                    _pass_on(bands, s, r, s, r + lifted, 1.0)
                for k in range(low, high):
                    found.expired[1] += bands.total[r, k] * lifted
                    bands.total[r + lifted, k] += bands.total[r, k]
                _empty(bands, r, states.used, n_used)
            first, last = floor, max(last, floor + 1)
            n_rows = _rows(shelf, rows, first, last)
        for k in range(low, min(high, found.used.shape[1])):
            for i in range(n_rows):
                found.used[t, k] += bands.total[rows[i], k]
        if found.both.size:
            for i in range(n_rows):
                for k in range(low, high):
                    found.both[t, rows[i], k] += bands.total[rows[i], k]
        if t == shelf.mark_day:
            if shelf.marks_kits:
                _note_kits(bands, shelf, first, last, low, high, states.used, n_used)
                low, high = 0, 1
            else:
                _note_bottles(bands, shelf, first, last, low, high, states.used, n_used)
                first, last = 0, 1
            n_rows = _rows(shelf, rows, first, last)
        if not shelf.is_endless and all_served < _DONE:
            break
