"""Plan a house year: a compiled plan generator, annealing over its orders, exact windows in time.

Every worker anneals orders of its own at first; then, from the best plan of all, some anneal on
and others re-solve windows of some weeks to optimality. A lower bound is worked out meanwhile;
whoever meets it stops everybody. `docs/explanation/how-a-year-is-planned.md` has the mathematics.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from concurrent.futures import ThreadPoolExecutor
from time import perf_counter

import numpy as np

from apps.planning.problem import Problem, Stint
from apps.planning.year import kernels as k
from apps.planning.year.answer import YearAnswer
from apps.planning.year.board import Board
from apps.planning.year.bound import bound_of
from apps.planning.year.orders import first_orders
from apps.planning.year.states import Search, search_of
from apps.planning.year.sweep import cost_of, sweep
from apps.planning.year.tables import Ints, Tables, in_order, tables_of

GLANCE = 0.02  # seconds between two looks at the clock
EAGER_PRICE, PRICE = 200.0, 20.0  # of a broken unit: until a plan keeps all rules, and later
HOT, WARM, COLD = 100.0, 30.0, 2.0
FIRST_SHARE = 0.5  # of the time for the first cooling; later ones start warm
BOUND_AFTER = 0.1  # of the time, unless a plan is there sooner: the bound waits for it
RESERVE = 0.08  # seconds kept for handing over


def solve_year(
    problem: Problem,
    *,
    seconds: float,
    workers: int,
    seed: int = 1,
    start_from: Mapping[str, int] | None = None,
    free: Collection[str] | None = None,
    on_first: Callable[[YearAnswer], None] | None = None,
) -> YearAnswer:
    """The cheapest plan found in `seconds`: last end + Σ due_weight × units late.

    `start_from`: starts of an earlier plan, by key; a start that no longer fits is moved.
    `free`: the only activities that may move (None: all); the others keep the start given in
    `start_from`. `on_first` is called once, from a worker's thread, with the first plan that
    keeps every rule. Activities in mode "stints" that may be split are carried on: what they
    have begun goes on with the next hours of their calendars. Set-up and clear-up are added
    once to the effort.
    """
    started = perf_counter()
    kept = None
    if free is not None:
        kept = {key: at for key, at in (start_from or {}).items() if key not in free}
    t = tables_of(problem, kept)

    def tell(at: Ints) -> None:
        if on_first is not None:
            on_first(_answer(problem, t, board, at, 0))

    board = Board(started, max(0.0, seconds - RESERVE), tell)
    if t.fixed.all():
        board.post(0, cost_of(t, t.at), t.at)
        return _answer(problem, t, board, t.at, board.broken)
    orders = first_orders(t, start_from)
    with ThreadPoolExecutor(workers) as pool:
        work = [
            pool.submit(_work, t, board, orders, number, seed, start_from is not None)
            for number in range(workers)
        ]
        board.begun.wait(board.left * BOUND_AFTER)
        board.bound = bound_of(t)
        for one in work:
            one.result()
    broken, _, at = board.best()
    assert at is not None  # nosec B101 # it narrows a type
    return _answer(problem, t, board, at, broken)


def _work(t: Tables, board: Board, orders: list[Ints], number: int, seed: int, known: bool) -> None:
    """One worker's life: a first cooling, then windows or warmer coolings in turn."""
    search = search_of(t)
    search.put(_best_of(search, orders))
    board.post(int(search.score[2]), int(search.score[3]), search.at[2])
    luck = np.random.default_rng([seed, number])
    first = board.left * FIRST_SHARE
    _cool(search, board, WARM if known else HOT, first, luck)
    while board.left > 0:
        if number % 2 == 1:
            sweep(t, board, luck)
        _, _, at = board.best()
        if at is not None:
            search.put(in_order(t, at[:, 0].__getitem__))
        _cool(search, board, WARM, min(board.left, first / 2), luck)


def _best_of(search: Search, orders: list[Ints]) -> Ints:
    """The order whose plan breaks least, each put down once."""
    best, least = orders[0], None
    for order in orders:
        search.put(order)
        search.go(hot=1.0, cold=1.0, price=PRICE, tries=0, seed=1)
        worth = PRICE * search.score[0] + search.score[1]
        if least is None or worth < least:
            best, least = order, worth
    return best


def _cool(
    search: Search, board: Board, hot: float, seconds: float, luck: np.random.Generator
) -> None:
    """Anneal from `hot` to COLD in `seconds`; first of all, to a plan that keeps every rule."""
    begun, tries = perf_counter(), 10
    while True:
        share = (perf_counter() - begun) / max(seconds, 1e-9)
        if share >= 1 or board.left <= 0:
            return
        eager = search.score[2] > 0 and share < FIRST_SHARE
        warmth = hot * (COLD / hot) ** share
        looked = perf_counter()
        search.go(
            hot=WARM if eager else warmth,
            cold=WARM if eager else warmth,
            price=EAGER_PRICE if eager else PRICE,
            tries=tries,
            seed=int(luck.integers(1 << 30)),
        )
        tries = max(5, min(2 * tries, int(tries * GLANCE / (perf_counter() - looked))))
        board.post(int(search.score[2]), int(search.score[3]), search.at[2])


def _answer(problem: Problem, t: Tables, board: Board, at: Ints, broken: int) -> YearAnswer:
    spans = {
        key: (int(at[i, 0]), int(at[i, 1])) for i, key in enumerate(t.keys) if at[i, 1] < k.FAR
    }
    stints = sorted(
        (
            Stint(t.keys[i], begin, end)
            for i in range(t.n)
            if at[i, 1] < k.FAR
            for begin, end in _stints(t, i, int(at[i, 0]), int(at[i, 1]))
        ),
        key=lambda stint: (stint.start, stint.activity),
    )
    return YearAnswer(
        spans=spans,
        stints=tuple(stints),
        cost=cost_of(t, at),
        bound=board.bound,
        feasible=broken == 0 and len(spans) == t.n,
        seconds=perf_counter() - board.started,
        first_seconds=board.first_seconds,
        unplaced=tuple(a.key for a in problem.activities if a.key not in spans),
    )


def _stints(t: Tables, i: int, start: int, end: int) -> list[tuple[int, int]]:
    """What an activity's span is made of: its stretches of working units."""
    if t.act[i, k.KIND] != k.CARRIED or t.fixed[i]:
        return [(start, end)]
    cal = t.act[i, k.CAL]
    stints = []
    while start < end:
        stop = min(int(t.hour[cal, start, 1]), end)
        stints.append((start, stop))
        start = int(t.unit[cal, t.hour[cal, stop, 0]]) if stop < end else end
    return stints
