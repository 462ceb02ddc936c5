"""The compiled inner loops of the year engine: one plan from an order, and the search over orders.

A plan is made from an order of the activities, one after another, each at the first place that
keeps what is already placed (serial schedule generation). What an order can break is counted:
longest waits, fixed dates that come too soon, open spans that something lies in.

Times are whole units; FAR is never. Few and plain arrays, since each costs at every call:

    act   [n, ACT]           an activity in a row, columns below
    row   [·, 5]             lists of links, uses and spans; `act`, `span` say which rows are whose
    unit  [calendars, ·]     the u-th working unit of a calendar, then FAR
    hour  [calendars, ·, 2]  working units before a time; end of the window it lies in, 0 outside
    res   [r, 3]             axis (a calendar), row of the usage profile or -1, capacity
    span  [k, 5]             opens, closes (-1: none), length looked ahead, rows of what is excluded
    gap   [states, r, ·, 2]  free gaps of what serves one at a time, in units of its axis
    used  [states, ·, ·]     usage profiles of what serves several
    mark  [states, n]        1: placed
    sums  [states, GAPS + r + n]  waiting, broken units, weighted lateness, last end, gaps of
                             each resource, what waits
    at    [n, 2]             starts and ends

State 0 is at work, the others are remembered.
"""

# Numba's own integers, not Python's: the types below are true of what is compiled.
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from apps.planning.compiled import jit

inlined = njit(inline="always")

Ints = NDArray[np.int64]
Halves = NDArray[np.int32]
Bytes = NDArray[np.int8]
Floats = NDArray[np.float64]

FAR = 1 << 30
BLOCK = 16  # places of the order between two remembered states
UNPLACED = 5000  # units of broken rule for each activity that finds no place
LATE_SHARE, HALF = 0.35, 0.68  # of the moves: what is late; and all that go forward
REACH = 7.5  # moves go up to 2 ** REACH places, short ones oftener
CARRIED, WHOLE, ELAPSED = 0, 1, 2
FS, SS, FF, SF = 0, 1, 2, 3

# Columns of `act`.
WORK, KIND, CAL, WITHIN, RELEASE, DUE, WEIGHT = 0, 1, 2, 3, 4, 5, 6
PRED = 7  # rows (before, kind, min lag, max lag, clock): links from what comes before
SUCC = 9  # rows (after, kind, min lag, max lag, clock): links into what is fixed
USE = 11  # rows (resource, demand, least hold or -1, shortest gap that could do)
SHUT = 13  # rows (span): spans it is excluded from
OPENS = 15  # rows (span)
CLOSES = 17  # rows (span)
FOLLOW = 19  # rows (after, 0 from end or 1 from start, longest wait): it must not be too early
DEADLINE = 21  # end by which fixed activities want it
AIM = 22  # the due end, or the earliest possible one where that is later
ACT = 23

# Columns of `sums`.
WAITING, BROKEN, LATE, FINISH, GAPS = 0, 1, 2, 3, 4


@jit
def copy_state(gap: Ints, used: Ints, mark: Bytes, sums: Ints, to: int, source: int) -> None:
    for r in range(gap.shape[1]):
        for g in range(sums[source, GAPS + r]):
            gap[to, r, g, 0] = gap[source, r, g, 0]
            gap[to, r, g, 1] = gap[source, r, g, 1]
    for p in range(used.shape[1]):
        for u in range(used.shape[2]):
            used[to, p, u] = used[source, p, u]
    for i in range(mark.shape[1]):
        mark[to, i] = mark[source, i]
    for k in range(GAPS + gap.shape[1] + sums[source, WAITING]):
        sums[to, k] = sums[source, k]


@inlined
def end_of(act: Ints, unit: Halves, hour: Halves, i: int, start: int) -> int:
    """The end of activity `i` begun at `start`, a unit of its calendar; FAR past the horizon."""
    if act[i, KIND] != CARRIED:
        return start + act[i, WORK]
    last = hour[act[i, CAL], start, 0] + act[i, WORK] - 1
    if last >= unit.shape[1]:
        return FAR
    return np.int64(unit[act[i, CAL], last]) + 1


