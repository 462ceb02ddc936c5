"""Does a plan keep the rules? Written apart from the planner, from its contract alone.

Slow and plain on purpose: times are sets of quarter-hours, nothing is clever.

What the contract leaves open is read like this:

- **Unplaced**: the sum of the *efforts* of the activities without a place. An activity
  behind an unplaced one has no place either, unless it is fixed.
- **Unready**: the sum of `short` over the broken links that may be broken: any link into
  a fixed activity, and the longest wait of any link. `short` is counted on the link's own
  clock. Coming in the wrong order counts as at least one quarter-hour, also where no
  working time lies between. Before a fixed activity, what has no place counts as
  happening at the horizon or with the fixed activity, whichever is later.
- **Late**: the sum of `due_weight` × quarter-hours after `due` over everything placed.
- **Finish**: the latest end of any stint that the planner placed; 0 if there is none. Fixed
  activities are left out: a visit in three weeks is no leave to dawdle until then.
- Fixed activities hold their resources, and obey nothing. Where they alone overfill a
  resource, nothing else may use it.
- Two stints of one activity that touch are one stint written twice, and refused.
- An open span whose `opens` has no place never begins; one whose `closes` has none never ends.
  A span that nobody can move to another beginning does not bar fixed activities; one that
  begins with movable work must leave them out like any other.
- Work "carried on" and "elapsed" takes its set-up and clear-up once. Carried-on work holds its
  resources from its first start to its last end, and works in every open quarter between.
  It stands on boards all that time. Elapsed work is one stint that begins in an open quarter
  of all its calendars.
- A hold takes its resource from the start to the later of the end and `least` after the start,
  in place of the activity's use of it, else one unit. A fixed activity holds too.
- **Disturbed**, **moved**: what the previous plan begins, first stint, is at another time or
  nowhere; a previous stint that was not firm is kept by beginning anywhere inside it.
- **Open nights**: moments of `nights` at or after the end of `opens` and before that of `closes`.
- **Breaks**: stints beyond the first of everything movable in mode "stints".
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from apps.planning.problem import Activity, Link, Problem, RouteOpening, Solution, Stint

RESOURCE_CODES = {
    "crew": "crew_busy",
    "tool": "tool_busy",
    "trade": "visit",
    "inspector": "sign_off",
}
LEVELS = [
    "unplaced",
    "unready",
    "late",
    "disturbed",
    "finish",
    "open_nights",
    "breaks",
    "moved",
]


class Broken(NamedTuple):
    """One broken rule: which, whose, the reason code it stands for, and a sentence."""

    rule: str
    activity: str
    code: str | None
    sentence: str


class Plan:
    """A problem with its stints, looked up by activity."""

    def __init__(self, problem: Problem, stints: tuple[Stint, ...]) -> None:
        self.problem = problem
        self.activities = {activity.key: activity for activity in problem.activities}
        self.stints: dict[str, list[Stint]] = defaultdict(list)
        for stint in sorted(stints, key=lambda s: (s.start, s.end)):
            self.stints[stint.activity].append(stint)
        self.open = {
            calendar.key: {quarter for window in calendar.windows for quarter in range(*window)}
            for calendar in problem.calendars
        }

    def placed(self, key: str) -> bool:
        return bool(self.stints.get(key))

    def start(self, key: str) -> int:
        return min(stint.start for stint in self.stints[key])

    def end(self, key: str) -> int:
        return max(stint.end for stint in self.stints[key])

    def ends_of(self, link: Link) -> tuple[int, int]:
        """The two times a link compares."""
        first, second = link.kind
        after = self.start(link.after) if second == "S" else self.end(link.after)
        if not self.placed(link.before):
            return max(self.problem.horizon, after), after
        before = self.start(link.before) if first == "S" else self.end(link.before)
        return before, after

    def passed(self, link: Link, since: int, until: int) -> int:
        """Time on the link's clock; less than nothing if `until` is earlier."""
        if link.clock == "elapsed":
            return until - since
        working = self.open[self.problem.working_calendar]
        count = sum(quarter in working for quarter in range(*sorted((since, until))))
        return count if since <= until else -max(1, count)

    def too_short(self, link: Link) -> int:
        """By how much the shortest wait is missed."""
        since, until = self.ends_of(link)
        return max(0, link.min_lag - self.passed(link, since, until))

    def too_long(self, link: Link) -> int:
        """By how much the longest wait is missed."""
        if link.max_lag is None:
            return 0
        return max(0, self.passed(link, *self.ends_of(link)) - link.max_lag)


