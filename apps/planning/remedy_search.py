"""Remedies for a plan's complaints, each tried by solving the changed question again.

Effort is counted in activities placed, not in seconds, so that the same plan always gets the
same remedies. A try is the generator from the plan's own order and a short search; what it
finds is a plan, so a remedy does at least what is said of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from .complaints import Complaint, still_short
from .levels import LEVELS, key
from .mending import BUILDS, planned
from .problem import Activity, Interval, Problem, Release, Solution
from .remedies import Change, Figures, Offer, Remedy, applied, cheapest
from .windows import complement, intersect

REMEDIES_EACH = 3
# Activities placed, over all complaints of a plan: about a second and a half for a house of
# fifty activities on a 2020s server core.
BUDGET = 30_000
# So many evenings in a row are suggested at most.
EVENINGS_AT_ONCE = 3
# What keeps a moved visit's forerunners first while its first feasible date is looked for.
URGENT = 100


def remedies(
    problem: Problem,
    solution: Solution,
    complaints: Sequence[Complaint],
    offer: Offer,
    *,
    budget: int = BUDGET,
) -> dict[Complaint, tuple[Remedy, ...]]:
    """The cheapest remedies of each complaint, as far as the budget reaches.

    Args:
        budget: activities placed over all tries. Complaints take turns, so that each has its
            likeliest remedy tried before any has its last.
    """
    asked = replace(problem, previous=solution.stints)
    cost = len(problem.activities) * BUILDS
    tries = {one: _changes(asked, solution, one, offer) for one in complaints}
    found: dict[Complaint, list[Remedy]] = {one: [] for one in complaints}
    while tries and budget > 0:
        for complaint in list(tries):
            change = next(tries[complaint], None)
            if change is None:
                del tries[complaint]
                continue
            if budget <= 0:
                break
            # A visit's first feasible date took a solve of its own.
            budget -= cost * (2 if change.kind == "move_visit" else 1)
            remedy = tried(asked, solution, complaint, change)
            if remedy is not None:
                found[complaint].append(remedy)
    return {one: cheapest(rows, REMEDIES_EACH) for one, rows in found.items()}


def tried(
    problem: Problem, solution: Solution, complaint: Complaint, change: Change
) -> Remedy | None:
    """One change solved again. None when the activity complained of has still no place."""
    draft = planned(applied(problem, change), solution, complaint.needs)
    short = still_short(draft, complaint)
    if short is None:
        return None
    now = _figures(solution, complaint)
    levels = dict(zip(LEVELS, key(draft), strict=True))
    after = Figures(short, *(levels[name] for name in ("unplaced", "unready", "late", "finish")))
    return Remedy(change, now, after, _size(problem, solution, change))


def first_feasible(problem: Problem, solution: Solution, complaint: Complaint) -> Interval | None:
    """The first time, not before its own, at which an outsider's preparation can be ready."""
    activity = next(one for one in problem.activities if one.key == complaint.activity)
    if activity.fixed is None:
        return None
    start, end = activity.fixed
    later = Release(start, "visit", "It stays where it is agreed, or comes later.")
    free = replace(
        activity, fixed=None, splittable=False, effort=end - start, due=end, due_weight=URGENT,
        releases=(*activity.releases, later),
    )  # fmt: skip
    draft = planned(_with(problem, free), solution, complaint.needs, activity.key)
    i = draft.site.index[activity.key]
    begun, done = draft.start(i), draft.end(i)
    return None if begun is None or done is None else (begun, done)


def _with(problem: Problem, changed: Activity) -> Problem:
    rows = (changed if one.key == changed.key else one for one in problem.activities)
    return replace(problem, activities=tuple(rows))


def _figures(solution: Solution, complaint: Complaint) -> Figures:
    return Figures(
        complaint.short,
        *(solution.level(name).value for name in ("unplaced", "unready", "late", "finish")),
    )


def _size(problem: Problem, solution: Solution, change: Change) -> int:
    """Quarter-hours that a remedy is big: moved by, added, left out."""
    if change.kind in {"add_evening", "bring_helper"}:
        return sum(end - start for start, end in change.windows)
    activity = next((one for one in problem.activities if one.key == change.activity), None)
    if change.kind == "drop_task" and activity is not None:
        return activity.effort
    if change.kind == "move_visit" and activity is not None and change.place is not None:
        was = activity.due or 0 if activity.fixed is None else activity.fixed[1]
        return max(0, change.place[1] - was)
    return 0