@inlined
def fit(act: Ints, unit: Halves, hour: Halves, i: int, at: int) -> int:
    """The first start at or after `at` that its own calendars allow; FAR: none."""
    cal, within, horizon = act[i, CAL], act[i, WITHIN], hour.shape[1] - 1
    while at < horizon:
        at = np.int64(unit[cal, hour[cal, at, 0]])
        if at >= horizon:
            return FAR
        if act[i, KIND] == WHOLE and hour[cal, at, 1] - at < act[i, WORK]:
            at = np.int64(hour[cal, at, 1])
            continue
        end = end_of(act, unit, hour, i, at)
        if end > horizon:
            return FAR
        if within >= 0 and hour[within, at, 1] < end:
            if hour[within, at, 1] == 0:
                at = np.int64(unit[within, hour[within, at, 0]])
            else:
                at = np.int64(hour[within, at, 1])
            continue
        return at
    return FAR


@inlined
def gap_of(gap: Ints, sums: Ints, r: int, begin: int) -> int:
    """The first gap of resource `r` that ends after `begin`."""
    low, high = 0, sums[0, GAPS + r]
    while low < high:
        middle = (low + high) // 2
        if gap[0, r, middle, 1] > begin:
            high = middle
        else:
            low = middle + 1
    return low


@inlined
def clear(
    act: Ints,
    row: Ints,
    unit: Halves,
    hour: Halves,
    res: Ints,
    gap: Ints,
    used: Ints,
    sums: Ints,
    i: int,
    start: int,
    end: int,
) -> int:
    """`start`, or a later time before which a resource leaves it no room."""
    horizon = hour.shape[1] - 1
    for at in range(act[i, USE], act[i, USE + 1]):
        r = row[at, 0]
        axis, profile = res[r, 0], res[r, 1]
        until = min(max(end, start + row[at, 2]), horizon)
        begin, stop = np.int64(hour[axis, start, 0]), np.int64(hour[axis, until, 0])
        if profile >= 0:
            for u in range(stop - 1, begin - 1, -1):
                if used[0, profile, u] + row[at, 1] > res[r, 2]:
                    return max(start + 1, np.int64(unit[axis, u]) + 1)
            continue
        low, count = gap_of(gap, sums, r, begin), sums[0, GAPS + r]
        if low < count and gap[0, r, low, 0] <= begin:
            if stop <= gap[0, r, low, 1]:
                continue
            low += 1
        while low < count and gap[0, r, low, 1] - gap[0, r, low, 0] < row[at, 3]:
            low += 1
        if low == count:
            return FAR
        return np.int64(unit[axis, gap[0, r, low, 0]])
    return start


@inlined
def take(
    act: Ints,
    row: Ints,
    hour: Halves,
    res: Ints,
    gap: Ints,
    used: Ints,
    sums: Ints,
    i: int,
    start: int,
    end: int,
) -> None:
    """Take from the resources what activity `i` needs."""
    horizon = hour.shape[1] - 1
    for at in range(act[i, USE], act[i, USE + 1]):
        r = row[at, 0]
        axis, profile = res[r, 0], res[r, 1]
        until = min(max(end, start + row[at, 2]), horizon)
        begin, stop = np.int64(hour[axis, start, 0]), np.int64(hour[axis, until, 0])
        if profile >= 0:
            for u in range(begin, stop):
                used[0, profile, u] += row[at, 1]
            continue
        low, count = gap_of(gap, sums, r, begin), sums[0, GAPS + r]
        if low == count or gap[0, r, low, 0] >= stop:
            continue  # not free at all: a fixed activity on top of another
        left, right = gap[0, r, low, 0] < begin, gap[0, r, low, 1] > stop
        if left and right:
            for g in range(count, low, -1):
                gap[0, r, g, 0] = gap[0, r, g - 1, 0]
                gap[0, r, g, 1] = gap[0, r, g - 1, 1]
            gap[0, r, low, 1] = begin
            gap[0, r, low + 1, 0] = stop
            sums[0, GAPS + r] = count + 1
        elif left:
            gap[0, r, low, 1] = begin
        elif right:
            gap[0, r, low, 0] = stop
        else:
            for g in range(low, count - 1):
                gap[0, r, g, 0] = gap[0, r, g + 1, 0]
                gap[0, r, g, 1] = gap[0, r, g + 1, 1]
            sums[0, GAPS + r] = count - 1


@inlined
def after_lag(unit: Halves, hour: Halves, time: int, lag: int, clock: int) -> int:
    """`time` plus a lag, on the wall (`clock` -1) or over a calendar's units; at most FAR."""
    if clock < 0 or lag == 0:
        return time + lag
    target = np.int64(hour[clock, min(time, hour.shape[1] - 1), 0]) + lag
    if target <= 0:
        return 0
    if target > unit.shape[1]:
        return FAR
    return min(np.int64(unit[clock, target - 1]) + 1, FAR)


