"""Circles of links: work that waits for itself, named so that a person can cut the circle.

Starts and ends are separate points, so that "B starts after A starts and A ends after B
ends" (B happens during A) is no circle, while A before B before A is one, whatever its waits.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Mapping, Sequence
from typing import TypeVar

from .problem import Link, Problem

Point = tuple[str, bool]
T = TypeVar("T", bound=Hashable)


def circles_and_behind(problem: Problem) -> tuple[tuple[tuple[Link, ...], ...], frozenset[str]]:
    """Find the circles, one per knot of points, and all that can never be planned for them.

    Returns:
        The circles, each as its links in order, and the keys of the activities that lie in
        or behind one. A fixed activity breaks a circle: it happens whatever is linked to it.
    """
    fixed = {a.key for a in problem.activities if a.fixed is not None}
    binding = [link for link in problem.links if link.after not in fixed]
    steps: dict[Point, list[tuple[Point, Link | None]]] = {}
    for activity in problem.activities:
        steps[activity.key, False] = [((activity.key, True), None)]
        steps[activity.key, True] = []
    for link in binding:
        if link.before not in fixed:
            start = (link.before, link.kind in {"FS", "FF"})
            steps[start].append(((link.after, link.kind in {"FF", "SF"}), link))
    circles: list[tuple[Link, ...]] = []
    knotted: set[str] = set()
    for knot in knots({point: [to for to, _ in ways] for point, ways in steps.items()}):
        circle = _shortest_circle(steps, knot)
        circles.append(circle)
        knotted.update(link.before for link in circle)
        knotted.update(key for key, _ in knot)
    behind = set(knotted)
    queue = deque(sorted(knotted))
    followers: dict[str, list[str]] = {}
    for link in binding:
        followers.setdefault(link.before, []).append(link.after)
    while queue:
        for key in followers.get(queue.popleft(), ()):
            if key not in behind:
                behind.add(key)
                queue.append(key)
    return tuple(circles), frozenset(behind)


def knots(steps: Mapping[T, Sequence[T]]) -> list[set[T]]:
    """Sets of points that all reach each other (Tarjan 1972, without recursion)."""
    order: dict[T, int] = {}
    low: dict[T, int] = {}
    stack: list[T] = []
    on_stack: set[T] = set()
    found: list[set[T]] = []
    for root in steps:
        if root in order:
            continue
        work: list[tuple[T, int]] = [(root, 0)]
        while work:
            point, k = work.pop()
            if k == 0:
                order[point] = low[point] = len(order)
                stack.append(point)
                on_stack.add(point)
            else:
                low[point] = min(low[point], low[steps[point][k - 1]])
            for n, child in enumerate(steps[point][k:], start=k):
                if child not in order:
                    work += [(point, n + 1), (child, 0)]
                    break
                if child in on_stack:
                    low[point] = min(low[point], order[child])
            else:
                if low[point] == order[point]:
                    knot: set[T] = set()
                    while point not in knot:
                        knot.add(stack.pop())
                    on_stack -= knot
                    if len(knot) > 1 or point in steps[point]:
                        found.append(knot)
    return found


def _shortest_circle(
    steps: dict[Point, list[tuple[Point, Link | None]]], knot: set[Point]
) -> tuple[Link, ...]:
    """The shortest way round the knot from its first point back to it, as links."""
    start = next(point for point in steps if point in knot)
    came: dict[Point, tuple[Point, Link | None]] = {}
    queue = deque([start])
    while start not in came:
        point = queue.popleft()
        for child, link in steps[point]:
            if child in knot and child not in came:
                came[child] = (point, link)
                queue.append(child)
    point, link = came[start]
    links = [link]
    while point != start:
        point, link = came[point]
        links.append(link)
    return tuple(link for link in reversed(links) if link is not None)
