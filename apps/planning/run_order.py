"""The order that a plan keeps whatever its tasks really take: what waits for what.

Every stint has two points, its start and its end. A plan becomes arcs between points: links,
the order on each resource (each unit of it hands over from stint to stint, as in a partial
order schedule: Policella, Smith, Cesta, Oddi, "Robust schedules through partial ordering",
ICAPS 2004, from memory), and for open boards whether a stint came before they were lifted or
after they were down. Times are quarter-hours.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import NamedTuple

from .problem import Activity, Link, OpenSpan, Problem, Solution, Stint


class Point(NamedTuple):
    """The start or the end of a planned stint, by the stint's number."""

    stint: int
    end: bool


class Arc(NamedTuple):
    """`to` comes no earlier than `lag` quarter-hours after `since`.

    `whole`: the end of the whole activity is meant, not only of this stint of it.
    """

    since: Point
    to: Point
    lag: int = 0
    working: bool = False
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """A plan's stints in the order of the clock, and the points in an order that can be followed.

    Attributes:
        of: each activity's stints by number; activities without a place are not in it.
        into: the arcs into each point that the following order keeps.
        points: movable starts and ends, each after all that it waits for.
    """

    stints: tuple[Stint, ...]
    of: dict[str, tuple[int, ...]]
    into: dict[Point, tuple[Arc, ...]]
    points: tuple[Point, ...]


def order_of(problem: Problem, solution: Solution, *, free: Collection[str] = ()) -> Order:
    """The order that a solution keeps.

    Args:
        free: resources that hand over in no order of the plan's; who uses them sees to that.
    """
    activities = {a.key: a for a in problem.activities}
    stints = tuple(
        sorted(
            (s for s in solution.stints if s.activity in activities),
            key=lambda s: (s.start, s.end, s.activity),
        )
    )
    of: dict[str, tuple[int, ...]] = defaultdict(tuple)
    for n, stint in enumerate(stints):
        of[stint.activity] += (n,)
    plan = _Planned(problem, activities, stints, dict(of))
    fixed = {a.key for a in problem.activities if a.fixed is not None}
    movable = [n for n, stint in enumerate(stints) if stint.activity not in fixed]
    arcs = [
        arc
        for arc in dict.fromkeys(
            (*plan.chains(), *plan.links(), *plan.handovers(free), *plan.boards())
        )
        if stints[arc.to.stint].activity not in fixed
    ]
    points, into = _followed(stints, movable, arcs)
    return Order(stints, dict(of), into, points)


