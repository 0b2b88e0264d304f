# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""The steps of `planner.joint` as one compiled loop.

Numbers are those of the plain version up to rounding; tests hold the two together. It is used
when numba is installed (`pip install ebbstock[fast]`) and left out otherwise.

The array is [R, K, S, L]: arrivals so far and loose bottles used, kits opened, slot, lane. A
lane is one point of the grid of x under one drift; lanes are innermost, because every step does
the same to all of them, so the machine takes several at a time. Four things make it fast:

- A state is put in a slot and stays there while it grows older. What part of it is left after
  days on which a session might have been is a factor of the slot, so growing older is free.
- Every place on [R, K] has its own window of lanes, in whole blocks; what lies outside counts
  as nothing and is cleared only when the window grows over it.
- States with the same days' worth of fluid held are added up before the ways a session can end
  are told apart.
- The chances of those ways are worked out once for all variants and shelves, by `planner.lanes`.

All that compiled functions call stands in one file, since compiled code that is kept on disk
is renewed only when its own file changes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

from planner.chain import WALK_EVERY_DAYS, CatheterChain
from planner.joint import NEGLIGIBLE, TRIM_EVERY_DAYS, Goods, Stepped
from planner.lanes import BLOCK, ChainInLanes, in_lanes, start_in_lanes
from planner.normal import Floats

ROOM = 24
"""Kits there is room for at first, and by how many it grows."""

_DONE = 1e-12
_LEAST = 1e-14
"""What a block at the end of a window holds at least."""

_compile = njit(
    cache=True, nogil=True, error_model="numpy", fastmath={"reassoc", "contract", "nsz"}
)


def step_through(chain: CatheterChain, shelves: Sequence[Goods]) -> list[Stepped]:
    """`planner.joint.step_through`, compiled."""
    common = in_lanes(chain, shelves[0].kinds.next_kits_ml)
    variants = [
        (start_in_lanes(start), np.ascontiguousarray(chance))
        for start, chance in zip(chain.start, chain.session_chance, strict=True)
    ]
    return [_beside(common, variants, goods) for goods in shelves]


def _beside(
    common: ChainInLanes, variants: Sequence[tuple[Floats, Floats]], goods: Goods
) -> Stepped:
    none = np.zeros(0, dtype=np.int64)
    results = [
        _run(
            start,
            session_chance,
            *common,
            none if goods.kits is None else goods.kits,
            goods.bottles,
            goods.ready_now,
            goods.ready_by,
            goods.kit_floors,
            goods.bottle_floors,
            goods.kinds.by_kits,
            NEGLIGIBLE,
        )
        for start, session_chance in variants
    ]
    kits, gone, kits_expired, bottles_expired = zip(*results, strict=True)
    width = max(table.shape[1] for table in kits)
    total = np.zeros((len(gone[0]), width))
    for table in kits:
        total[:, : table.shape[1]] += table
    return Stepped(
        kits=total,
        gone=sum(gone),
        kits_expired=sum(kits_expired),
        bottles_expired=sum(bottles_expired),
    )


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
def _grown(mass, sums, begins, ends, slots, room):
    """The same with room for more kits."""
    n_rows, old = begins.shape
    lanes = sums.shape[2]
    size = slots * lanes
    larger = np.empty(n_rows * room * size)
    more_sums = np.empty((n_rows, room, lanes))
    more_begins = np.zeros((n_rows, room), dtype=np.int64)
    more_ends = np.zeros((n_rows, room), dtype=np.int64)
    for r in range(n_rows):
        for k in range(old):
            begin, end = begins[r, k], ends[r, k]
            more_begins[r, k], more_ends[r, k] = begin, end
            more_sums[r, k, begin:end] = sums[r, k, begin:end]
            for s in range(slots):
                to, was = (r * room + k) * size + s * lanes, (r * old + k) * size + s * lanes
                larger[to + begin : to + end] = mass[was + begin : was + end]
    return larger, more_sums, more_begins, more_ends


