"""From the planner's vocabulary to plain numbers, and a refusal of what lists do not cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from apps.planning.problem import Activity, Link, Problem

MOST_UNITS = 1 << 40


@dataclass(frozen=True, slots=True)
class Arc:
    """start(after) >= start(before) + lag, by index; a negative lag bounds `before` from above."""

    before: int
    after: int
    lag: int


@dataclass(frozen=True, slots=True)
class Question:
    """Activities of fixed length that compete for units of resources, and waits between starts.

    Attributes:
        durations: of each activity, 0 or more.
        demands: units of each resource an activity takes, [activity][resource]; 0 where its
            duration is.
        capacities: of each resource.
        arcs: the least wait from one start to another; only the longest of a pair is kept.
        horizon: everything ends by then.
    """

    durations: tuple[int, ...]
    demands: tuple[tuple[int, ...], ...]
    capacities: tuple[int, ...]
    arcs: tuple[Arc, ...]
    horizon: int

    @property
    def size(self) -> int:
        return len(self.durations)


def question_of(problem: Problem) -> Question:
    """The same problem in numbers, activities and resources in their order.

    Unlike the house's planner it takes an effort of 0: the dummy first and last job of a
    published instance.

    Raises:
        ValueError: for hours, dates, notices, open boards, work that may be broken off, and
            anything else that only the house's planner knows; the sentence names it.
    """
    if problem.open_spans:
        raise ValueError("Open boards need the house's planner.")
    places = {resource.key: at for at, resource in enumerate(problem.resources)}
    index = {activity.key: at for at, activity in enumerate(problem.activities)}
    if len(index) < len(problem.activities):
        raise ValueError("Two activities have the same key.")
    for activity in problem.activities:
        _refuse(activity)
    if any(resource.capacity >= MOST_UNITS for resource in problem.resources):
        raise ValueError(f"A resource has {MOST_UNITS} units or more.")
    return Question(
        durations=tuple(activity.effort for activity in problem.activities),
        demands=tuple(_demand(activity, places) for activity in problem.activities),
        capacities=tuple(resource.capacity for resource in problem.resources),
        arcs=_arcs(problem, index),
        horizon=problem.horizon,
    )


def _refuse(activity: Activity) -> None:
    wants = {
        "hours": activity.calendars or activity.within,
        "a date": activity.releases or activity.due is not None or activity.fixed,
        "something held longer than its work": activity.holds,
        "set-up or clear-up": activity.set_up or activity.clear_up,
        "less than no work": activity.effort < 0,
        "to be broken off at will": activity.splittable and activity.mode == "stints",
    }
    for what, so in wants.items():
        if so:
            raise ValueError(f"Activity {activity.key} wants {what}: lists do not cover that.")


def _demand(activity: Activity, places: dict[str, int]) -> tuple[int, ...]:
    units = [0] * len(places)
    if activity.demand and len(activity.demand) != len(activity.uses):
        raise ValueError(f"Activity {activity.key} has not one demand for each resource it uses.")
    for key, demand in zip(
        activity.uses, activity.demand or (1,) * len(activity.uses), strict=True
    ):
        if key not in places:
            raise ValueError(f"Activity {activity.key} uses {key}, which is no resource.")
        if demand < 0:
            raise ValueError(f"Activity {activity.key} has a demand below 0.")
        units[places[key]] += demand if activity.effort else 0
    return tuple(units)


def _arcs(problem: Problem, index: dict[str, int]) -> tuple[Arc, ...]:
    longest: dict[tuple[int, int], int] = {}
    for link in problem.links:
        if link.clock != "elapsed" and (link.min_lag or link.max_lag is not None):
            raise ValueError("A wait in working time needs the house's planner.")
        if link.before not in index or link.after not in index:
            raise ValueError(f"A link names {link.before} and {link.after}; one is no activity.")
        before, after = index[link.before], index[link.after]
        offset = _offset(link, problem.activities[before], problem.activities[after])
        ways = [(before, after, offset + link.min_lag)]
        if link.max_lag is not None:
            ways.append((after, before, -(offset + link.max_lag)))
        for one, other, lag in ways:
            longest[one, other] = max(lag, longest.get((one, other), lag))
    return tuple(Arc(one, other, lag) for (one, other), lag in sorted(longest.items()))


def _offset(link: Link, before: Activity, after: Activity) -> int:
    """What turns a wait of this kind into one between the two starts."""
    own = before.effort if link.kind in {"FS", "FF"} else 0
    return own - (after.effort if link.kind in {"FF", "SF"} else 0)


def keeps(question: Question, starts: Sequence[int]) -> bool:
    """Whether a schedule keeps every wait, every capacity and the horizon."""
    ends = [start + length for start, length in zip(starts, question.durations, strict=True)]
    if min(starts, default=0) < 0 or max(ends, default=0) > question.horizon:
        return False
    if any(starts[arc.after] - starts[arc.before] < arc.lag for arc in question.arcs):
        return False
    for at, capacity in enumerate(question.capacities):
        changes = sorted(
            change
            for start, end, demand in zip(starts, ends, question.demands, strict=True)
            if demand[at]
            for change in ((start, demand[at]), (end, -demand[at]))
        )
        used = 0
        for _, units in changes:  # at one instant, what ends comes before what begins
            used += units
            if used > capacity:
                return False
    return True