@dataclass(frozen=True, slots=True)
class _Planned:
    problem: Problem
    activities: dict[str, Activity]
    stints: tuple[Stint, ...]
    of: dict[str, tuple[int, ...]]

    def first(self, key: str) -> Point:
        return Point(self.of[key][0], end=False)

    def last(self, key: str) -> Point:
        return Point(self.of[key][-1], end=True)

    def chains(self) -> Iterator[Arc]:
        """A stint's end after its start, and the next stint of the same activity after that."""
        for own in self.of.values():
            for n in own:
                yield Arc(Point(n, end=False), Point(n, end=True))
            for one, two in pairwise(own):
                yield Arc(Point(one, end=True), Point(two, end=False))

    def links(self) -> Iterator[Arc]:
        for link in self.problem.links:
            if link.before in self.of and link.after in self.of and link.before != link.after:
                yield link_arc(link, self.of)

    def handovers(self, free: Collection[str]) -> Iterator[Arc]:
        """On each unit of a resource, from one occupation to the next."""
        for resource in self.problem.resources:
            if resource.key in free:
                continue
            busy = sorted(self.occupations(resource.key), key=lambda o: (o.start, o.end))
            free_at: list[tuple[int, tuple[Arc, ...]]] = [(-(1 << 60), ())] * resource.capacity
            for one in busy:
                # The units that came free last: they hand over most directly.
                units = sorted(range(resource.capacity), key=lambda u: -free_at[u][0])
                chosen = [u for u in units if free_at[u][0] <= one.start][: one.demand]
                for u in chosen:
                    for arc in free_at[u][1]:
                        yield Arc(arc.since, one.begins, arc.lag, whole=arc.whole)
                    free_at[u] = (one.end, one.frees)

    def occupations(self, resource: str) -> Iterator[_Occupation]:
        for key, own in self.of.items():
            activity = self.activities[key]
            if resource in activity.uses:
                at = activity.uses.index(resource)
                demand = activity.demand[at] if activity.demand else 1
                for n in own:
                    begins, ends = Point(n, end=False), Point(n, end=True)
                    yield _Occupation(
                        self.stints[n].start, self.stints[n].end, begins,
                        (Arc(ends, begins),), demand,
                    )  # fmt: skip
            for hold in activity.holds:
                if hold.resource == resource:
                    begins, ends = self.first(key), self.last(key)
                    start, end = self.stints[own[0]].start, self.stints[own[-1]].end
                    yield _Occupation(
                        start, max(end, start + hold.least), begins,
                        (Arc(ends, begins, whole=True), Arc(begins, begins, hold.least)), 1,
                    )  # fmt: skip

    def boards(self) -> Iterator[Arc]:
        for span in self.problem.open_spans:
            for key in span.excludes:
                if key in self.of and key not in {span.opens, span.closes}:
                    yield from self.around_span(span, self.of[key])

    def around_span(self, span: OpenSpan, own: tuple[int, ...]) -> Iterator[Arc]:
        """Each stint stays on the side of the opening where the plan has it."""
        if span.opens is not None and span.opens not in self.of:
            return
        opens = None if span.opens is None else self.first(span.opens)
        closes = self.last(span.closes) if span.closes in self.of else None
        opens_at = None if opens is None else self.stints[opens.stint].start
        closes_at = None if closes is None else self.stints[closes.stint].end
        if opens_at is not None and closes_at is not None and closes_at <= opens_at:
            return
        for n in own:
            if closes and closes_at is not None and self.stints[n].start >= closes_at:
                yield Arc(closes, Point(n, end=False), whole=True)
            elif opens and opens_at is not None and self.stints[n].end <= opens_at:
                yield Arc(Point(n, end=True), opens)


def link_arc(link: Link, of: Mapping[str, tuple[int, ...]]) -> Arc:
    """A link as an arc between points of stints; both its activities have a place."""
    since_end, to_end = link.kind in {"FS", "FF"}, link.kind in {"FF", "SF"}
    return Arc(
        Point(of[link.before][-1 if since_end else 0], since_end),
        Point(of[link.after][-1 if to_end else 0], to_end),
        link.min_lag,
        link.clock == "working",
        whole=since_end,
    )


class _Occupation(NamedTuple):
    """Units of a resource taken from `start` to `end`; `frees` say when they are free again."""

    start: int
    end: int
    begins: Point
    frees: tuple[Arc, ...]
    demand: int


def _followed(
    stints: tuple[Stint, ...], movable: list[int], arcs: list[Arc]
) -> tuple[tuple[Point, ...], dict[Point, tuple[Arc, ...]]]:
    """Points so that each comes after what it waits for, the earlier planned ones first.

    Points that wait for each other are at one time, without a wait between: there the arc
    that closes the ring is left out.
    """

    def rank(point: Point) -> tuple[int, bool, int]:
        stint = stints[point.stint]
        return (stint.end if point.end else stint.start), not point.end, point.stint

    points = {Point(n, end) for n in movable for end in (False, True)}
    waiting = dict.fromkeys(points, 0)
    out: dict[Point, list[Point]] = defaultdict(list)
    for arc in arcs:
        if arc.since in points:
            waiting[arc.to] += 1
            out[arc.since].append(arc.to)
    ready = [(rank(point), point) for point in points if not waiting[point]]
    heapify(ready)
    placed: dict[Point, int] = {}
    while len(placed) < len(points):
        if not ready:
            left = min((point for point in points if point not in placed), key=rank)
            heappush(ready, (rank(left), left))
        _, point = heappop(ready)
        if point in placed:
            continue
        placed[point] = len(placed)
        for to in out[point]:
            waiting[to] -= 1
            if not waiting[to]:
                heappush(ready, (rank(to), to))
    into: dict[Point, list[Arc]] = defaultdict(list)
    for arc in arcs:
        if arc.since not in points or placed[arc.since] < placed[arc.to]:
            into[arc.to].append(arc)
    return tuple(placed), {point: tuple(found) for point, found in into.items()}
