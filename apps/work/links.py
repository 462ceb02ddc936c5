"""Circles among links: which tasks would wait for each other in a ring."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from dataclasses import dataclass

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
