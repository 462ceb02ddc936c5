"""Circles among links: which tasks would wait for each other in a ring."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

Point = tuple[int, str]

# Which end of the task before holds up which end of the task after.
ENDS = {
    "FS": ("finish", "start"),
    "SS": ("start", "start"),
    "FF": ("finish", "finish"),
    "SF": ("start", "finish"),
}


@dataclass(frozen=True, slots=True)
class Tie:
    """A link by the ids of its tasks."""

    before: int
    after: int
    kind: str = "FS"

    @property
    def holding(self) -> Point:
        return self.before, ENDS[self.kind][0]

    @property
    def held(self) -> Point:
        return self.after, ENDS[self.kind][1]


def circle_closed_by(new: Tie, ties: Iterable[Tie]) -> tuple[int, ...]:
    """The shortest circle that a new link would close.

    Starts and finishes are separate points: "B starts after A starts and A finishes after B
    finishes" has B happen during A and is no circle. Circles that are there already and do
    not run through the new link do not count: they are not its fault.

    Returns:
        The ids of the tasks in the order they would wait, beginning with `new.before`; empty
        when the link closes no circle.
    """
    steps: dict[Point, list[Point]] = defaultdict(list)
    for tie in (*ties, new):
        steps[tie.holding].append(tie.held)
        for task in (tie.before, tie.after):
            if (task, "finish") not in steps[task, "start"]:
                steps[task, "start"].append((task, "finish"))
    came: dict[Point, Point | None] = {new.held: None}
    queue = deque([new.held])
    while queue and new.holding not in came:
        point = queue.popleft()
        for step in steps[point]:
            if step not in came:
                came[step] = point
                queue.append(step)
    if new.holding not in came:
        return ()
    found: list[int] = []
    point_back: Point | None = new.holding
    while point_back is not None:
        if not found or found[-1] != point_back[0]:
            found.append(point_back[0])
        point_back = came[point_back]
    return (found[0], *reversed(found[1:]))


def circles_closed_by(new: Iterable[Tie], ties: Iterable[Tie]) -> Iterator[tuple[Tie, list[int]]]:
    """For many new links at once: which of them close a circle, and over which tasks.

    Links that close one are left out as it is told, so every circle is told once. What remains
    has none, unless it was there before.

    Returns:
        Each such link with the ids of the tasks in the order they would wait, beginning with
        its `before`.
    """
    kept, added = list(ties), list(dict.fromkeys(new))
    while added:
        circle = a_circle([*kept, *added])
        ring = set(pairwise(circle))
        closing = next((tie for tie in added if (tie.holding, tie.held) in ring), None)
        if closing is None:
            return
        at = circle.index(closing.held)
        around = [*circle[at:-1], *circle[:at]]
        tasks = list(dict.fromkeys(task for task, _ in around))
        yield closing, [closing.before, *(task for task in tasks if task != closing.before)]
        added.remove(closing)


def a_circle(ties: Iterable[Tie]) -> list[Point]:
    """Any circle among these, its first point again at the end; empty when there is none."""
    order: TopologicalSorter[Point] = TopologicalSorter()
    for tie in ties:
        order.add(tie.held, tie.holding)
        for task in (tie.before, tie.after):
            order.add((task, "finish"), (task, "start"))
    try:
        order.prepare()
    except CycleError as exc:
        return list(exc.args[1])
    return []
