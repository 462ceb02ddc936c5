"""Reads a published project file and checks a schedule of it: nothing shared with the engine.

For the tests and `tests/benchmarks/rcpsp_speed.py`. Written from the published description of
the two layouts; every rule is looked at unit of time by unit of time.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Project:
    """Demands are [job][resource]; waits (before, after, lag), from start to start."""

    durations: list[int]
    demands: list[list[int]]
    capacities: list[int]
    waits: list[tuple[int, int, int]]


def read(text: str) -> Project:
    return _sm(text) if "PRECEDENCE" in text else _max(text)


def _sm(text: str) -> Project:
    blocks = [
        [[int(word) for word in line.split()] for line in block.splitlines() if line.strip()]
        for block in re.findall(
            r"(?:successors|R 4|R 3  R 4|-{10,})\s*\n((?:[ \t]*\d[\d \t]*\n)+)", text
        )
    ]
    order, work = [block for block in blocks if len(block) > 1]
    capacities = [
        int(word) for word in text.split("RESOURCEAVAILABILITIES")[1].split("\n")[2].split()
    ]
    durations = [row[2] for row in work]
    waits = [(row[0] - 1, j - 1, durations[row[0] - 1]) for row in order for j in row[3:]]
    return Project(durations, [row[3:] for row in work], capacities, waits)


def _max(text: str) -> Project:
    rows = [[int(word) for word in re.findall(r"-?\d+", line)] for line in text.splitlines()]
    rows = [row for row in rows if row]
    jobs = rows[0][0] + 2
    waits = [
        (row[0], after, lag)
        for row in rows[1 : 1 + jobs]
        for after, lag in zip(row[3 : 3 + row[2]], row[3 + row[2] :], strict=True)
    ]
    work = rows[1 + jobs : 1 + 2 * jobs]
    return Project([row[2] for row in work], [row[3:] for row in work], rows[-1], waits)


def makespan(project: Project, starts) -> int:
    return max(start + length for start, length in zip(starts, project.durations, strict=True))


def broken(project: Project, starts) -> list[str]:
    """Sentences about what a schedule does not keep."""
    found = [f"job {at} starts at {start}" for at, start in enumerate(starts) if start < 0]
    found += [
        f"job {after} starts {starts[after] - starts[before]} after {before}, not {lag}"
        for before, after, lag in project.waits
        if starts[after] < starts[before] + lag
    ]
    for moment in range(makespan(project, starts)):
        running = [
            at
            for at, (start, length) in enumerate(zip(starts, project.durations, strict=True))
            if start <= moment < start + length
        ]
        for resource, capacity in enumerate(project.capacities):
            used = sum(project.demands[at][resource] for at in running)
            if used > capacity:
                found.append(f"at {moment} resource {resource} serves {used} of {capacity}")
    return found