def _changes(
    problem: Problem, solution: Solution, complaint: Complaint, offer: Offer
) -> Iterator[Change]:
    """Changes worth trying for a complaint, the likeliest first."""
    yield from _moves(problem, solution, complaint, offer)
    yield from _links(problem, solution, complaint, offer)
    yield from _splits(problem, complaint)
    yield from _helpers(problem, complaint)
    yield from _evenings(complaint, offer)
    yield from _drops(complaint, offer)


def _moves(
    problem: Problem, solution: Solution, complaint: Complaint, offer: Offer
) -> Iterator[Change]:
    """An outsider moved to the first date at which all can be ready."""
    if complaint.kind == "window":
        own = [stint for stint in solution.stints if stint.activity == complaint.activity]
        yield Change("move_visit", complaint.activity, (own[0].start, own[-1].end))
    if complaint.kind != "unready":
        return
    place = first_feasible(problem, solution, complaint)
    if place is None:
        return
    length = place[1] - place[0]
    starts = [at for at in offer.visit_starts.get(complaint.activity, ()) if at >= place[0]]
    at = min(starts, default=place[0])
    yield Change("move_visit", complaint.activity, (at, at + length))


def _links(
    problem: Problem, solution: Solution, complaint: Complaint, offer: Offer
) -> Iterator[Change]:
    """In a circle: one of its links taken out."""
    if complaint.kind != "unplaced":
        return
    for circle in solution.circles:
        if complaint.activity in {link.before for link in circle}:
            for link in circle:
                if link in offer.loose_links:
                    yield Change("drop_link", link.after, link=link)


def _splits(problem: Problem, complaint: Complaint) -> Iterator[Change]:
    for activity in problem.activities:
        if (
            activity.key in complaint.needs
            and activity.ref.kind == "task"
            and activity.mode == "stints"
            and not activity.splittable
            and activity.effort >= 2 * activity.shortest_stint
        ):
            yield Change("split_task", activity.key)


def _helpers(problem: Problem, complaint: Complaint) -> Iterator[Change]:
    """A helper on the crew's first and last hours before it that are long enough."""
    found = {calendar.key: calendar for calendar in problem.calendars}
    for activity in problem.activities:
        away = [name for name in activity.calendars if found[name].code == "helper_away"]
        if activity.key not in complaint.needs or not away:
            continue
        rest = [found[name].windows for name in activity.calendars if name not in away]
        begin = max((release.at for release in activity.releases), default=0)
        hours: Sequence[Interval] = [(max(0, begin), complaint.until)]
        for windows in rest:
            hours = intersect(hours, windows)
        for name in away:
            hours = intersect(hours, complement(found[name].windows, 0, problem.horizon))
        needed = activity.set_up + activity.effort + activity.clear_up
        if activity.splittable:
            needed = min(needed, activity.set_up + activity.shortest_stint + activity.clear_up)
        long = [window for window in hours if window[1] - window[0] >= needed]
        for start, end in dict.fromkeys([*long[:1], *long[-1:]]):
            last = min(end, start + activity.set_up + activity.effort + activity.clear_up)
            yield Change(
                "bring_helper", activity.key, calendars=tuple(away), windows=((start, last),)
            )


def _evenings(complaint: Complaint, offer: Offer) -> Iterator[Change]:
    """The first free evening, the last one before it is needed, and as many as are short."""
    free = [
        evening
        for evening in offer.evenings
        if evening[0] >= complaint.since and evening[1] <= complaint.until
    ]
    if not free or not offer.crew:
        return
    yield Change("add_evening", calendars=offer.crew, windows=(free[0],))
    if len(free) > 1:
        yield Change("add_evening", calendars=offer.crew, windows=(free[-1],))
    for count in range(2, min(EVENINGS_AT_ONCE, len(free)) + 1):
        yield Change("add_evening", calendars=offer.crew, windows=tuple(free[:count]))


def _drops(complaint: Complaint, offer: Offer) -> Iterator[Change]:
    """Left out: the shortest task that takes enough of the time, then the others by size."""
    able = [taken for taken in complaint.taken_by if taken.activity in offer.droppable]
    able.sort(key=lambda one: (one.quarters < complaint.working_short, one.quarters))
    for taken in able[:2]:
        yield Change("drop_task", taken.activity)