@_compile
def _clear(mass, sums, place, r, k, slots, begin, end):
    """Nothing is left in these lanes of a place."""
    lanes = sums.shape[2]
    for i in range(np.uint64(begin), np.uint64(end)):
        sums[r, k, i] = 0.0
    for s in range(slots):
        line = np.uint64(place + s * lanes)
        for i in range(np.uint64(begin), np.uint64(end)):
            mass[line + i] = 0.0


@_compile
def _widen(mass, sums, begins, ends, r, k, slots, begin, end):
    """Make the window of a place hold another one; what it grows over is cleared."""
    if begin >= end:
        return
    place = (r * begins.shape[1] + k) * slots * sums.shape[2]
    old_begin, old_end = begins[r, k], ends[r, k]
    if old_begin >= old_end:
        _clear(mass, sums, place, r, k, slots, begin, end)
        begins[r, k], ends[r, k] = begin, end
        return
    if begin < old_begin:
        _clear(mass, sums, place, r, k, slots, begin, old_begin)
        begins[r, k] = begin
    if end > old_end:
        _clear(mass, sums, place, r, k, slots, old_end, end)
        ends[r, k] = end


@_compile
def _arrive(mass, sums, begins, ends, columns, first, last, low, high, slots, used, now, by):
    """Goods become ready this morning, the last ones looked at first."""
    coming = now.size
    room, lanes = begins.shape[1], sums.shape[2]
    for m in range(coming - 1, -1, -1):
        if now[m] <= 0.0:
            continue
        for b in range(first, last):
            r = m * columns + b
            for k in range(low, high):
                begin, end = begins[r, k], ends[r, k]
                if begin >= end:
                    continue
                for later in range(m + 1, coming + 1):
                    to = later * columns + b
                    _widen(mass, sums, begins, ends, to, k, slots, begin, end)
                for s in used:
                    line = np.uint64((r * room + k) * slots * lanes + s * lanes)
                    left = now[m]
                    for later in range(m + 1, coming + 1):
                        share = left if later == coming else left * (1.0 - by[later])
                        left -= share
                        row = later * columns + b
                        to = np.uint64((row * room + k) * slots * lanes + s * lanes)
                        for i in range(np.uint64(begin), np.uint64(end)):
                            mass[to + i] += share * mass[line + i]
                    for i in range(np.uint64(begin), np.uint64(end)):
                        mass[line + i] *= 1.0 - now[m]


@_compile
def _come_home(mass, begins, ends, rows, low, high, slots, lanes, slot_of, factor, home):
    """All states become the one of a drain elsewhere the day before."""
    into = -1
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and (into < 0 or factor[s] > factor[into]):
            into = s
    for j in range(slot_of.size):
        s = slot_of[j]
        if s >= 0 and s != into:
            part = factor[s] / factor[into]
            for r in rows:
                for k in range(low, high):
                    place = (r * begins.shape[1] + k) * slots * lanes
                    _add(
                        mass,
                        place + into * lanes,
                        place + s * lanes,
                        part,
                        begins[r, k],
                        ends[r, k],
                    )
    slot_of[:] = -1
    slot_of[home] = into