@inlined
def too_much(hour: Halves, time: int, other: int, lag: int, clock: int) -> int:
    """By how many units `other` comes later than `lag` after `time`."""
    if lag >= FAR:
        return 0
    if clock < 0:
        return max(0, other - time - lag)
    last = hour.shape[1] - 1
    wait = np.int64(hour[clock, min(other, last), 0]) - np.int64(hour[clock, min(time, last), 0])
    return max(0, wait - lag)


@jit
def past_spans(
    act: Ints, row: Ints, span: Ints, mark: Bytes, at: Ints, i: int, start: int, end: int
) -> int:
    """`start`; a later time that open spans ask for; or -1: wait until a span is closed."""
    for of in range(act[i, SHUT], act[i, SHUT + 1]):
        k = row[of, 0]
        a, b = span[k, 0], span[k, 1]
        if a >= 0 and mark[0, a] == 0:
            continue
        opened = at[a, 0] if a >= 0 else 0
        if end <= opened:
            continue
        if b < 0:
            return FAR
        if mark[0, b] == 0:
            return -1
        if start < at[b, 1]:
            return at[b, 1]
    for of in range(act[i, OPENS], act[i, OPENS + 1]):
        k = row[of, 0]
        b = span[k, 1]
        closed = FAR
        if b >= 0:
            closed = at[b, 1] if mark[0, b] else start + span[k, 2]
        for x_of in range(span[k, 3], span[k, 4]):
            x = row[x_of, 0]
            if mark[0, x] and at[x, 1] > start and at[x, 0] < closed and at[x, 1] < FAR:
                return at[x, 1]
    return start


@jit
def overlap(row: Ints, span: Ints, mark: Bytes, at: Ints, k: int) -> int:
    """Units by which placed activities lie in a span that is closed now."""
    a, b = span[k, 0], span[k, 1]
    opened = at[a, 0] if a >= 0 else 0
    broken = 0
    for x_of in range(span[k, 3], span[k, 4]):
        x = row[x_of, 0]
        if mark[0, x]:
            broken += max(0, min(at[x, 1], at[b, 1]) - max(at[x, 0], opened))
    return broken


@jit
def misfit(act: Ints, row: Ints, unit: Halves, hour: Halves, at: Ints, i: int) -> int:
    """Units by which links at `i` are broken, towards what comes before and what is fixed."""
    broken = 0
    for of in range(act[i, PRED], act[i, PRED + 1]):
        if row[of, 3] < FAR:
            kind = row[of, 1]
            time = at[row[of, 0], 1 if kind == FS or kind == FF else 0]
            other = at[i, 0 if kind == FS or kind == SS else 1]
            broken += too_much(hour, time, other, row[of, 3], row[of, 4])
    for of in range(act[i, SUCC], act[i, SUCC + 1]):
        kind, clock = row[of, 1], row[of, 4]
        time = at[i, 1 if kind == FS or kind == FF else 0]
        other = at[row[of, 0], 0 if kind == FS or kind == SS else 1]
        broken += max(0, after_lag(unit, hour, time, row[of, 2], clock) - other)
        broken += too_much(hour, time, other, row[of, 3], clock)
    return broken


@jit
def ready(act: Ints, row: Ints, unit: Halves, hour: Halves, mark: Bytes, at: Ints, i: int) -> int:
    """The earliest start of an activity, as far as what comes before it is placed."""
    start = act[i, RELEASE]
    for of in range(act[i, PRED], act[i, PRED + 1]):
        j, kind = row[of, 0], row[of, 1]
        if mark[0, j] and at[j, 1] < FAR and (kind == FS or kind == SS):
            time = at[j, 1 if kind == FS else 0]
            start = max(start, after_lag(unit, hour, time, row[of, 2], row[of, 4]))
    return fit(act, unit, hour, i, start)