def violations(problem: Problem, solution: Solution) -> list[str]:
    """Each broken rule as a sentence; an empty list is a plan that keeps them all."""
    return [broken.sentence for broken in broken_rules(problem, solution)]


def broken_rules(problem: Problem, solution: Solution) -> list[Broken]:
    """Each broken rule of a whole solution."""
    plan = Plan(problem, solution.stints)
    return [
        *placement_rules(plan),
        *_unplaced_rules(plan, solution),
        *_unready_rules(plan, solution),
        *_circle_rules(plan, solution),
        *_level_rules(plan, solution),
    ]


def placement_rules(plan: Plan) -> Iterator[Broken]:
    """Rules about where stints lie, whatever the solution says beside them."""
    for key in plan.stints:
        if key not in plan.activities:
            yield Broken("unknown", key, None, f"{key} is in the plan but not in the problem")
    for activity in plan.problem.activities:
        if activity.fixed is not None:
            yield from _fixed_rules(plan, activity)
        elif plan.placed(activity.key):
            yield from _stint_rules(plan, activity)
            yield from _time_rules(plan, activity)
    yield from _resource_rules(plan)
    yield from _hard_link_rules(plan)
    yield from _open_span_rules(plan)


def measured_levels(problem: Problem, solution: Solution) -> list[int]:
    """All levels again, from the stints alone."""
    plan = Plan(problem, solution.stints)
    return [
        sum(a.effort for a in problem.activities if not plan.placed(a.key)),
        sum(_expected_unready(plan).values()),
        sum(
            a.due_weight * max(0, plan.end(a.key) - a.due)
            for a in problem.activities
            if a.due is not None and plan.placed(a.key)
        ),
        len(_moved(plan, before=problem.settled_until)),
        max(
            (plan.end(a.key) for a in problem.activities if a.fixed is None and plan.placed(a.key)),
            default=0,
        ),
        sum(
            any(_is_open(plan, o, night) for o in problem.route_openings)
            for night in problem.nights
        ),
        sum(
            len(plan.stints[a.key]) - 1
            for a in problem.activities
            if a.fixed is None and a.mode == "stints" and plan.placed(a.key)
        ),
        len(_moved(plan)),
    ]


def _moved(plan: Plan, before: int | None = None) -> set[str]:
    """What the previous plan begins (before a time) and this one begins elsewhere or not at all."""
    first: dict[str, Stint] = {}
    for stint in sorted(plan.problem.previous, key=lambda s: (s.start, s.end)):
        first.setdefault(stint.activity, stint)
    moved = set()
    for key, was in first.items():
        activity = plan.activities.get(key)
        if activity is None or activity.fixed is not None:
            continue
        if before is not None and was.start >= before:
            continue
        kept = range(was.start, was.start + 1 if was.firm else was.end)
        if not plan.placed(key) or plan.start(key) not in kept:
            moved.add(key)
    return moved


def _is_open(plan: Plan, opening: RouteOpening, night: int) -> bool:
    if opening.opens is not None and not plan.placed(opening.opens):
        return False
    if opening.opens is not None and night < plan.end(opening.opens):
        return False
    if opening.closes is None or not plan.placed(opening.closes):
        return True
    return night < plan.end(opening.closes)


def _fixed_rules(plan: Plan, activity: Activity) -> Iterator[Broken]:
    times = [(stint.start, stint.end) for stint in plan.stints.get(activity.key, [])]
    if times != [activity.fixed]:
        yield Broken(
            "fixed", activity.key, None, f"{activity.key} is fixed at {activity.fixed}, not {times}"
        )


def _stint_rules(plan: Plan, activity: Activity) -> Iterator[Broken]:
    key, stints = activity.key, plan.stints[activity.key]
    if activity.mode != "stints":
        yield from _one_piece_rules(plan, activity)
        return
    works = [s.end - s.start - activity.set_up - activity.clear_up for s in stints]
    if sum(works) != activity.effort:
        yield Broken("effort", key, None, f"{key} gets {sum(works)} of {activity.effort}")
    shortest = min(activity.shortest_stint, activity.effort)
    if min(works) < shortest:
        yield Broken("shortest", key, None, f"{key} has a stint of {min(works)} under {shortest}")
    if not activity.splittable and len(stints) > 1:
        yield Broken("split", key, None, f"{key} cannot be split but has {len(stints)} stints")
    for one, two in pairwise(stints):
        if two.start <= one.end:
            yield Broken("apart", key, None, f"{key} has stints that are not apart at {two.start}")


