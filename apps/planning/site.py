"""The problem with its lookups made: windows, ties and resources by number instead of by key.

Every module of the planner's core starts from a `Site`, so that each question ("which
windows has this activity?", "what must wait for it?") is answered in one place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from .circles import circles_and_behind, knots
from .problem import Activity, Interval, Link, Problem
from .windows import NEVER, Clock, intersect


@dataclass(frozen=True, slots=True)
class Tie:
    """A link by number: from a point (start or end) of one activity to a point of another."""

    link: Link
    before: int
    after: int
    from_end: bool
    to_end: bool
    clock: Clock | None

    def wait(self, since: int, until: int) -> int:
        """The wait between the two points, on the link's own clock."""
        return until - since if self.clock is None else self.clock.wait(since, until)

    def earliest_after(self, since: int) -> int:
        """The first time the later point may have, given the earlier one."""
        lag = self.link.min_lag
        if self.clock is None:
            return since + lag
        if lag == 0:
            return since
        return self.clock.first_with(self.clock.reading(since) + lag)

    def latest_before(self, until: int) -> int:
        """The last time the earlier point may have, given the later one."""
        lag = self.link.min_lag
        if self.clock is None:
            return until - lag
        if lag == 0:
            return until
        return self.clock.last_with(self.clock.reading(until) - lag)

    def earliest_before(self, until: int) -> int:
        """The first time the earlier point may have so that the longest wait is kept."""
        if self.link.max_lag is None:
            return -NEVER
        if self.clock is None:
            return until - self.link.max_lag
        return self.clock.first_with(self.clock.reading(until) - self.link.max_lag)

    def short(self, since: int, until: int) -> int:
        """By how many quarters the wait is too short or too long; 0 when it is kept."""
        wait = self.wait(since, until)
        long = 0 if self.link.max_lag is None else wait - self.link.max_lag
        return max(0, self.link.min_lag - wait, long)


@dataclass(frozen=True, slots=True)
class Span:
    """An open span by number; `opens`, `closes` None as in the problem."""

    opens: int | None
    closes: int | None
    excludes: frozenset[int]


def activity_windows(problem: Problem, activity: Activity) -> tuple[Interval, ...]:
    """The intersection of the activity's calendars inside the planning axis."""
    windows: tuple[Interval, ...] = ((0, problem.horizon),)
    calendars = {calendar.key: calendar for calendar in problem.calendars}
    for key in activity.calendars:
        windows = intersect(windows, calendars[key].windows)
    return windows


def shortest(activity: Activity) -> int:
    """Work in the shortest stint it may have; all of it where it is of one piece."""
    if activity.mode == "carried_on":
        return 1
    if activity.mode == "elapsed":
        return activity.effort + activity.set_up + activity.clear_up
    least = activity.shortest_stint
    return least if activity.splittable and activity.effort >= 2 * least else activity.effort