@jit
def place(
    act: Ints,
    row: Ints,
    unit: Halves,
    hour: Halves,
    res: Ints,
    span: Ints,
    gap: Ints,
    used: Ints,
    mark: Bytes,
    sums: Ints,
    at: Ints,
    i: int,
    force: bool,
) -> bool:
    """Put activity `i` at its first place; False: it has to wait for another."""
    start, low_end = max(0, act[i, RELEASE]), 0
    for of in range(act[i, PRED], act[i, PRED + 1]):
        j, kind = row[of, 0], row[of, 1]
        if mark[0, j] == 0:
            if force:
                continue
            return False
        time = at[j, 1 if kind == FS or kind == FF else 0]
        bound = after_lag(unit, hour, time, row[of, 2], row[of, 4])
        if kind == FS or kind == SS:
            start = max(start, bound)
        else:
            low_end = max(low_end, bound)
    for of in range(act[i, FOLLOW], act[i, FOLLOW + 1]):
        bound = ready(act, row, unit, hour, mark, at, row[of, 0]) - row[of, 2]
        if row[of, 1]:
            start = max(start, bound)
        else:
            low_end = max(low_end, bound)
    end = FAR
    while start < FAR:
        start = fit(act, unit, hour, i, start)
        if start >= FAR:
            break
        end = end_of(act, unit, hour, i, start)
        if end < low_end:
            start += 1
            continue
        then = clear(act, row, unit, hour, res, gap, used, sums, i, start, end)
        if then == start:
            then = past_spans(act, row, span, mark, at, i, start, end)
            if then < 0:
                if not force:
                    return False
                break
            if then == start:
                break
        start = then
    mark[0, i] = 1
    if start >= FAR:
        at[i, 0], at[i, 1] = FAR, FAR
        sums[0, BROKEN] += UNPLACED
        return True
    at[i, 0], at[i, 1] = start, end
    take(act, row, hour, res, gap, used, sums, i, start, end)
    broken = misfit(act, row, unit, hour, at, i)
    for of in range(act[i, CLOSES], act[i, CLOSES + 1]):
        broken += overlap(row, span, mark, at, row[of, 0])
    if force:
        broken += UNPLACED
    sums[0, BROKEN] += broken
    if end > act[i, DUE]:
        sums[0, LATE] += (end - act[i, DUE]) * act[i, WEIGHT]
    sums[0, FINISH] = max(sums[0, FINISH], end)
    return True


@jit
def decode(
    act: Ints,
    row: Ints,
    unit: Halves,
    hour: Halves,
    res: Ints,
    span: Ints,
    gap: Ints,
    used: Ints,
    mark: Bytes,
    sums: Ints,
    at: Ints,
    order: Ints,
    first: int,
    chosen: Ints,
    price: float,
    most: float,
) -> None:
    """Place the order from position `first` on, upon state 0; `sums` has the outcome.

    It stops as soon as cost plus `price` for each broken unit is more than `most`.

    The state before every BLOCK-th position goes to the row that `chosen` does not point to:
    1 + 2·block + (1 - chosen[block]). What has to wait is tried again after whatever is placed
    while anything waits; what waits for ever is put anywhere and counts as broken.
    """
    m, position, k, force = order.shape[0], first, -1, False
    queue = GAPS + gap.shape[1]
    while position < m or sums[0, WAITING]:
        if k >= 0:  # going through what waits
            if k >= sums[0, WAITING]:
                k = -1
                if position < m:
                    continue
                k, force = 0, True
            i = sums[0, queue + k]
        elif position < m:
            if position % BLOCK == 0 and position > first:
                block = position // BLOCK
                copy_state(gap, used, mark, sums, 1 + 2 * block + 1 - chosen[block], 0)
            i = order[position]
            position += 1
        else:
            k = 0
            continue
        fits = place(act, row, unit, hour, res, span, gap, used, mark, sums, at, i, force)
        force = False
        if sums[0, LATE] + sums[0, FINISH] + price * sums[0, BROKEN] > most:
            return
        if k >= 0:
            if fits:
                sums[0, WAITING] -= 1
                for later in range(k, sums[0, WAITING]):
                    sums[0, queue + later] = sums[0, queue + later + 1]
                k = 0
            else:
                k += 1
        elif not fits:
            sums[0, queue + sums[0, WAITING]] = i
            sums[0, WAITING] += 1
        elif sums[0, WAITING] and act[i, CLOSES] < act[i, CLOSES + 1]:
            k = 0


@jit
def pull(above: Halves, order: Ints, p: int, q: int, spare: Ints) -> None:
    """Bring the activity at `p` forward to `q` < `p`, with those that must come before it."""
    i, count, to = order[p], 0, q
    for k in range(q, p):
        j = order[k]
        if above[j, i]:
            order[to] = j
            to += 1
        else:
            spare[count] = j
            count += 1
    order[to] = i
    for k in range(count):
        order[to + 1 + k] = spare[k]


