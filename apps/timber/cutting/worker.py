"""A second process, so that a second core can search.

The main process sends components and a moment on the machine's steady clock, this one sends
back what it found until then. It is started only when a solve is worth it, with the same
interpreter; where that cannot be done, the main process goes on alone. What travels through the
pipe is made by this program on both ends.
"""

from __future__ import annotations

import os
import pickle  # nosec B403 # between our own processes
import subprocess  # nosec B404 # starts this program only
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

from apps.timber.cutting.components import Component
from apps.timber.cutting.plans import Plan, ranks
from apps.timber.cutting.problem import LevelName
from apps.timber.cutting.search import Found, Search, settle_all


@dataclass(frozen=True, slots=True)
class Job:
    """Components with a plan each to begin with, the levels, and until when."""

    components: tuple[Component, ...]
    plans: tuple[Plan, ...]
    names: tuple[LevelName, ...]
    end: float
    seed: int

    def proven(self, found: Found, component: Component) -> bool:
        """Whether nothing asked for can be better in this answer to a component."""
        asked = len(ranks(component)) + len(self.names) - 1
        return all(level.value == level.bound for level in found.levels[:asked])


class Worker:
    """A job under way in a process of its own."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._answer: list[Found] = []
        self._process: subprocess.Popen[bytes] | None = None
        environment = dict(os.environ, PYTHONPATH=os.pathsep.join(sys.path))
        try:
            self._process = subprocess.Popen(  # noqa: S603  # nosec B603 # starts this program only
                [sys.executable, "-c", f"from {__name__} import serve; serve()"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment,
            )
        except OSError:
            return
        self._talk = threading.Thread(target=self._exchange, args=(pickle.dumps(job),), daemon=True)
        self._talk.start()

    def _exchange(self, job: bytes) -> None:
        """Send the job; keep the last answer that came whole."""
        process = self._process
        assert process is not None  # nosec B101 # it narrows a type
        assert process.stdin is not None  # nosec B101 # it narrows a type
        assert process.stdout is not None  # nosec B101 # it narrows a type
        with suppress(OSError, EOFError, pickle.UnpicklingError), process.stdin as there:
            there.write(job)
            there.close()
            while True:
                self._answer = pickle.load(process.stdout)  # noqa: S301  # nosec B301 # from our own process
        process.stdout.close()
        process.wait()

    @property
    def proved(self) -> bool:
        """Whether it has proven all of its last answer."""
        return bool(self._answer) and all(map(self._job.proven, self._answer, self._job.components))

    def finish(self, end: float) -> list[Found]:
        """What it found, at the latest at `end`; nothing if it has not answered by then."""
        if self._process is None:
            return []
        self._talk.join(max(0.0, end - time.perf_counter()))
        self._process.kill()
        self._talk.join()
        return self._answer


def work_off(
    job: Job,
    now: Callable[[], float] = time.perf_counter,
    report: Callable[[list[Found]], None] = lambda found: None,
) -> list[Found]:
    """Do a job here and now; `report` hears what was found after every level."""
    searches = [Search(component, seed=job.seed, now=now) for component in job.components]
    for search, plan in zip(searches, job.plans, strict=True):
        search.work.continue_from(plan)

    def found() -> list[Found]:
        return [search.found() for search in searches]

    settle_all(searches, job.names, job.end, lambda: report(found()))
    return found()


HEAD_START_SECONDS = 0.05
"""What is solved by then is not worth a second process, which takes about 0.2 s to start."""

LEAST_SECONDS = 0.4
"""Nor is what has to be answered in less than this."""


def work_together(job: Job, begun: float) -> list[Found]:
    """Do a job with a second process, if it takes long enough to need one.

    Several components are shared out; where one is most of the work, both search that one, each
    with its own chances, and the first to prove its answer ends it.
    """
    sizes = [len(component.items) for component in job.components]
    order = sorted(range(len(sizes)), key=lambda number: -sizes[number])
    if not sizes or 2 * sizes[order[0]] > sum(sizes):
        return _both_at_one(job, order[:1], begun)
    mine: list[int] = []
    yours: list[int] = []
    for number in order:
        lighter = min((mine, yours), key=lambda share: sum(sizes[n] for n in share))
        lighter.append(number)
    if sum(sizes) < WORTH_SHARING or job.end - begun < LEAST_SECONDS:
        return work_off(job)
    worker = Worker(_part(job, yours, job.seed))
    found = dict(zip(mine, work_off(_part(job, mine, job.seed)), strict=True))
    found |= dict(zip(yours, worker.finish(job.end), strict=False))
    # A process that did not answer: first fit is still there.
    rest = [number for number in yours if number not in found]
    found |= dict(zip(rest, work_off(_part(job, rest, job.seed)), strict=True))
    return [found[number] for number in range(len(sizes))]


WORTH_SHARING = 50
"""Fewer items than this in all are solved before a second process has started."""


def _part(job: Job, numbers: list[int], seed: int) -> Job:
    return replace(
        job,
        components=tuple(job.components[number] for number in numbers),
        plans=tuple(job.plans[number] for number in numbers),
        seed=seed,
        end=job.end - ANSWER_SECONDS,
    )


ANSWER_SECONDS = 0.02
"""Kept back for putting answers together and sending them."""


def _both_at_one(job: Job, largest: list[int], begun: float) -> list[Found]:
    workers: list[Worker] = []

    def now() -> float:
        moment = time.perf_counter()
        if not workers:
            if moment - begun > HEAD_START_SECONDS and job.end - moment > LEAST_SECONDS:
                workers.append(Worker(_part(job, largest, job.seed + 1)))
        elif workers[0].proved:
            return job.end
        return moment

    found = work_off(job, now)
    for worker in workers:
        end = 0.0 if all(map(job.proven, found, job.components)) else job.end
        for number, answer in zip(largest, worker.finish(end), strict=False):
            found[number] = better(found[number], answer)
    return found


def better(one: Found, other: Found) -> Found:
    """The better of two answers to one component, with the bounds of both where both hold.

    A bound holds for plans as good on the levels before it, so one search's bound helps the
    other only as far as the two agree.
    """
    first, second = sorted((one, other), key=lambda found: [level.value for level in found.levels])
    levels = list(first.levels)
    for place, (level, match) in enumerate(zip(first.levels, second.levels, strict=True)):
        bound = min(level.value, max(level.bound, match.bound))
        levels[place] = type(level)(level.value, bound)
        if level.value != match.value:
            break
    return Found(first.plan, tuple(levels))


def serve() -> None:
    """Read a job, do it, write the answer after every level: all the second process does."""
    job = pickle.loads(sys.stdin.buffer.read())  # noqa: S301  # nosec B301 # from our own process

    def report(found: list[Found]) -> None:
        sys.stdout.buffer.write(pickle.dumps(found))
        sys.stdout.buffer.flush()

    work_off(job, report=report)
