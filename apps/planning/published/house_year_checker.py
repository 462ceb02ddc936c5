"""Does a plan keep every rule of a house-year file? Reads the file and the starts, nothing else.

Written from the description of the layout, without the engine: every rule is tried unit by
unit in the plainest way, so that a fault of the engine's tables cannot hide here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

DAY = 48
WEEK = 7 * DAY
SATURDAY = 5 * DAY


def ends_of(house: Mapping[str, Any], starts: Sequence[int]) -> list[int]:
    """The end of each task: for the crew, that of its last working unit.

    A crew task that runs out of working units ends one unit after the horizon.
    """
    working = [unit for begin, end in house["crew_slots"] for unit in range(begin, end)]
    place = {unit: number for number, unit in enumerate(working)}
    ends = []
    for task, start in zip(house["tasks"], starts, strict=True):
        if task["by"] != "crew":
            ends.append(start + task["units"])
            continue
        last = place.get(start, len(working)) + task["units"] - 1
        ends.append(working[last] + 1 if last < len(working) else house["horizon"] + 1)
    return ends


def cost_of(house: Mapping[str, Any], starts: Sequence[int]) -> int:
    """The last end plus every task's lateness times its weight."""
    ends = ends_of(house, starts)
    late: int = sum(
        task.get("late_weight", 1) * max(0, end - task["due"])
        for task, end in zip(house["tasks"], ends, strict=True)
        if "due" in task
    )
    return max(ends, default=0) + late


def broken_rules(house: Mapping[str, Any], starts: Sequence[int]) -> list[str]:
    """Every rule that the starts (one for each task, in the file's order) break."""
    if len(starts) != len(house["tasks"]):
        return [f"{len(starts)} starts for {len(house['tasks'])} tasks"]
    ends = ends_of(house, starts)
    spans = {
        task["id"]: (start, end)
        for task, start, end in zip(house["tasks"], starts, ends, strict=True)
    }
    rules = (_inside, _crew, _visits, _links, _floors, _jack)
    return [said for rule in rules for said in rule(house, spans)]


Spans = Mapping[int, tuple[int, int]]


def _inside(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    for name, (start, end) in spans.items():
        if start < 0 or end > house["horizon"]:
            yield f"task {name} lies outside the year"


def _crew(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    slot_of = {
        unit: number
        for number, (begin, end) in enumerate(house["crew_slots"])
        for unit in range(begin, end)
    }
    crew = [task for task in house["tasks"] if task["by"] == "crew"]
    taken: dict[int, int] = {}
    for task in crew:
        name = task["id"]
        start, end = spans[name]
        if start not in slot_of:
            yield f"task {name} starts outside the crew's hours"
            continue
        worked = [unit for unit in range(start, end) if unit in slot_of]
        if task.get("unbroken") and len({slot_of[unit] for unit in worked}) > 1:
            yield f"task {name} is broken off"
        if task.get("one_weekend") and (
            start % WEEK < SATURDAY or (end - 1) // WEEK != start // WEEK
        ):
            yield f"task {name} is not within one weekend"
        for unit in worked:
            if unit in taken:
                yield f"tasks {taken[unit]} and {name} need the crew at {unit}"
                break
            taken[unit] = name


def _visits(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    opens, closes = house["visit_hours"]
    by_trade: dict[str, list[tuple[int, int, int]]] = {}
    for task in house["tasks"]:
        if task["by"] == "crew":
            continue
        name, (start, end) = task["id"], spans[task["id"]]
        by_trade.setdefault(task["by"], []).append((start, end, name))
        if "fixed_start" in task and start != task["fixed_start"]:
            yield f"visit {name} is agreed for {task['fixed_start']}"
        if start // DAY not in house["trade_days"][task["by"]]:
            yield f"visit {name} is not on a day of {task['by']}"
        if start % DAY < opens or start % DAY + end - start > closes:
            yield f"visit {name} is outside the visiting hours"
    for visits in by_trade.values():
        for one, two in pairwise(sorted(visits)):
            if two[0] < one[1]:
                yield f"visits {one[2]} and {two[2]} are at once"


def _links(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    for link in house["links"]:
        wait = spans[link["after"]][0] - spans[link["before"]][1]
        if wait < link["min_lag"]:
            yield f"task {link['after']} starts too soon after {link['before']}"
        if "max_lag" in link and wait > link["max_lag"]:
            yield f"task {link['after']} starts too long after {link['before']}"


def _floors(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    for floor in house["open_floors"]:
        opened, closed = spans[floor["opens_with"]][0], spans[floor["closes_with"]][1]
        for name in floor["not_during"]:
            start, end = spans[name]
            if start < closed and opened < end:
                yield f"task {name} is done while floor {floor['opens_with']} is open"


def _jack(house: Mapping[str, Any], spans: Spans) -> Iterator[str]:
    least = house["jack"]["held_units"]
    held = sorted(
        (spans[name][0], max(spans[name][1], spans[name][0] + least), name)
        for name in house["jack"]["tasks"]
    )
    for one, two in pairwise(held):
        if two[0] < one[1]:
            yield f"tasks {one[2]} and {two[2]} need the jack at once"
