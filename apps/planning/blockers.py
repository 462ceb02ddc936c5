"""What stands in the way of an activity at a place, in a plan that is made: every rule tried.

Looks at the question and the stints only, whatever made the plan. Things are named by keys:
"person:7" for a row, "tie:task:1>task:2" for a link, "calendar:loud" for hours of the house.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from .calendars import total
from .problem import Activity, Interval, Link, Problem, Ref

Placed = Mapping[str, Sequence[Interval]]


@dataclass(frozen=True, slots=True)
class Blocker:
    """One rule in the way: the things it comes from, and the activities that make it bite."""

    things: tuple[str, ...]
    activities: tuple[str, ...] = ()


def thing(ref: Ref) -> str:
    return f"{ref.kind}:{ref.id}"


def tie(link: Link) -> str:
    return f"tie:{link.before}>{link.after}"


def blockers(
    problem: Problem, placed: Placed, activity: Activity, place: Interval
) -> list[Blocker]:
    """Every rule that the activity would break if it began and ended at `place`.

    Args:
        placed: the plan's stints by activity.
        place: [start, end) in quarter-hours; of an activity in several stints, one of them.
    """
    return [
        *_of_releases(activity, place),
        *_of_calendars(problem, activity, place),
        *_of_links(problem, placed, activity, place),
        *_of_spans(problem, placed, activity, place),
        *_of_resources(problem, placed, activity, place),
    ]


def _of_releases(activity: Activity, place: Interval) -> Iterator[Blocker]:
    for release in activity.releases:
        if place[0] < release.at:
            yield Blocker(tuple(map(thing, release.by)))


def _of_calendars(problem: Problem, activity: Activity, place: Interval) -> Iterator[Blocker]:
    for calendar in problem.calendars:
        if calendar.key in activity.calendars and not any(
            opens <= place[0] and place[1] <= closes for opens, closes in calendar.windows
        ):
            yield Blocker((f"calendar:{calendar.key}", *map(thing, calendar.by)))


def _of_links(
    problem: Problem, placed: Placed, activity: Activity, place: Interval
) -> Iterator[Blocker]:
    for link in problem.links:
        if activity.key not in {link.before, link.after}:
            continue
        other = link.before if link.after == activity.key else link.after
        spans = {activity.key: place}
        if own := placed.get(other):
            spans[other] = (own[0][0], own[-1][1])
        if len(spans) < 2:
            # Nothing follows what has no place, and nothing goes before it.
            if link.after == activity.key:
                yield Blocker((tie(link), *map(thing, link.by)), (other,))
            continue
        wait = _wait(problem, link, spans[link.before], spans[link.after])
        if wait < link.min_lag or (link.max_lag is not None and wait > link.max_lag):
            yield Blocker((tie(link), *map(thing, link.by)), (other,))


def _wait(problem: Problem, link: Link, before: Interval, after: Interval) -> int:
    """The wait between the link's two points on its own clock; negative when they overlap."""
    since = before[1] if link.kind in {"FS", "FF"} else before[0]
    until = after[0] if link.kind in {"FS", "SS"} else after[1]
    if link.clock == "elapsed" or until < since:
        return until - since
    hours = next((c for c in problem.calendars if c.key == problem.working_calendar), None)
    return until - since if hours is None else total(hours.windows, (since, until))


def _of_spans(
    problem: Problem, placed: Placed, activity: Activity, place: Interval
) -> Iterator[Blocker]:
    for span in problem.open_spans:
        if activity.key not in span.excludes:
            continue
        opens = placed.get(span.opens or "")
        closes = placed.get(span.closes or "")
        since = opens[0][0] if opens else None if span.opens is None else problem.horizon
        until = closes[-1][1] if closes else problem.horizon
        if (since is None or since < place[1]) and place[0] < until:
            ends = tuple(key for key in (span.closes, span.opens) if key is not None)
            yield Blocker(tuple(map(thing, span.by)), ends)


def _of_resources(
    problem: Problem, placed: Placed, activity: Activity, place: Interval
) -> Iterator[Blocker]:
    mine = units(activity)
    for resource in problem.resources:
        if resource.key not in mine:
            continue
        clashing = [
            (start, end, other.key, units(other)[resource.key])
            for other in problem.activities
            if other.key != activity.key and resource.key in other.uses
            for start, end in placed.get(other.key, ())
            if start < place[1] and place[0] < end
        ]
        edges = {place[0], *(start for start, _, _, _ in clashing if start > place[0])}
        most = max(
            sum(held for start, end, _, held in clashing if start <= at < end) for at in edges
        )
        if most + mine[resource.key] > resource.capacity:
            keys = dict.fromkeys(key for _, _, key, _ in sorted(clashing))
            things = () if resource.ref is None else (thing(resource.ref),)
            yield Blocker(things, tuple(keys))


def units(activity: Activity) -> dict[str, int]:
    """How much of each resource an activity holds."""
    return dict(zip(activity.uses, activity.demand or (1,) * len(activity.uses), strict=True))
