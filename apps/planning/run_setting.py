"""What is the same in every run of a plan: hours, hands, who comes by appointment."""

from __future__ import annotations

from collections.abc import Sequence

from .problem import Activity, Interval, Problem, Stint
from .run_hours import Hours, WorkingClock
from .site import activity_windows
from .windows import complement, full_stretches, intersect, merge

APPOINTED = frozenset({"trade", "inspector"})


class Setting:
    """A problem as runs need it.

    Attributes:
        appointed: keys of what comes by appointment.
        hands: keys of the crews that get on with the next thing while one waits.
        windows, hours: by activity.
        crew_hours: windows in which any work of the crew can be.
        clock: for waits in working time, None where they count as elapsed time.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.activities = {a.key: a for a in problem.activities}
        kinds = {resource.key: resource.kind for resource in problem.resources}
        self.appointed = {
            a.key for a in problem.activities if any(kinds[key] in APPOINTED for key in a.uses)
        }
        self.hands = _hands(problem)
        self.windows = _windows(problem)
        known: dict[tuple[Sequence[Interval], int, int], Hours] = {}
        self.hours: dict[str, Hours] = {}
        for activity in problem.activities:
            windows, least, around = _stints_in(activity, self.windows[activity.key])
            if (windows, least, around) not in known:
                known[windows, least, around] = Hours(windows, least, around)
            self.hours[activity.key] = known[windows, least, around]
        by_crew = {
            self.windows[a.key] for a in problem.activities if not self.hands.isdisjoint(a.uses)
        }
        self.crew_hours = merge(window for windows in by_crew for window in windows)
        calendars = {calendar.key: calendar for calendar in problem.calendars}
        self.clock = (
            None
            if problem.working_calendar is None
            else WorkingClock(calendars[problem.working_calendar].windows)
        )


def is_whole(activity: Activity) -> bool:
    """Whether it is done in one stint whatever happens."""
    return not activity.splittable or activity.effort < 2 * activity.shortest_stint


def planned_work(activity: Activity, windows: Sequence[Interval], stint: Stint) -> int:
    """The quarter-hours of work in a planned stint."""
    if activity.mode == "carried_on":
        return sum(b - a for a, b in intersect(windows, ((stint.start, stint.end),)))
    length = stint.end - stint.start
    return length if activity.mode == "elapsed" else length - activity.set_up - activity.clear_up


def _stints_in(
    activity: Activity, windows: tuple[Interval, ...]
) -> tuple[tuple[Interval, ...], int, int]:
    """Windows, shortest stint and set-up with clear-up as the activity's hours want them."""
    if activity.mode != "stints":
        return windows, 1, 0
    # What is done in one stint may turn out shorter than planned: any window is one then.
    least = 1 if is_whole(activity) else activity.shortest_stint
    return windows, least, activity.set_up + activity.clear_up


def _hands(problem: Problem) -> frozenset[str]:
    """The crews that get on with the next thing while one waits: those of one person."""
    held = {hold.resource for activity in problem.activities for hold in activity.holds}
    return frozenset(
        resource.key
        for resource in problem.resources
        if resource.kind == "crew" and resource.capacity == 1 and resource.key not in held
    )


def _windows(problem: Problem) -> dict[str, tuple[Interval, ...]]:
    """Each activity's hours, without those that facts take of what it uses."""
    facts: dict[str, list[Interval]] = {resource.key: [] for resource in problem.resources}
    for activity in problem.activities:
        if activity.fixed is not None:
            for key in activity.uses:
                facts[key].append(activity.fixed)
    free = {
        resource.key: complement(
            full_stretches(facts[resource.key], resource.capacity), 0, problem.horizon
        )
        for resource in problem.resources
        if facts[resource.key]
    }
    windows: dict[str, tuple[Interval, ...]] = {}
    known: dict[tuple[tuple[str, ...], tuple[str, ...]], tuple[Interval, ...]] = {}
    for activity in problem.activities:
        narrowed = tuple(key for key in activity.uses if key in free)
        if (activity.calendars, narrowed) not in known:
            own = activity_windows(problem, activity)
            for key in narrowed:
                own = intersect(own, free[key])
            known[activity.calendars, narrowed] = own
        windows[activity.key] = known[activity.calendars, narrowed]
    return windows