def _one_piece_rules(plan: Plan, activity: Activity) -> Iterator[Broken]:
    """Work that is carried on or runs by itself, once begun."""
    key, stints = activity.key, plan.stints[activity.key]
    lasts = sum(s.end - s.start for s in stints)
    needed = activity.set_up + activity.effort + activity.clear_up
    if lasts != needed:
        yield Broken("effort", key, None, f"{key} lasts {lasts}, not {needed}")
    if activity.mode == "elapsed":
        if len(stints) > 1:
            yield Broken("split", key, None, f"{key} runs on but has {len(stints)} stints")
        return
    worked = {quarter for s in stints for quarter in range(s.start, s.end)}
    calendars = [plan.open[name] for name in activity.calendars]
    for quarter in range(plan.start(key), plan.end(key)):
        if quarter not in worked and all(quarter in hours for hours in calendars):
            yield Broken("carried_on", key, None, f"{key} rests at {quarter} in its hours")
            return


def _time_rules(plan: Plan, activity: Activity) -> Iterator[Broken]:
    key, stints = activity.key, plan.stints[activity.key]
    if plan.start(key) < 0:
        yield Broken("origin", key, None, f"{key} starts before the origin")
    if plan.end(key) > plan.problem.horizon:
        yield Broken("horizon", key, None, f"{key} ends after the horizon")
    for release in activity.releases:
        if plan.start(key) < release.at:
            yield Broken(
                "release", key, release.code, f"{key} starts before its release at {release.at}"
            )
    for calendar in plan.problem.calendars:
        if calendar.key == activity.within:
            holding = [
                (opens, closes)
                for opens, closes in calendar.windows
                if opens <= plan.start(key) and plan.end(key) <= closes
            ]
            if not holding:
                text = f"{key} is not within one stretch of {calendar.key}"
                yield Broken("within", key, calendar.code, text)
        if calendar.key in activity.calendars:
            looked_at = [
                range(stint.start, stint.start + 1 if activity.mode == "elapsed" else stint.end)
                for stint in stints
            ]
            closed = {
                quarter
                for stretch in looked_at
                for quarter in stretch
                if quarter not in plan.open[calendar.key]
            }
            if closed:
                yield Broken(
                    "calendar",
                    key,
                    calendar.code,
                    f"{key} works at {min(closed)}, outside {calendar.key}",
                )


def _resource_rules(plan: Plan) -> Iterator[Broken]:
    for resource in plan.problem.resources:
        users: dict[int, list[Activity]] = defaultdict(list)
        units: dict[int, int] = defaultdict(int)
        for activity in plan.problem.activities:
            for stretch, demand in _taken(plan, activity, resource.key):
                for quarter in stretch:
                    users[quarter].append(activity)
                    units[quarter] += demand
        guilty = {
            activity.key: quarter
            for quarter in sorted(users, reverse=True)
            for activity in users[quarter]
            if units[quarter] > resource.capacity and activity.fixed is None
        }
        for key, quarter in guilty.items():
            yield Broken(
                "resource",
                key,
                RESOURCE_CODES[resource.kind],
                f"{key} and others overfill {resource.key} at {quarter}",
            )


def _taken(plan: Plan, activity: Activity, resource: str) -> Iterator[tuple[range, int]]:
    """When an activity takes a resource, and how many of it."""
    if not plan.placed(activity.key):
        return
    start, end = plan.start(activity.key), plan.end(activity.key)
    demands = dict(zip(activity.uses, activity.demand or (1,) * len(activity.uses), strict=True))
    for hold in activity.holds:
        demand = demands.pop(hold.resource, 1)
        if hold.resource == resource:
            yield range(start, max(end, start + hold.least)), demand
    for name, demand in demands.items():
        if name == resource and activity.mode == "carried_on":
            yield range(start, end), demand
        elif name == resource:
            for stint in plan.stints[activity.key]:
                yield range(stint.start, stint.end), demand


