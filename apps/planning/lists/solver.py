"""The way in: problems without hours, solved by search and proof side by side.

Lists first: they are good within milliseconds. Then one thread tries to prove that nothing
shorter exists, or finds it, while the others search on; each takes over what the other finds.
Problems with longest waits, which lists cannot keep, are all constraint programming.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from apps.planning.problem import Problem

from .question import Question, question_of
from .race import Race
from .windows import Windows, crowded, narrow

if TYPE_CHECKING:
    from .breeding import Search

Status = Literal["proven", "found", "impossible", "not_found"]

LONGEST_AXIS = 200_000
BOUNDING = 0.1  # of the time, at most, for bounds without search where there are longest waits
HEAD_START = 0.04  # of the time, before the first proof is tried
LONGEST_HEAD_START = 0.2  # seconds
QUICK_SHARE = 0.2  # of the time, for a first proof of anything; longer only if it is near
PROOF_SHARE = 0.6
NEAR = 2  # above the bound: a proof may still come
SMALL = 70  # activities; up to here one may come anyway, and there is little left to find


@dataclass(frozen=True, slots=True)
class ListAnswer:
    """A schedule, or why there is none.

    Attributes:
        starts: of each activity in the problem's order; empty if there is no schedule.
        makespan: the end of the last; None if there is no schedule.
        bound: no schedule is shorter.
        status: "proven" is shortest; "found" may not be; "impossible" is proven too;
            "not_found" is neither a schedule nor a proof that there is none.
        seconds: on the clock, all in all.
        first_seconds: when the first schedule was there.
    """

    starts: tuple[int, ...]
    makespan: int | None
    bound: int
    status: Status
    seconds: float
    first_seconds: float | None


def prepare() -> None:
    """Load, and the first time compile, what a solve needs, so that it is not on its clock."""
    from . import kernels, proof  # noqa: F401, PLC0415 (numba and OR-Tools, half a second each)

    kernels.warm()


def solve_lists(problem: Problem, *, seconds: float, workers: int, seed: int = 1) -> ListAnswer:
    """The shortest schedule that can be found in so many seconds on the clock.

    Raises:
        ValueError: for what only the house's planner covers (`question_of`).
    """
    question = question_of(problem)
    race = Race(question, seconds)
    windows = _narrowed(question, race)
    if not question.size:
        race.found(())
    if windows is not None and not race.over:
        _solve(question, windows, race, workers, seed)
    return _answer(race)


def _narrowed(question: Question, race: Race) -> Windows | None:
    """Windows of the horizon, and a first bound; None if nothing can end by it."""
    fits = all(
        units <= capacity
        for demand in question.demands
        for units, capacity in zip(demand, question.capacities, strict=True)
    )
    windows = narrow(question, question.horizon, race.deadline) if fits else None
    if windows is None:
        race.nothing_by(question.horizon)
        return None
    race.bounded(max(windows.bound, crowded(question, windows)))
    if race.bound > question.horizon:
        race.nothing_by(question.horizon)
    return windows


def _raise_bound(question: Question, race: Race, until: float) -> None:
    """Refute limits by their windows alone: in growing steps, then halving."""
    low, high, step = race.bound, race.end, 1
    while low < high and time.perf_counter() < until:
        limit = min(low + step, high) - 1
        if narrow(question, limit, until) is None:
            race.nothing_by(limit)
            low, step = limit + 1, 2 * step
        else:
            high, step = limit, max(1, (limit - low) // 2)


def _solve(question: Question, windows: Windows, race: Race, workers: int, seed: int) -> None:
    from .net import net_of, topological  # noqa: PLC0415 (numba, half a second)

    order = topological(question)
    if order is None or question.horizon > LONGEST_AXIS:
        _prove_from_both_ends(question, race, workers, seed)
        return
    from .breeding import Search  # noqa: PLC0415 (likewise)

    net = net_of(question, order)
    searches = [
        Search(net, order, windows, race, seed=seed * 100 + worker) for worker in range(workers)
    ]
    others = [threading.Thread(target=search.go_on) for search in searches[2:]]
    if workers > 1:
        others.append(
            threading.Thread(target=_search_and_prove, args=(question, race, searches[1]))
        )
    for thread in others:
        thread.start()
    if workers > 1:
        searches[0].go_on()
    else:
        _search_and_prove(question, race, searches[0])
    for thread in others:
        thread.join()


def _search_and_prove(question: Question, race: Race, search: Search) -> None:
    """A little search, then proof for its share of the time, then search again."""
    search.go_on(race.begun + min(HEAD_START * race.seconds_given, LONGEST_HEAD_START))
    until = race.begun + (1.0 if question.size <= SMALL else QUICK_SHARE) * race.seconds_given
    _raise_bound(question, race, until)
    _prove_until(question, race, search, until)
    if race.end - race.bound <= NEAR:
        _prove_until(question, race, search, race.begun + PROOF_SHARE * race.seconds_given)
    search.go_on()


def _prove_until(question: Question, race: Race, search: Search, until: float) -> None:
    while not race.over and (left := until - time.perf_counter()) > 0:
        prove(question, race, race.end - 1, left, 1, search.seed)


def _prove_from_both_ends(question: Question, race: Race, workers: int, seed: int) -> None:
    """One worker tries the shortest that may be, then one more, and so on; the rest come down.

    With longest waits the shortest schedule often is close to the bound, and the windows of a
    limit that is close to it leave little to search.
    """
    _raise_bound(question, race, race.begun + BOUNDING * race.seconds_given)
    climber = threading.Thread(target=_climb, args=(question, race, seed))
    if workers > 1:
        climber.start()
    while not race.over:
        prove(question, race, race.end - 1, race.left, max(1, workers - 1), seed)
    if workers > 1:
        climber.join()


def _climb(question: Question, race: Race, seed: int) -> None:
    while not race.over:
        prove(question, race, race.bound, race.left, 1, seed)


def prove(
    question: Question, race: Race, limit: int, seconds: float, workers: int, seed: int
) -> None:
    """Ask for a schedule by a limit, until some seconds are over or somebody has one."""
    from .proof import Proof  # noqa: PLC0415 (OR-Tools, half a second)

    until = time.perf_counter() + seconds
    narrowed = narrow(question, limit, until)
    if narrowed is None:
        race.nothing_by(limit)
        return
    if race.over:
        return
    proof = Proof(question, narrowed, limit, race.bound, race.best)
    race.proofs.append(proof)
    verdict = proof.run(
        seconds=max(0.001, until - time.perf_counter()),
        workers=workers,
        seed=seed,
        found=lambda starts: race.found(starts, proof),
        bounded=race.bounded,
    )
    race.proofs.remove(proof)
    if verdict == "closed":
        race.nothing_by(min(limit, race.end - 1))


def _answer(race: Race) -> ListAnswer:
    status: Status = "not_found"
    if race.best is not None:
        status = "proven" if race.end <= race.bound else "found"
    elif race.impossible:
        status = "impossible"
    return ListAnswer(
        starts=race.best or (),
        makespan=race.end if race.best is not None else None,
        bound=race.bound,
        status=status,
        seconds=race.seconds,
        first_seconds=race.first_seconds,
    )
