"""Windows of some weeks, re-solved to optimality one after another over the best plan."""

from __future__ import annotations

import numpy as np

from apps.planning.year import kernels as k
from apps.planning.year.board import Board
from apps.planning.year.tables import Ints, Tables
from apps.planning.year.windows import improve

TASKS = 40  # wanted in a window
LONGEST = 2.0  # seconds for one window
SPARE = 0.2  # seconds before the end in which none is begun


def sweep(t: Tables, board: Board, luck: np.random.Generator) -> None:
    """One pass over the plan from a random phase, each window about half over the one before."""
    broken, _, at = board.best()
    if broken or at is None:
        return
    free = np.flatnonzero(~t.fixed)
    begins = np.sort(at[free, 0])
    size = int(luck.integers(TASKS // 2, TASKS * 3 // 2))
    first = -int(luck.integers(size))
    for where in range(first, len(begins), max(1, size // 2)):
        begin = int(begins[max(0, where)])
        end = int(begins[where + size]) if where + size < len(begins) else t.horizon
        _, _, at = board.best()
        if board.left < SPARE or at is None:
            return
        inside = within(t, at, begin, end)
        if len(inside) < 2:
            continue
        better = improve(
            t,
            at,
            inside,
            begin=begin,
            end=min(end, int(at[:, 1].max())),
            seconds=min(LONGEST, 0.7 * board.left),
            seed=int(luck.integers(1 << 30)),
        )
        if better.at is not None:
            board.post(0, cost_of(t, better.at), better.at)


def within(t: Tables, at: Ints, begin: int, end: int) -> list[int]:
    """The activities that may move and lie wholly in [begin, end)."""
    inside = ~t.fixed & (at[:, 0] >= begin) & (at[:, 1] <= end)
    return [int(i) for i in np.flatnonzero(inside)]


def cost_of(t: Tables, at: Ints) -> int:
    """Last end plus weighted lateness of what is placed."""
    placed = at[:, 1] < k.FAR
    late = np.maximum(0, at[:, 1] - t.act[:, k.DUE]) * t.act[:, k.WEIGHT]
    return int(at[placed, 1].max(initial=0) + late[placed].sum())
