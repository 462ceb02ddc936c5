"""Published project instances in their two text layouts, as problems of the planner.

`.sm`: single-mode PSPLIB, R. Kolisch, A. Sprecher, "PSPLIB - a project scheduling problem
library", European Journal of Operational Research 96 (1996) 205-216. Every job must end before
its successors start. `.sch`: ProGen/max, C. Schwindt (1998): waits from start to start, of which
a negative one bounds the other way round.

The first and the last job are dummies without work; they stay, as activities of effort 0, so
that answers have as many starts as the file has jobs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from apps.planning.problem import Activity, Link, Problem, Ref, Resource

MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class _Job:
    successors: tuple[int, ...]
    lags: tuple[int, ...]  # .sch only
    duration: int
    demand: tuple[int, ...]


def read_project(text: str) -> Problem:
    """Read either layout.

    Raises:
        ValueError: a sentence with the line and what is wrong with it.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise ValueError("It is empty.")
    heads = any(line.upper().startswith("PRECEDENCE RELATIONS") for _, line in lines)
    return _read_sm(lines) if heads else _read_sch(lines)


Lines = Sequence[tuple[int, str]]


def _read_sm(lines: Lines) -> Problem:
    order = _section(lines, "PRECEDENCE RELATIONS", 1)
    work = _section(lines, "REQUESTS/DURATIONS", 1)
    offers = _section(lines, "RESOURCEAVAILABILITIES", 1)
    if len(offers) != 1:
        raise ValueError("RESOURCEAVAILABILITIES must have one line of capacities.")
    capacities = _numbers(*offers[0])
    if len(order) != len(work):
        raise ValueError(f"It orders {len(order)} jobs and describes {len(work)}.")
    jobs = []
    for job, ((at, line), (at_work, line_work)) in enumerate(zip(order, work, strict=True), 1):
        head = _numbers(at, line)
        row = _numbers(at_work, line_work)
        if len(head) < 3 or head[0] != job or head[1] != 1 or len(head) != 3 + head[2]:
            raise ValueError(f"Line {at}: not job {job} with one mode and its successors.")
        if len(row) != 3 + len(capacities) or row[:2] != (job, 1):
            raise ValueError(f"Line {at_work}: not job {job}, mode 1, a duration and demands.")
        if any(not 1 <= other <= len(order) for other in head[3:]):
            raise ValueError(f"Line {at}: a successor that is no job.")
        jobs.append(_Job(tuple(other - 1 for other in head[3:]), (), row[2], row[3:]))
    links = [Link(str(i + 1), str(j + 1)) for i, job in enumerate(jobs) for j in job.successors]
    horizon = sum(job.duration for job in jobs)
    return _problem(jobs, links, capacities, horizon, first=1)


def _section(lines: Lines, title: str, heads: int) -> Lines:
    """The lines of a section, without its `heads` lines of column names and the rules."""
    begin = next((k for k, (_, line) in enumerate(lines) if line.startswith(title)), None)
    if begin is None:
        raise ValueError(f"It has no section {title}.")
    found = []
    for at, line in lines[begin + 1 + heads :]:
        if line.startswith("*"):
            break
        if not line.lstrip().startswith("-"):
            found.append((at, line))
    return found


def _read_sch(lines: Lines) -> Problem:
    head = _numbers(*lines[0])
    if len(head) < 2:
        raise ValueError(f"Line {lines[0][0]}: not the numbers of activities and resources.")
    count, kinds = head[0] + 2, head[1]
    if len(lines) != 2 * count + 2:
        raise ValueError(f"It should have {2 * count + 2} lines and has {len(lines)}.")
    capacities = _numbers(*lines[-1])
    if len(capacities) != kinds:
        raise ValueError(f"Line {lines[-1][0]}: not {kinds} capacities.")
    jobs = []
    for job in range(count):
        at, line = lines[1 + job]
        row = _numbers(at, line.replace("[", " ").replace("]", " "), least=-MOST)
        if len(row) < 3 or row[:2] != (job, 1) or row[2] < 0 or len(row) != 3 + 2 * row[2]:
            raise ValueError(f"Line {at}: not activity {job}, its successors and their waits.")
        successors, lags = row[3 : 3 + row[2]], row[3 + row[2] :]
        if any(not 0 <= other < count for other in successors):
            raise ValueError(f"Line {at}: a successor that is no activity.")
        at, line = lines[1 + count + job]
        work = _numbers(at, line)
        if len(work) != 3 + kinds or work[:2] != (job, 1):
            raise ValueError(f"Line {at}: not activity {job}, mode 1, a duration and demands.")
        jobs.append(_Job(successors, lags, work[2], work[3:]))
    links = [
        Link(str(i), str(j), "SS", lag) if lag >= 0 else Link(str(j), str(i), "SS", -MOST, -lag)
        for i, job in enumerate(jobs)
        for j, lag in zip(job.successors, job.lags, strict=True)
    ]
    # If there is a schedule, there is one in which every stretch is somebody's work or wait.
    horizon = sum(max((job.duration, *job.lags)) for job in jobs)
    return _problem(jobs, links, capacities, horizon, first=0)


def _problem(
    jobs: list[_Job], links: list[Link], capacities: tuple[int, ...], horizon: int, first: int
) -> Problem:
    keys = [f"R{kind}" for kind in range(1, len(capacities) + 1)]
    return Problem(
        origin=datetime(2026, 1, 1, tzinfo=UTC),
        horizon=horizon,
        activities=tuple(
            Activity(
                str(number),
                Ref("job", number, str(number)),
                effort=job.duration,
                uses=tuple(key for key, units in zip(keys, job.demand, strict=True) if units),
                demand=tuple(units for units in job.demand if units),
                mode="elapsed",
                splittable=False,
            )
            for number, job in enumerate(jobs, first)
        ),
        links=tuple(links),
        resources=tuple(
            Resource(key, key, "tool", capacity)
            for key, capacity in zip(keys, capacities, strict=True)
        ),
    )


def _numbers(at: int, line: str, least: int = 0) -> tuple[int, ...]:
    numbers = []
    for word in line.split():
        digits = word.removeprefix("-")
        if not (digits.isascii() and digits.isdecimal() and len(digits) < 8):
            raise ValueError(f"Line {at}: {word[:20]!r} is not a whole number.")
        if not least <= int(word) <= MOST:
            raise ValueError(f"Line {at}: {word} is not between {least} and {MOST}.")
        numbers.append(int(word))
    return tuple(numbers)