def _hard_link_rules(plan: Plan) -> Iterator[Broken]:
    for link in plan.problem.links:
        if plan.activities[link.after].fixed is not None or not plan.placed(link.after):
            continue
        if not plan.placed(link.before):
            yield Broken(
                "link", link.after, link.code, f"{link.after} is placed but {link.before} is not"
            )
        elif plan.too_short(link):
            yield Broken(
                "link",
                link.after,
                link.code,
                f"{link.after} comes {plan.too_short(link)} too soon after {link.before}"
                f" ({link.kind}, {link.clock})",
            )


def _open_span_rules(plan: Plan) -> Iterator[Broken]:
    for span in plan.problem.open_spans:
        if span.opens is not None and not plan.placed(span.opens):
            continue
        begins = float("-inf") if span.opens is None else plan.start(span.opens)
        closed = span.closes is not None and plan.placed(span.closes)
        ends = plan.end(span.closes) if closed else float("inf")
        begun = span.opens is None or plan.activities[span.opens].fixed is not None
        for key in span.excludes:
            fact = plan.activities[key].fixed is not None
            there = [(stint.start, stint.end) for stint in plan.stints.get(key, [])]
            if there and plan.activities[key].mode == "carried_on":
                there = [(plan.start(key), plan.end(key))]
            caught = any(start < ends and begins < end for start, end in there if begins < ends)
            if caught and not (fact and begun):
                blamed = span.opens if fact else key
                text = f"{key} stands on boards that are up"
                yield Broken("open_span", blamed, "boards_held", text)


def _unplaced_rules(plan: Plan, solution: Solution) -> Iterator[Broken]:
    told = Counter(unplaced.activity for unplaced in solution.unplaced)
    for activity in plan.problem.activities:
        key = activity.key
        if plan.placed(key) and told[key]:
            yield Broken("unplaced", key, None, f"{key} is placed and said to be unplaced")
        if not plan.placed(key) and told[key] != 1:
            yield Broken("unplaced", key, None, f"{key} is unplaced, told {told[key]} times")
        if activity.fixed is not None and told[key]:
            yield Broken("unplaced", key, None, f"{key} is fixed and said to be unplaced")
    for unplaced in solution.unplaced:
        if unplaced.activity not in plan.activities:
            yield Broken("unplaced", unplaced.activity, None, f"no activity {unplaced.activity}")
        if unplaced.short < 1:
            yield Broken(
                "unplaced", unplaced.activity, None, f"{unplaced.activity} is short of nothing"
            )


def _expected_unready(plan: Plan) -> dict[Link, int]:
    expected = {}
    for link in plan.problem.links:
        if plan.placed(link.after):
            after_fixed = plan.activities[link.after].fixed is not None
            short = max(
                plan.too_short(link) if after_fixed else 0,
                plan.too_long(link) if plan.placed(link.before) else 0,
            )
            if short:
                expected[link] = short
    return expected


def _unready_rules(plan: Plan, solution: Solution) -> Iterator[Broken]:
    expected = _expected_unready(plan)
    told = {unready.link: unready.short for unready in solution.unready}
    if len(told) != len(solution.unready):
        yield Broken("unready", "", None, "a broken link is told twice")
    for link in {**expected, **told}:
        if expected.get(link, 0) != told.get(link, 0) or link not in expected:
            yield Broken(
                "unready",
                link.after,
                link.code,
                f"the {link.kind} from {link.before} to {link.after} is short by"
                f" {expected.get(link, 0)}, told {told.get(link)}",
            )


def _circle_rules(plan: Plan, solution: Solution) -> Iterator[Broken]:
    for circle in solution.circles:
        round_trip = [*circle, *circle[:1]]
        if not circle or any(one.after != two.before for one, two in pairwise(round_trip)):
            yield Broken("circle", "", None, "a circle that does not close")
        if any(link not in plan.problem.links for link in circle):
            yield Broken("circle", "", None, "a circle with a link that is not in the problem")


def _level_rules(plan: Plan, solution: Solution) -> Iterator[Broken]:
    if [level.name for level in solution.levels] != LEVELS:
        yield Broken("level", "", None, f"levels are {[level.name for level in solution.levels]}")
        return
    measured = measured_levels(plan.problem, solution)
    for level, value in zip(solution.levels, measured, strict=True):
        if level.value != value:
            yield Broken("level", "", None, f"{level.name} is {value}, told {level.value}")
        if level.bound > level.value:
            yield Broken(
                "level", "", None, f"{level.name} is proven above its value: {level.bound}"
            )