class Site:
    """A problem, indexed. Read-only once made."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.horizon = problem.horizon
        self.activities = problem.activities
        self.index = {activity.key: i for i, activity in enumerate(problem.activities)}
        self.count = len(self.activities)
        self.movable = tuple(i for i, a in enumerate(self.activities) if a.fixed is None)
        self._index_sizes()
        self._index_ties()
        self._index_spans()
        self._index_before()
        circles, behind = circles_and_behind(problem)
        self.circles = circles
        self.stuck = frozenset(self.index[key] for key in behind)
        self._index_order()

    def _index_sizes(self) -> None:
        problem = self.problem
        numbers = {resource.key: r for r, resource in enumerate(problem.resources)}
        self.capacity = [resource.capacity for resource in problem.resources]
        self.uses: list[tuple[int, ...]] = []
        self.demand: list[tuple[int, ...]] = []
        self.holds: list[tuple[tuple[int, int, int], ...]] = []  # resource, least, units
        for a in self.activities:
            units = dict(zip(a.uses, a.demand or (1,) * len(a.uses), strict=True))
            # What is held over the breaks is not used a second time in the stints.
            self.holds.append(
                tuple((numbers[h.resource], h.least, units.pop(h.resource, 1)) for h in a.holds)
            )
            self.uses.append(tuple(numbers[key] for key in units))
            self.demand.append(tuple(units.values()))
        # Work of one piece takes its set-up and clear-up once, as if they were work.
        pieces = [a.mode != "stints" for a in self.activities]
        around = [a.set_up + a.clear_up for a in self.activities]
        self.effort = [
            a.effort + (around[i] if pieces[i] else 0) for i, a in enumerate(self.activities)
        ]
        self.around = [0 if pieces[i] else around[i] for i in range(self.count)]
        # Work in the shortest stint: all of it where it cannot be split.
        self.least = [shortest(a) for a in self.activities]
        # What `placing` must try as a whole: more than stints in the free hours.
        self.special = frozenset(
            i
            for i, a in enumerate(self.activities)
            if a.fixed is None and (pieces[i] or a.holds or a.within is not None)
        )
        self.crumb = min((self.least[i] + self.around[i] for i in self.movable), default=1)
        self.release = [max((r.at for r in a.releases), default=0) for a in self.activities]
        found = {calendar.key: calendar for calendar in problem.calendars}
        self.within = [None if a.within is None else found[a.within] for a in self.activities]
        by_calendars: dict[tuple[str, ...], tuple[Interval, ...]] = {}
        self.windows: list[list[Interval]] = []
        for i, a in enumerate(self.activities):
            names = a.calendars if a.within is None else (*a.calendars, a.within)
            if names not in by_calendars:
                by_calendars[names] = activity_windows(problem, replace(a, calendars=names))
            windows = by_calendars[names]
            room = self.least[i] + self.around[i]
            if a.mode == "elapsed":
                # Where it may begin, so that its end has a place too.
                whole = [(0, problem.horizon)] if a.within is None else found[a.within].windows
                starts = [(b, e - room + 1) for b, e in whole if e - b >= room]
                windows, room = intersect(windows, starts), 1
            wanted = [*zip(self.uses[i], self.demand[i], strict=True)]
            wanted += [(r, units) for r, _, units in self.holds[i]]
            enough = all(units <= self.capacity[r] for r, units in wanted)
            self.windows.append([(b, e) for b, e in windows if e - b >= room] if enough else [])
        # The clock of carried-on work: its own open hours.
        self.own_clock = {
            i: Clock(self.windows[i])
            for i, a in enumerate(self.activities)
            if a.mode == "carried_on" and a.fixed is None
        }
        # Activities with the same windows and resources find the same stretches free.
        kinds: dict[object, int] = {}
        self.kind = [
            kinds.setdefault((tuple(self.windows[i]), self.uses[i], self.demand[i]), len(kinds))
            for i in range(self.count)
        ]

    def _index_ties(self) -> None:
        problem = self.problem
        clock = None
        if problem.working_calendar is not None:
            found = {calendar.key: calendar for calendar in problem.calendars}
            clock = Clock(found[problem.working_calendar].windows)
        self.into: list[list[Tie]] = [[] for _ in self.activities]
        self.out: list[list[Tie]] = [[] for _ in self.activities]
        self.ties: list[Tie] = []
        for link in problem.links:
            tie = Tie(
                link,
                self.index[link.before],
                self.index[link.after],
                from_end=link.kind in {"FS", "FF"},
                to_end=link.kind in {"FF", "SF"},
                clock=clock if link.clock == "working" else None,
            )
            self.ties.append(tie)
            self.into[tie.after].append(tie)
            self.out[tie.before].append(tie)

    def _index_spans(self) -> None:
        def number(key: str | None) -> int | None:
            return None if key is None else self.index[key]

        self.spans = [
            Span(
                number(span.opens),
                number(span.closes),
                frozenset(self.index[key] for key in span.excludes),
            )
            for span in self.problem.open_spans
        ]
        self.excluded_by: list[list[Span]] = [[] for _ in self.activities]
        self.opened_by: list[list[int]] = [[] for _ in self.activities]
        for s, span in enumerate(self.spans):
            for i in sorted(span.excludes):
                self.excluded_by[i].append(span)
            if span.opens is not None:
                self.opened_by[span.opens].append(s)

    def _index_before(self) -> None:
        """What the previous plan began when, and the openings over household routes."""
        problem = self.problem
        # Beginning anywhere in `was[i]` is not moving: one quarter, or a half-day if not firm.
        self.was: dict[int, Interval] = {}
        for stint in sorted(problem.previous, key=lambda stint: (stint.start, stint.end)):
            i = self.index.get(stint.activity)
            if i is not None and not self.fixed(i):
                last = stint.start + 1 if stint.firm else stint.end
                self.was.setdefault(i, (stint.start, last))
        self.settled = frozenset(
            i for i, (start, _) in self.was.items() if start < problem.settled_until
        )
        self.openings = [
            (
                None if one.opens is None else self.index[one.opens],
                None if one.closes is None else self.index[one.closes],
            )
            for one in problem.route_openings
        ]
        self.watched = frozenset(i for opening in self.openings for i in opening if i is not None)

    def _index_order(self) -> None:
        """Who waits for whom, for the generator: first things first.

        `needs`: the movable activities without which one cannot be planned at all.
        `followers`: those that get their turn later. Where ends and starts hang together
        (B during A), ties to an end are left out of `followers` and mended afterwards.
        """
        pairs = [
            tie
            for tie in self.ties
            if self.binding(tie) and not self.fixed(tie.before) and tie.before != tie.after
        ]
        self.needs: list[list[int]] = [[] for _ in self.activities]
        steps: dict[int, list[int]] = {i: [] for i in range(self.count)}
        for tie in pairs:
            self.needs[tie.after].append(tie.before)
            steps[tie.before].append(tie.after)
        together = {i: n for n, knot in enumerate(knots(steps)) for i in knot}
        self.followers: list[list[int]] = [[] for _ in self.activities]
        for tie in pairs:
            same = together.get(tie.before, -1) == together.get(tie.after, -2)
            if not (same and tie.to_end) and tie.after not in self.followers[tie.before]:
                self.followers[tie.before].append(tie.after)
        self.descendants = [self._reach(i) for i in range(self.count)]

    def _reach(self, i: int) -> frozenset[int]:
        seen = {i}
        stack = [i]
        while stack:
            for j in self.followers[stack.pop()]:
                if j not in seen:
                    seen.add(j)
                    stack.append(j)
        return frozenset(seen)

    def fixed(self, i: int) -> bool:
        return self.activities[i].fixed is not None

    def binding(self, tie: Tie) -> bool:
        """Whether the shortest wait is a rule; into a fixed activity it is only a wish."""
        return self.activities[tie.after].fixed is None