@_compile
def _add(mass, into, line, weight, begin, end):
    """Add one line of lanes to another."""
    to, was = np.uint64(into), np.uint64(line)
    for i in range(np.uint64(begin), np.uint64(end)):
        mass[to + i] += weight * mass[was + i]


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
def _walk(
    mass, sums, begins, ends, rows, low, high, slots, used, drifts, points, rounds, near, far
):
    """One random step of the rate at every place."""
    room, lanes = begins.shape[1], sums.shape[2]
    reach = rounds * drifts * (2 if far else 1)
    edge = drifts * points
    stay = 1.0 - 2.0 * (near + far)
    margin = 2 * drifts
    before = np.zeros(lanes + 2 * margin)
    one, two, here = np.uint64(drifts), np.uint64(2 * drifts), np.uint64(margin)
    for r in rows:
        for k in range(low, high):
            if begins[r, k] >= ends[r, k]:
                continue
            begin = (begins[r, k] - reach) // BLOCK * BLOCK
            end = -(-(ends[r, k] + reach) // BLOCK) * BLOCK
            if begin <= margin:
                begin = 0
            if end > edge:
                end = lanes
            _widen(mass, sums, begins, ends, r, k, slots, begin, end)
            width = np.uint64(end - begin)
            before[end - begin + margin : end - begin + 2 * margin] = 0.0
            before[:margin] = 0.0
            for s in used:
                start = (r * room + k) * slots * lanes + s * lanes
                line = np.uint64(start + begin)
                for _ in range(rounds):
                    for i in range(width):
                        before[here + i] = mass[line + i]
                    for d in range(margin if begin == 0 else 0):  # the grid is mirrored at its ends
                        point = d // drifts
                        before[margin + d - margin * point] = mass[start + drifts + d]
                    for d in range(margin if end == lanes else 0):
                        point = d // drifts
                        to = margin - begin + edge + drifts + d
                        before[to] = mass[start + edge + d - margin * point]
                    for i in range(width):
                        total = stay * before[here + i]
                        total += near * (before[here + i - one] + before[here + i + one])
                        if far:
                            total += far * (before[here + i - two] + before[here + i + two])
                        mass[line + i] = total
                    for d in range(drifts if begin == 0 else 0):
                        mass[start + d] = 0.0
                    for d in range(edge + drifts, lanes if end == lanes else 0):
                        mass[start + d] = 0.0


@_compile
def _add_up(total, mass, place, lines, weights, begin, end):
    """Sum lines of lanes with weights."""
    count = lines.size
    fours = count - count % 4
    for i in range(np.uint64(begin), np.uint64(end)):
        total[i] = 0.0
    for n in range(0, fours, 4):
        a, b = np.uint64(place + lines[n]), np.uint64(place + lines[n + 1])
        c, d = np.uint64(place + lines[n + 2]), np.uint64(place + lines[n + 3])
        u, v, w, z = weights[n], weights[n + 1], weights[n + 2], weights[n + 3]
        for i in range(np.uint64(begin), np.uint64(end)):
            total[i] += u * mass[a + i] + v * mass[b + i] + w * mass[c + i] + z * mass[d + i]
    for n in range(fours, count):
        a, u = np.uint64(place + lines[n]), weights[n]
        for i in range(np.uint64(begin), np.uint64(end)):
            total[i] += u * mass[a + i]


@_compile
def _end(ended, way, chances, kind, day, helds, held, begin, end):
    """Sessions that end one way: the sum over days' worth of fluid held."""
    count = helds.size
    threes = count - count % 3
    for i in range(np.uint64(begin), np.uint64(end)):
        ended[way, i] = 0.0
    for n in range(0, threes, 3):
        a, b, c = helds[n], helds[n + 1], helds[n + 2]
        for i in range(np.uint64(begin), np.uint64(end)):
            ended[way, i] += (
                chances[kind, day, way, a, i] * held[a, i]
                + chances[kind, day, way, b, i] * held[b, i]
                + chances[kind, day, way, c, i] * held[c, i]
            )
    for n in range(threes, count):
        a = helds[n]
        for i in range(np.uint64(begin), np.uint64(end)):
            ended[way, i] += chances[kind, day, way, a, i] * held[a, i]


@_compile
def _is_empty(ended, way, begin, end):
    total = 0.0
    for i in range(np.uint64(begin), np.uint64(end)):
        total += ended[way, i]
    return total <= 0.0


@_compile
def _open(
    mass,
    row,
    kits,
    left,
    room,
    size,
    lanes,
    ended,
    begin,
    end,
    count,
    slots,
    parts,
    losses,
    loss_counts,
):
    """Take one kit and further bottles, loose ones first, for each way of ending."""
    for level in range(slots.size):
        way = count + level
        if level > 0 and _is_empty(ended, way, begin, end):
            continue
        for further in range(count + losses.shape[1]):
            taken = min(further, left)
            place = ((row + taken) * room + kits + 1 + further - taken) * size
            to = np.uint64(place + slots[level] * lanes)
            for good in range(1 if level == 0 else count + 1, count + 2):
                lost = further + 1 - good
                if lost < 0 or lost >= loss_counts[good]:
                    continue
                weight = losses[good, lost] * parts[level]
                from_way = good - 1 if level == 0 else way
                for i in range(np.uint64(begin), np.uint64(end)):
                    mass[to + i] += weight * ended[from_way, i]


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
def _settle(mass, sums, begins, ends, rows, low, high, slots, new_slot, factor):
    """Add what today's sessions left to the sums, and leave out what holds next to nothing."""
    room, lanes = begins.shape[1], sums.shape[2]
    for r in rows:
        for k in range(low, high):
            begin, end = begins[r, k], ends[r, k]
            if begin >= end:
                continue
            place = (r * room + k) * slots * lanes
            for s in new_slot:
                line, part = np.uint64(place + s * lanes), factor[s]
                for i in range(np.uint64(begin), np.uint64(end)):
                    sums[r, k, i] += part * mass[line + i]
            while begin < end and _block(sums, r, k, begin) <= _LEAST:
                begin += BLOCK
            while begin < end and _block(sums, r, k, end - BLOCK) <= _LEAST:
                end -= BLOCK
            begins[r, k], ends[r, k] = begin, end


@_compile
def _block(sums, r, k, begin):
    total = 0.0
    for i in range(np.uint64(begin), np.uint64(begin + BLOCK)):
        total += sums[r, k, i]
    return total


@_compile
def _margins(sums, begins, ends, rows, columns, low, high, drifts, points):
    """Probability by column and by point of the grid."""
    by_column = np.zeros(columns)
    by_lane = np.zeros(sums.shape[2])
    for r in rows:
        for k in range(low, high):
            for i in range(np.uint64(begins[r, k]), np.uint64(ends[r, k])):
                by_lane[i] += sums[r, k, i]
                by_column[r % columns] += sums[r, k, i]
    by_point = np.zeros(points)
    for x in range(points):
        for d in range(drifts):
            by_point[x] += by_lane[(x + 1) * drifts + d]
    return by_column, by_point


@_compile
def _drop_states(mass, sums, begins, ends, rows, low, high, slots, slot_of, factor, negligible):
    """Leave out states that hold next to nothing, and take them out of the sums."""
    room, lanes = begins.shape[1], sums.shape[2]
    totals = np.zeros(slot_of.size)
    for r in rows:
        for k in range(low, high):
            for j in range(slot_of.size):
                s = slot_of[j]
                if s >= 0:
                    line = np.uint64((r * room + k) * slots * lanes + s * lanes)
                    total = 0.0
                    for i in range(np.uint64(begins[r, k]), np.uint64(ends[r, k])):
                        total += mass[line + i]
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
        for r in rows:
            for k in range(low, high):
                line = np.uint64((r * room + k) * slots * lanes + s * lanes)
                for i in range(np.uint64(begins[r, k]), np.uint64(ends[r, k])):
                    sums[r, k, i] -= factor[s] * mass[line + i]


@_compile
def _cut_lanes(mass, sums, begins, ends, rows, low, high, slots, first, last):
    """Leave out lanes before and after a window."""
    room, lanes = begins.shape[1], sums.shape[2]
    for r in rows:
        for k in range(low, high):
            begin, end = begins[r, k], ends[r, k]
            begin, end = max(begin, first // BLOCK * BLOCK), min(end, -(-last // BLOCK) * BLOCK)
            if begin >= end:
                begins[r, k] = ends[r, k] = 0
                continue
            begins[r, k], ends[r, k] = begin, end
            place = (r * room + k) * slots * lanes
            if begin < first:
                _clear(mass, sums, place, r, k, slots, begin, min(first, end))
            if end > last:
                _clear(mass, sums, place, r, k, slots, max(last, begin), end)


@_compile
def _serve(used, sums, begins, ends, rows, columns, low, high, levels):
    """Add up by kits used what is served; what is not is taken out and its sum given back."""
    used[:] = 0.0
    gone = 0.0
    for r in rows:
        for k in range(low, high):
            total = 0.0
            for i in range(np.uint64(begins[r, k]), np.uint64(ends[r, k])):
                total += sums[r, k, i]
            if k <= levels[r // columns]:
                used[k] += total
            else:
                gone += total
                begins[r, k] = ends[r, k] = 0
    return gone


@_compile
def _lift_kits(mass, sums, begins, ends, rows, low, high, floor, slots, used):
    """Count kits past their date as used."""
    room, lanes = begins.shape[1], sums.shape[2]
    for r in rows:
        for k in range(low, high):
            begin, end = begins[r, k], ends[r, k]
            if begin >= end:
                continue
            _widen(mass, sums, begins, ends, r, floor, slots, begin, end)
            for s in used:
                line = (r * room + k) * slots * lanes + s * lanes
                _add(mass, line + (floor - k) * slots * lanes, line, 1.0, begin, end)
            begins[r, k] = ends[r, k] = 0


@_compile
def _lift_bottles(
    mass, sums, begins, ends, arrivals, columns, first, last, low, high, floor, slots, used, factor
):
    """Count loose bottles past their date as used; the expected units written off."""
    room, lanes = begins.shape[1], sums.shape[2]
    lost = 0.0
    for m in range(arrivals):
        for b in range(first, min(floor, last)):
            r = m * columns + b
            for k in range(low, high):
                begin, end = begins[r, k], ends[r, k]
                if begin >= end:
                    continue
                _widen(mass, sums, begins, ends, m * columns + floor, k, slots, begin, end)
                for s in used:
                    line = (r * room + k) * slots * lanes + s * lanes
                    up = line + (floor - b) * room * slots * lanes
                    _add(mass, up, line, 1.0, begin, end)
                    total = 0.0
                    for i in range(np.uint64(begin), np.uint64(end)):
                        total += mass[np.uint64(line) + i]
                    lost += factor[s] * total * (floor - b)
                begins[r, k] = ends[r, k] = 0
    return lost


@_compile
def _in_use(slot_of):
    """Slots that hold a state."""
    used = np.empty(slot_of.size, dtype=np.int64)
    n = 0
    for s in slot_of:
        if s >= 0:
            used[n] = s
            n += 1
    return used[:n]


@_compile
def _run(
    start,
    session_chance,
    first_day,
    held_of,
    without_session,
    after_session,
    restarts,
    limit_of,
    threshold_counts,
    losses,
    loss_counts,
    drifts,
    points,
    rounds,
    near,
    far,
    chances,
    happens,
    stock,
    loose,
    ready_now,
    ready_by,
    kit_floors,
    bottle_floors,
    kind_of,
    negligible,
):
    days, states = session_chance.shape
    lanes = start.shape[1]
    arrivals = loose.size
    columns = loose.max() + 1
    n_rows = arrivals * columns
    levels = after_session.size
    slots = states + levels
    size = slots * lanes
    helds = held_of.max() + 1
    endless = stock.size == 0
    if endless:
        stock = np.full(arrivals, 1 << 40)
    most = threshold_counts.max() + losses.shape[1]

    room = ROOM
    mass = np.empty(n_rows * room * size)
    sums = np.empty((n_rows, room, lanes))
    begins = np.zeros((n_rows, room), dtype=np.int64)
    ends = np.zeros((n_rows, room), dtype=np.int64)
    slot_of = np.full(states, -1)
    factor = np.ones(slots)
    _widen(mass, sums, begins, ends, 0, 0, slots, 0, lanes)
    for j in range(states):
        if start[j].any():
            slot_of[j] = j
            mass[j * lanes : (j + 1) * lanes] = start[j]
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
    ended = np.empty((chances.shape[2], lanes))
    held = np.empty((helds, lanes))
    staying = np.empty(lanes)
    parts = np.ones(levels)

    for day in range(days):
        if max(high + most, kit_floors[day] + 1) + 8 > room:
            room = max(high + most, kit_floors[day] + 1) + 8 + ROOM
            mass, sums, begins, ends = _grown(mass, sums, begins, ends, slots, room)
            used = np.zeros(room)
        use_slots = _in_use(slot_of)
        _arrive(
            mass,
            sums,
            begins,
            ends,
            columns,
            first_column,
            last_column,
            low,
            high,
            slots,
            use_slots,
            ready_now[day],
            ready_by[day],
        )
        chance = session_chance[day]
        if day < first_day:
            chance = np.zeros(states)
        if day >= first_day and day % WALK_EVERY_DAYS == WALK_EVERY_DAYS - 1:
            _walk(
                mass,
                sums,
                begins,
                ends,
                rows,
                low,
                high,
                slots,
                use_slots,
                drifts,
                points,
                rounds,
                near,
                far,
            )
        if day >= first_day and restarts[day]:
            _come_home(
                mass,
                begins,
                ends,
                rows,
                low,
                high,
                slots,
                lanes,
                slot_of,
                factor,
                after_session[0],
            )
            use_slots = _in_use(slot_of)
        limit = limit_of[day]

        # Tomorrow's states: those of today, older, and new ones after a session.
        n_merges = 0
        if day >= first_day:
            n_merges = _grow_older(
                slot_of, factor, chance, without_session, next_slot, next_factor, merges
            )
        else:
            next_slot[:] = slot_of
            next_factor[:] = factor
        in_session = np.zeros(states, dtype=np.bool_)
        any_session = False
        for j in range(states):
            if slot_of[j] >= 0 and chance[j] > 0.0:
                in_session[j] = True
                any_session = True
        new_slot = np.empty(levels if any_session else 0, dtype=np.int64)
        next_high, next_column, all_rows = high, last_column, rows
        parts[:] = 1.0
        is_fresh = np.zeros(levels, dtype=np.bool_)
        if any_session:
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
                    parts[level] = 1.0 / next_factor[next_slot[to]]
                else:
                    s = np.argmax(free)
                    free[s] = False
                    new_slot[level] = s
                    next_slot[to] = s
                    next_factor[s] = 1.0
                    is_fresh[level] = True

        # What stays: all slots but those that a session's new states are added to.
        stay_lines = np.empty(use_slots.size, dtype=np.int64)
        stay_weights = np.empty(use_slots.size)
        n = 0
        for j in range(states):
            if slot_of[j] < 0 or chance[j] >= 1.0:
                continue
            is_new = False
            for s in new_slot:
                is_new |= next_slot[without_session[j]] == s
            if day < first_day or not is_new:
                stay_lines[n] = slot_of[j] * lanes
                stay_weights[n] = factor[slot_of[j]] * (1.0 - chance[j])
                n += 1
        stay_lines, stay_weights = stay_lines[:n], stay_weights[:n]

        # Who drains, by days' worth of fluid held.
        drain_lines = np.empty(states, dtype=np.int64)
        drain_weights = np.empty(states)
        drain_from = np.zeros(helds + 1, dtype=np.int64)
        wanted = np.empty(helds, dtype=np.int64)
        n_wanted, n = 0, 0
        for h in range(helds):
            drain_from[h] = n
            for j in range(states):
                if in_session[j] and held_of[j] == h:
                    drain_lines[n] = slot_of[j] * lanes
                    drain_weights[n] = factor[slot_of[j]] * chance[j]
                    n += 1
            if n > drain_from[h]:
                wanted[n_wanted] = h
                n_wanted += 1
        drain_from[helds] = n

        # Windows as they are before sessions, then grown to hold what sessions bring.
        walked_begins = begins[:, low:high].copy()
        walked_ends = ends[:, low:high].copy()
        if any_session:
            for r in rows:
                left = max(loose[r // columns] - r % columns, 0)
                for k in range(low, high):
                    begin, end = walked_begins[r, k - low], walked_ends[r, k - low]
                    for further in range(most if begin < end else 0):
                        taken = min(further, left)
                        to = k + 1 + further - taken
                        _widen(mass, sums, begins, ends, r + taken, to, slots, begin, end)
            for level in range(levels):
                if is_fresh[level]:
                    for r in all_rows:
                        for k in range(low, next_high):
                            line = np.uint64((r * room + k) * size + new_slot[level] * lanes)
                            for i in range(np.uint64(begins[r, k]), np.uint64(ends[r, k])):
                                mass[line + i] = 0.0

        # From the most kits down, so that nothing is read after something was added to it.
        for k in range(high - 1, low - 1, -1):
            kind = kind_of[k] if k < kind_of.size else 0
            count = threshold_counts[kind, limit]
            for r in rows:
                begin, end = walked_begins[r, k - low], walked_ends[r, k - low]
                if begin >= end:
                    continue
                place = (r * room + k) * size
                _add_up(staying, mass, place, stay_lines, stay_weights, begin, end)
                for i in range(np.uint64(begin), np.uint64(end)):
                    sums[r, k, i] = staying[i]
                if any_session:
                    for n in range(n_wanted):
                        h = wanted[n]
                        lines = drain_lines[drain_from[h] : drain_from[h + 1]]
                        weights = drain_weights[drain_from[h] : drain_from[h + 1]]
                        _add_up(held[h], mass, place, lines, weights, begin, end)
                    for way in range(count + levels):
                        which = np.empty(n_wanted, dtype=np.int64)
                        n_which = 0
                        for n in range(n_wanted):
                            if happens[kind, day, way, wanted[n]]:
                                which[n_which] = wanted[n]
                                n_which += 1
                        _end(ended, way, chances, kind, day, which[:n_which], held, begin, end)
                    left = max(loose[r // columns] - r % columns, 0)
                    _open(
                        mass,
                        r,
                        k,
                        left,
                        room,
                        size,
                        lanes,
                        ended,
                        begin,
                        end,
                        count,
                        new_slot,
                        parts,
                        losses,
                        loss_counts,
                    )
                for n in range(n_merges):
                    into, add = merges[n, 0], merges[n, 1]
                    part = next_factor[add] / next_factor[into]
                    _add(mass, place + into * lanes, place + add * lanes, part, begin, end)
        slot_of[:] = next_slot
        factor[:] = next_factor
        high, last_column, rows = next_high, next_column, all_rows
        _settle(mass, sums, begins, ends, rows, low, high, slots, new_slot, factor)

        if day >= first_day and day % TRIM_EVERY_DAYS == TRIM_EVERY_DAYS - 1:
            by_column, by_point = _margins(
                sums, begins, ends, rows, columns, low, high, drifts, points
            )
            _drop_states(
                mass, sums, begins, ends, rows, low, high, slots, slot_of, factor, negligible
            )
            first_column, last_column = _kept(by_column, first_column, last_column, negligible)
            from_x, to_x = _kept(by_point, 0, points, negligible)
            for r in rows:
                if not first_column <= r % columns < last_column:
                    begins[r, low:high] = 0
                    ends[r, low:high] = 0
            rows = _rows(arrivals, columns, first_column, last_column)
            first, last = (from_x + 1) * drifts, (to_x + 1) * drifts
            _cut_lanes(mass, sums, begins, ends, rows, low, high, slots, first, last)

        gone_by_day[day] = _serve(used, sums, begins, ends, rows, columns, low, high, stock)
        is_done = not endless and used.sum() < _DONE
        from_k, to_k = _kept(used, low, high, negligible)
        for r in rows:
            begins[r, low:from_k] = 0
            ends[r, low:from_k] = 0
            begins[r, to_k:high] = 0
            ends[r, to_k:high] = 0
        low, high = from_k, to_k
        if kit_floors[day] > low:
            floor = kit_floors[day]
            used[high : floor + 1] = 0.0
            for k in range(low, min(floor, high)):
                kits_expired += used[k] * (floor - k)
                used[floor] += used[k]
                used[k] = 0.0
            _lift_kits(
                mass,
                sums,
                begins,
                ends,
                rows,
                low,
                min(floor, high),
                floor,
                slots,
                _in_use(slot_of),
            )
            low, high = floor, max(high, floor + 1)
        if bottle_floors[day] > first_column:
            floor = bottle_floors[day]
            bottles_expired += _lift_bottles(
                mass,
                sums,
                begins,
                ends,
                arrivals,
                columns,
                first_column,
                last_column,
                low,
                high,
                floor,
                slots,
                _in_use(slot_of),
                factor,
            )
            first_column, last_column = floor, max(last_column, floor + 1)
            rows = _rows(arrivals, columns, first_column, last_column)
        for k in range(low, min(high, width)):
            used_by_day[day, k] = used[k]
        if is_done:
            break
    return used_by_day, gone_by_day, kits_expired, bottles_expired
