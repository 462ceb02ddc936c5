"""From a draft to a solution: its stints and levels, and an honest account of what has no place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .draft import Draft
from .levels import LEVELS, key, unready
from .placing import earliest, fill
from .problem import Activity, Level, Problem, ReasonCode, Ref, Solution, Stint, Unplaced
from .site import Site, activity_windows
from .words import duration


def solution(draft: Draft, *, bounds: Sequence[int]) -> Solution:
    """The draft as plain data. `bounds`: a proven lower bound per level, clipped to its value."""
    site = draft.site
    values = key(draft)
    stints = sorted(
        (
            Stint(site.activities[i].key, start, end)
            for i in range(site.count)
            for start, end in draft.stints[i] or ()
        ),
        key=lambda stint: (stint.start, stint.end, stint.activity),
    )
    return Solution(
        stints=tuple(stints),
        unplaced=tuple(account(draft, i) for i in site.movable if draft.stints[i] is None),
        unready=tuple(unready(draft)),
        levels=tuple(
            Level(name, value, min(value, bound))
            for name, value, bound in zip(LEVELS, values, bounds, strict=True)
        ),
        circles=site.circles,
    )


def draft_of(site: Site, stints: Sequence[Stint]) -> Draft:
    """The draft that a solution's stints came from."""
    draft = Draft(site)
    by_activity: dict[int, list[tuple[int, int]]] = {}
    for stint in stints:
        i = site.index[stint.activity]
        if not site.fixed(i):
            by_activity.setdefault(i, []).append((stint.start, stint.end))
    for i, own in by_activity.items():
        draft.put(i, sorted(own))
    return draft


def account(draft: Draft, i: int) -> Unplaced:
    """Why an activity has no place: the first cause found, from the certain to the tight."""
    site = draft.site
    activity = site.activities[i]
    name = activity.ref.name
    for circle in site.circles:
        if activity.key in {link.before for link in circle}:
            names = [site.activities[site.index[link.before]].ref for link in circle]
            chain = " → ".join(ref.name for ref in [*names, names[0]])
            return _unplaced(activity, "predecessor", f"{name} waits for itself: {chain}.", names)
    for tie in site.into[i]:
        if site.binding(tie) and draft.stints[tie.before] is None:
            first = site.activities[tie.before].ref
            sentence = f"{name} waits for {first.name}, which has no place in the plan."
            return _unplaced(activity, tie.link.code, sentence, [first, *tie.link.by])
    if not site.windows[i]:
        return _no_window(site, activity)
    for s, span in enumerate(site.spans):
        opens_now = span.opens is None or draft.stints[span.opens] is not None
        if i in span.excludes and opens_now:
            _, left = fill(draft, i, *earliest(draft, i), ())
            if not left:
                told = site.problem.open_spans[s]
                never = "" if span.closes is not None else " and nothing closes them"
                sentence = told.sentence or f"{name} cannot happen while boards are up{never}."
                return _unplaced(activity, "boards_held", sentence, told.by)
    return _no_room(draft, i)


def _unplaced(
    activity: Activity,
    code: ReasonCode,
    sentence: str,
    by: Sequence[Ref],
    short: int | None = None,
) -> Unplaced:
    return Unplaced(
        activity.key,
        code,
        sentence,
        activity.effort if short is None else max(1, short),
        tuple(dict.fromkeys(by)),
    )


def _no_window(site: Site, activity: Activity) -> Unplaced:
    """No stretch of its hours is long enough: name the calendar that cuts them."""
    problem = site.problem
    i = site.index[activity.key]
    needed = site.least[i] + site.around[i]
    longest = max((end - start for start, end in activity_windows(problem, activity)), default=0)
    found = {calendar.key: calendar for calendar in problem.calendars}
    calendars = [found[name] for name in activity.calendars]
    guilty = [
        calendar
        for calendar in calendars
        if _longest_without(problem, activity, calendar.key) >= needed
    ] or calendars
    has = f"the longest there is has {duration(longest)}" if longest else "there is none at all"
    sentence = f"{activity.ref.name} needs {duration(needed)} in one stretch; {has}."
    if not guilty:
        return _unplaced(activity, "no_working_time", sentence, (), needed - longest)
    # Where leaving out either of two calendars would help, the narrower one is to blame.
    blame = min(guilty, key=lambda calendar: sum(b - a for a, b in calendar.windows))
    return _unplaced(
        activity, blame.code, f"{sentence} {blame.sentence}".strip(), blame.by, needed - longest
    )


def _longest_without(problem: Problem, activity: Activity, left_out: str) -> int:
    rest = tuple(key for key in activity.calendars if key != left_out)
    windows = activity_windows(problem, replace(activity, calendars=rest))
    return max((end - start for start, end in windows), default=0)


def _no_room(draft: Draft, i: int) -> Unplaced:
    """There are hours, but not enough of them are left: say how many are missing."""
    site = draft.site
    activity = site.activities[i]
    name = activity.ref.name
    start, end = earliest(draft, i)
    forbidden = draft.forbidden(i)
    _, alone = fill(Draft(site), i, start, end, ())
    stretches = [until - at - site.around[i] for at, until in draft.gaps(i, start, forbidden)]
    _, left = fill(draft, i, start, end, forbidden)
    if site.least[i] == site.effort[i]:
        left = site.effort[i] - max([0, *stretches])
    late = [release for release in activity.releases if release.at == start]
    if alone and late:
        sentence = f"{name} cannot start before there is too little time left. {late[0].sentence}"
        return _unplaced(activity, late[0].code, sentence.strip(), late[0].by, left)
    missing = max(1, left)
    if alone:
        holders = [tie for tie in site.into[i] if draft.since(tie) is not None]
        if holders and start > site.release[i]:
            tie = max(holders, key=lambda tie: tie.earliest_after(draft.since(tie) or 0))
            first = site.activities[tie.before].ref
            sentence = (
                f"{name} must wait for {first.name}; after that {duration(missing)} "
                "of its time are missing before the plan ends."
            )
            return _unplaced(activity, tie.link.code, sentence, [first, *tie.link.by], left)
        sentence = f"{name} has {duration(missing)} too little time before the plan ends."
        return _unplaced(activity, "no_working_time", sentence, (), left)
    holders_of_time = [site.problem.resources[r] for r in site.uses[i]]
    refs = [resource.ref for resource in holders_of_time if resource.ref is not None]
    tool = [resource for resource in holders_of_time if resource.kind == "tool"]
    code: ReasonCode = "tool_busy" if tool and len(tool) == len(holders_of_time) else "crew_busy"
    sentence = f"{name} finds no room: other work takes the hours, {duration(missing)} are missing."
    return _unplaced(activity, code, sentence, refs, left)
