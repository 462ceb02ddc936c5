"""Compiled: schedules from lists, justification, and a population that breeds lists.

Times are int64. Resources are packed: each is a field of some bits in an unsigned word, the
top bit of every field kept clear as a guard, so that one subtraction asks whether all of them
suffice: `(free | guard) - need` keeps every guard bit if and only if they do.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from apps.planning.compiled import jit

Ints = npt.NDArray[np.int64]
Words = npt.NDArray[np.uint64]
Floats = npt.NDArray[np.float64]

PROBES = 2  # stretches looked at before one is kept
NOISY = 0.6  # share of children whose keys are blurred,
NEAR = 0.35  # and how far, in mean durations: three even draws, each at most half of it
THROWN = 1.0  # activities thrown elsewhere, on average, in each child,
FAR = 7.0  # and how far, in the same measure
LITTER = 40  # members founded at a time
RIVALS = 5  # a child takes the place of the worst of one more than these


class Arcs(NamedTuple):
    """Waits: for activity i, those in `first[i]:first[i + 1]`, start(i) >= start(other) + lag."""

    first: Ints
    other: Ints
    lag: Ints


class Net(NamedTuple):
    """Activities in topological order, as the kernels read them.

    Attributes:
        dur: length of each activity [n].
        need: packed demand [n, words].
        free: packed capacity [words].
        guard: the guard bits of each word [words].
        behind: what each waits for.
        ahead: the same with time running backwards.
        energy: what an activity takes of the resources, as a weight [n].
        horizon: longer than any list schedule.
    """

    dur: Ints
    need: Words
    free: Words
    guard: Words
    behind: Arcs
    ahead: Arcs
    energy: Floats
    horizon: int


class Bench(NamedTuple):
    """Room to work in, so that no schedule has to ask for memory."""

    room: Words
    order: Ints
    turned: Ints
    seen: Ints
    stack: Ints
    tally: Ints
    keys: Floats


@jit
def bench(net: Net) -> Bench:
    n = len(net.dur)
    return Bench(
        np.empty((net.horizon, len(net.free)), np.uint64),
        np.empty(n, np.int64),
        np.empty(n, np.int64),
        np.empty(n, np.int64),
        np.empty(n + len(net.behind.other) + 1, np.int64),
        np.empty(net.horizon + 2, np.int64),
        np.empty(n, np.float64),
    )


@jit
def chance(state: Words) -> float:
    """The next of a seeded stream, from 0 to below 1: xorshift64*, S. Vigna 2016."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    mixed = x * np.uint64(2685821657736338717)
    return float(mixed >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@jit
def below(state: Words, n: int) -> int:
    return int(chance(state) * n)


@jit
def last_clash(net: Net, i: int, begin: int, end: int, free: Words) -> int:
    """The last time in [begin, end) at which activity i does not fit; begin - 1 if it fits."""
    p = end - 1
    while p >= begin:
        for w in range(len(net.guard)):
            guard = net.guard[w]
            if ((free[p, w] | guard) - net.need[i, w]) & guard != guard:
                return p
        p -= 1
    return p


@jit
def place(net: Net, arcs: Arcs, order: Ints, start: Ints, free: Words) -> int:
    """Serial schedule generation: each in the order of the list as soon as it fits."""
    finish = 0
    clean = 0  # from here on `free` is left from another schedule
    for i in order:
        t = 0
        for a in range(arcs.first[i], arcs.first[i + 1]):
            t = max(t, start[arcs.other[a]] + arcs.lag[a])
        checked = t
        while True:
            end = t + net.dur[i]
            while clean < end:
                free[clean] = net.free
                clean += 1
            clash = last_clash(net, i, checked, end, free)
            if clash < checked:
                break
            checked = end
            t = clash + 1
        for p in range(t, end):
            for w in range(len(net.free)):
                free[p, w] -= net.need[i, w]
        start[i] = t
        finish = max(finish, end)
    return finish


@jit
def by_time(time: Ints, count: Ints, order: Ints) -> None:
    """Indices in the order of their times; equal ones as they are numbered."""
    top = time.max()
    count[: top + 2] = 0
    for t in time:
        count[t + 1] += 1
    for t in range(top + 1):
        count[t + 1] += count[t]
    for i in range(len(time)):
        order[count[time[i]]] = i
        count[time[i]] += 1


@jit
def back_and_forth(net: Net, start: Ints, end: int, desk: Bench) -> int:
    """Push everything as late as it goes, then as early: never longer, often shorter.

    Double justification, V. Valls, F. Ballestín, S. Quintanilla, EJOR 165 (2005).
    """
    turned = desk.turned
    for i in range(len(start)):
        turned[i] = end - start[i] - net.dur[i]
    by_time(turned, desk.tally, desk.order)
    late = place(net, net.ahead, desk.order, turned, desk.room)
    for i in range(len(start)):
        start[i] = late - turned[i] - net.dur[i]
    by_time(start, desk.tally, desk.order)
    return place(net, net.behind, desk.order, start, desk.room)


@jit
def by_key(keys: Floats, rank: Ints) -> None:
    """Indices in the order of their keys, by Shell's sort: numpy's takes seconds to compile."""
    n = len(keys)
    for i in range(n):
        rank[i] = i
    gap = 1
    while 3 * gap + 1 < n:
        gap = 3 * gap + 1
    while gap > 0:
        for i in range(gap, n):
            moved = rank[i]
            j = i
            while j >= gap and keys[rank[j - gap]] > keys[moved]:
                rank[j] = rank[j - gap]
                j -= gap
            rank[j] = moved
        gap //= 3


@jit
def list_by_keys(net: Net, desk: Bench) -> None:
    """Activities by their keys, each after what comes before it."""
    seen, stack, arcs = desk.seen, desk.stack, net.behind
    rank = desk.turned
    by_key(desk.keys, rank)
    seen[:] = 0
    k = 0
    for wanted in rank:
        depth = 0
        stack[0] = wanted
        while depth >= 0:
            i = stack[depth]
            if seen[i] == 0:
                seen[i] = 1
                for a in range(arcs.first[i], arcs.first[i + 1]):
                    if seen[arcs.other[a]] == 0:
                        depth += 1
                        stack[depth] = arcs.other[a]
            else:
                if seen[i] == 1:
                    seen[i] = 2
                    desk.order[k] = i
                    k += 1
                depth -= 1


@jit
def make(net: Net, start: Ints, desk: Bench) -> int:
    """From the keys on the bench to a schedule, pushed to and fro once; its end.

    Once is enough: the time is better spent on another child.
    """
    list_by_keys(net, desk)
    end = place(net, net.behind, desk.order, start, desk.room)
    return back_and_forth(net, start, end, desk)


@jit
def busiest(net: Net, start: Ints, end: int, state: Words) -> tuple[int, int]:
    """Of a few stretches of a schedule, the one with the most work in it for its length."""
    best = -1.0
    kept = (0, 0)
    for _ in range(PROBES):
        length = int((0.1 + 0.4 * chance(state)) * end) + 1
        begin = int((end + length) * chance(state)) - length
        stop = min(begin + length, end)
        begin = max(begin, 0)
        busy = 0.0
        for i in range(len(start)):
            over = min(stop, start[i] + net.dur[i]) - max(begin, start[i])
            if over > 0:
                busy += net.energy[i] * over / net.dur[i]
        busy /= stop - begin + 1
        if busy > best:
            best = busy
            kept = (begin, stop)
    return kept


@jit
def cross(net: Net, starts: Ints, ends: Ints, a: int, b: int, state: Words, keys: Floats) -> None:  # noqa: PLR0917 (numba takes no keywords)
    """Keys that keep a busy stretch of schedule a and follow b around it."""
    begin, stop = busiest(net, starts[a], ends[a], state)
    scale = ends[a] / max(ends[b], 1)
    mean = net.dur.mean()
    near = NEAR * mean if chance(state) < NOISY else 1e-3
    for i in range(len(keys)):
        s = starts[a, i]
        keys[i] = s if begin <= s < stop else starts[b, i] * scale
        width = FAR * mean if chance(state) * len(keys) < THROWN else near
        keys[i] += width * (chance(state) + chance(state) + chance(state) - 1.5)


@jit
def tournament(ends: Ints, state: Words) -> int:
    a = below(state, len(ends))
    b = below(state, len(ends))
    return b if ends[b] < ends[a] else a


@jit
def replace(starts: Ints, ends: Ints, child: Ints, end: int, state: Words) -> None:
    """Put a child in the place of the worst of a few, unless it is there already."""
    loser = below(state, len(ends))
    for _ in range(RIVALS):
        rival = below(state, len(ends))
        if ends[rival] > ends[loser]:
            loser = rival
    if end > ends[loser]:
        return
    for m in range(len(ends)):
        if ends[m] == end:
            same = 0
            while same < len(child) and starts[m, same] == child[same]:
                same += 1
            if same == len(child):
                return
    ends[loser] = end
    starts[loser] = child


@jit
def breed(net: Net, starts: Ints, ends: Ints, state: Words, births: int, floor: int) -> None:
    """Steady-state breeding: starts [members, n] and ends [members] change in place.

    Stops after so many births, or at once when a schedule ends by `floor`. `state` is the
    stream of chance.
    """
    members, n = starts.shape
    desk = bench(net)
    child = np.empty(n, np.int64)
    for _ in range(births):
        a = tournament(ends, state)
        b = tournament(ends, state)
        if a == b:
            b = (b + 1 + below(state, members - 1)) % members
        cross(net, starts, ends, a, b, state, desk.keys)
        end = make(net, child, desk)
        replace(starts, ends, child, end, state)
        if end <= floor:
            break


@jit
def found(net: Net, tails: Ints, starts: Ints, ends: Ints, state: Words, first: int) -> None:
    """New members from `first` on, one litter: longest tail first, with noise.

    The later the member, the more noise.
    """
    desk = bench(net)
    most = 0.5 * tails.max() / len(ends)
    for m in range(first, min(first + LITTER, len(ends))):
        for i in range(len(tails)):
            desk.keys[i] = m * most * chance(state) - tails[i]
        ends[m] = make(net, starts[m], desk)


def warm() -> None:
    """Compile everything: two activities, one after the other."""
    none, one = np.array([0, 0, 1]), np.array([1])
    net = Net(
        np.array([1, 1]),
        np.ones((2, 1), np.uint64),
        np.ones(1, np.uint64),
        np.array([2], np.uint64),
        Arcs(none, np.array([0]), one),
        Arcs(np.array([0, 1, 1]), np.array([1]), one),
        np.ones(2),
        5,
    )
    starts, ends, state = np.zeros((2, 2), np.int64), np.zeros(2, np.int64), np.ones(1, np.uint64)
    found(net, np.array([2, 1]), starts, ends, state, 0)
    breed(net, starts, ends, state, 1, 0)