@jit
def push(above: Halves, order: Ints, p: int, q: int, spare: Ints) -> None:
    """Put the activity at `p` off to `q` > `p`, with those that must come after it."""
    i, count, to = order[p], 0, q
    for k in range(q, p, -1):
        j = order[k]
        if above[i, j]:
            order[to] = j
            to -= 1
        else:
            spare[count] = j
            count += 1
    order[to] = i
    for k in range(count):
        order[to - 1 - k] = spare[k]


@jit
def anneal(
    act: Ints,
    row: Ints,
    unit: Halves,
    hour: Halves,
    res: Ints,
    span: Ints,
    gap: Ints,
    used: Ints,
    mark: Bytes,
    sums: Ints,
    above: Halves,  # who comes before whom in every order
    at: Ints,  # [3, n, 2] at work, tried, best
    orders: Ints,  # [3, m] likewise
    score: Ints,  # [5] broken and cost at work, broken and cost of the best, 1 once begun
    chosen: Ints,
    heat: Floats,  # [3] temperature at the first and the last of these tries, price of a unit
    tries: int,
    seed: int,
) -> None:
    """Simulated annealing over orders: `tries` moves, the best kept in row 2.

    With `score[4]` at 0 the order at work is put down whole first.
    """
    m = orders.shape[1]
    spare = np.empty(m, np.int64)
    weight = np.empty(m, np.float64)
    if score[4] == 0:
        chosen[:] = 1
        copy_state(gap, used, mark, sums, 0, 1)
        decode(
            act, row, unit, hour, res, span, gap, used, mark, sums, at[0], orders[0],
            0, chosen, 0.0, math.inf,
        )  # fmt: skip
        chosen[:] = 0
        score[0], score[1], score[4] = sums[0, BROKEN], sums[0, LATE] + sums[0, FINISH], 1
        if score[0] < score[2] or (score[0] == score[2] and score[1] < score[3]):
            score[2], score[3] = score[0], score[1]
            orders[2] = orders[0]
            at[2] = at[0]
    np.random.seed(seed)
    for attempt in range(tries):
        warmth = heat[0] * (heat[1] / heat[0]) ** (attempt / tries)
        p = np.random.randint(0, m)
        chance = np.random.random()
        if chance < LATE_SHARE:  # something late, sooner
            total = 0.0
            for one in range(m):
                i = orders[0, one]
                weight[one] = max(0, at[0, i, 1] - act[i, AIM]) * act[i, WEIGHT]
                weight[one] += heat[2] * max(0, at[0, i, 1] - act[i, DEADLINE])
                total += weight[one]
            left = np.random.random() * total
            for one in range(m):
                left -= weight[one]
                if left < 0:
                    p = one
                    break
            q = int(p * np.random.random())
        else:
            reach = int(2.0 ** (np.random.random() * REACH))
            q = max(0, p - reach) if chance < HALF else min(m - 1, p + reach)
        first, last = min(p, q), max(p, q)
        orders[1, first : last + 1] = orders[0, first : last + 1]
        if q < p:
            pull(above, orders[1], p, q, spare)
        elif p < q:
            push(above, orders[1], p, q, spare)
        while first <= last and orders[1, first] == orders[0, first]:
            first += 1
        if first > last:
            continue
        block = first // BLOCK
        copy_state(gap, used, mark, sums, 0, 1 + 2 * block + chosen[block])
        at[1] = at[0]
        most = score[1] + heat[2] * score[0] - warmth * math.log(1.0 - np.random.random())
        decode(
            act, row, unit, hour, res, span, gap, used, mark, sums, at[1], orders[1],
            block * BLOCK, chosen, heat[2], most,
        )  # fmt: skip
        broken, cost = sums[0, BROKEN], sums[0, LATE] + sums[0, FINISH]
        if cost + heat[2] * broken <= most:
            score[0], score[1] = broken, cost
            orders[0, first : last + 1] = orders[1, first : last + 1]
            at[0] = at[1]
            for later in range(block + 1, chosen.shape[0]):
                chosen[later] = 1 - chosen[later]
            if broken < score[2] or (broken == score[2] and cost < score[3]):
                score[2], score[3] = broken, cost
                orders[2] = orders[0]
                at[2] = at[0]
        else:
            orders[1, first : last + 1] = orders[0, first : last + 1]


def warm() -> None:
    """Compile everything, by planning one activity."""
    from apps.planning.year.warm import plan_something  # noqa: PLC0415 (it imports this file)

    plan_something()
