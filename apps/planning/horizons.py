"""A long plan: the next three weeks to the quarter-hour, the rest of the year to the half-day.

Up to ten weeks are one question to the exact planner. A longer house gets a complete plan from
the generator; then what begins in the next three weeks is a question of its own, with what lies
behind as its bounds, and is planned exactly. What lies behind moves up into the room that
leaves. Its stints are not firm: shown to the half-day, they firm up as they come near.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from .account import solution
from .bounds import free_windows, heads, impossible
from .draft import Draft
from .levels import FINISH, Key, key
from .problem import Activity, Calendar, Interval, Problem, Release, Solution, Stint
from .search import first_plan, improve
from .site import Site, Tie
from .solver import own_bounds, solve
from .tidy import justify
from .warm import in_turn

DAY = 96
LONG = 70 * DAY
NEAR = 21 * DAY
# Small changes of the whole order tried before the near part is planned.
TRIES = 6
# A crew's stretch longer than this has two halves: a morning and an afternoon.
HALF_DAY = 16
NOT_BEFORE = Release(0, "predecessor", "What comes before it has its place already.")


def plan(
    problem: Problem,
    *,
    deterministic_seconds: float,
    on_first: Callable[[Solution], None] | None = None,
    workers: int = 1,
    now: int = 0,
) -> Solution:
    """The best plan found, exact where it is near; `solver.solve` for all but long houses.

    Args:
        now: the quarter-hour from which "the next three weeks" count. The rest as for `solve`.
    """
    if problem.horizon <= LONG:
        return solve(
            problem,
            deterministic_seconds=deterministic_seconds,
            on_first=on_first,
            workers=workers,
        )
    site = Site(problem)
    near_end = now + NEAR

    def marked(made: Solution) -> Solution:
        return replace(made, stints=coarse(problem, made.stints, now))

    draft = beginning(site)
    if on_first is not None:
        on_first(marked(solution(draft, bounds=(0,) * len(key(draft)))))
    if site.was:
        others = in_turn(site, stay_first=True), first_plan(site)
        draft = min((draft, *others), key=patient)
    else:
        draft = improve(site, draft, tries=TRIES)
    part = near_part(draft, near_end)
    if part.activities:
        found = solve(part, deterministic_seconds=deterministic_seconds, workers=workers)
        whole = joined(draft, part, found)
        if not site.was:
            draft = min(whole, draft, key=key)
        elif urgent(whole) <= urgent(draft) and sooner(draft, part, found):
            draft = whole
    if not site.was:
        draft = justify(draft)
    free = free_windows(site)
    first = heads(site, free)
    bounds = own_bounds(site, first, free, impossible(site, first), key(draft))
    return marked(solution(draft, bounds=bounds))


def urgent(draft: Draft) -> Key:
    """The levels before the finish."""
    return key(draft)[:FINISH]


def patient(draft: Draft) -> Key:
    """The levels of a long plan made again: before its finish comes how much of it moves.

    The finish of a year is months away and hears of every hour; the weeks between are what
    people have noted down. Only the near part is looked at by all levels in their order.
    """
    levels = key(draft)
    return (*levels[:FINISH], levels[-1], *levels[FINISH:-1])


def sooner(draft: Draft, part: Problem, found: Solution) -> bool:
    """Whether the near part as found is no worse, by its own levels, than as it stands."""
    standing = Draft(Site(part))
    for i, activity in enumerate(part.activities):
        stints = draft.stints[draft.site.index[activity.key]] if activity.fixed is None else None
        if stints is not None:
            standing.put(i, stints)
    return tuple(level.value for level in found.levels) < key(standing)


def beginning(site: Site) -> Draft:
    """A complete plan at once: the plan before, giving way where it must, or a first order."""
    if site.was:
        return in_turn(site, stay_first=False)
    return first_plan(site)


def coarse(problem: Problem, stints: tuple[Stint, ...], now: int) -> tuple[Stint, ...]:
    """The stints of a plan, those of a long one behind the next three weeks marked not firm."""
    if problem.horizon <= LONG:
        return stints
    fixed = {activity.key for activity in problem.activities if activity.fixed is not None}
    return tuple(
        replace(stint, firm=stint.start < now + NEAR or stint.activity in fixed) for stint in stints
    )


def half_days(problem: Problem, stints: tuple[Stint, ...], now: int) -> Iterator[Stint]:
    """Stints as they are shown: what is not firm fills the half-days of the crew it touches."""
    halves: list[Interval] = []
    hours = next((c for c in problem.calendars if c.key == problem.working_calendar), None)
    for opens, closes in () if hours is None else hours.windows:
        noon = (opens + closes) // 2
        halves += (
            [(opens, closes)] if closes - opens <= HALF_DAY else [(opens, noon), (noon, closes)]
        )
    for stint in coarse(problem, stints, now):
        own = [half for half in halves if half[0] < stint.end and half[1] > stint.start]
        if stint.firm or not own:
            yield stint
        else:
            start, end = min(stint.start, own[0][0]), max(stint.end, own[-1][1])
            yield replace(stint, start=start, end=end)


# The near part -----------------------------------------------------------------------------


def near_part(draft: Draft, near_end: int) -> Problem:
    """What lies wholly in the next weeks as a question of its own, the rest as its bounds.

    What reaches over the end, or hangs together with the rest otherwise than by having to end
    before it, stays where it is.
    """
    site, problem = draft.site, draft.site.problem
    free = free_to_move(draft, near_end)
    limit = {i: deadline(draft, i, free, near_end) for i in free}
    fixed = {i for i in range(site.count) if site.fixed(i)}
    keys = {site.activities[i].key for i in free | fixed}
    blocks = [
        block
        for i in range(site.count)
        if i not in free and i not in fixed and draft.stints[i]
        for block in standing(draft, i, near_end)
    ]
    links = [
        link for link in problem.links
        if {link.before, link.after} <= keys and not {link.before, link.after} <= {
            site.activities[i].key for i in fixed}
    ]  # fmt: skip
    inside = {site.activities[i].key for i in free}
    return replace(
        problem,
        horizon=near_end,
        activities=(
            *(bounded(draft, i, free, limit[i], near_end) for i in sorted(free)),
            *(site.activities[i] for i in sorted(fixed)),
            *blocks,
        ),
        links=tuple(links),
        calendars=(*problem.calendars, *(until(t, near_end) for t in sorted(set(limit.values())))),
        open_spans=tuple(
            replace(span, excludes=tuple(key for key in span.excludes if key in keys))
            for span in problem.open_spans
            if {span.opens, span.closes} - {None} <= keys and inside & set(span.excludes)
        ),
        previous=tuple(
            stint for stint in problem.previous
            if stint.activity in inside and stint.firm and stint.end <= near_end
        ),
        route_openings=tuple(
            opening for opening in problem.route_openings
            if {opening.opens, opening.closes} - {None} <= keys
        ),
        nights=tuple(night for night in problem.nights if night <= near_end),
    )  # fmt: skip


def free_to_move(draft: Draft, near_end: int) -> set[int]:
    """Movable activities that lie before the near end and hang on the rest only by order."""
    site = draft.site
    free = {
        i for i in site.movable
        if (stints := draft.stints[i]) and stints[-1][1] <= near_end
    }  # fmt: skip
    growing = True
    while growing:
        stays = {i for i in free if _tied(draft, i, free)}
        for span in site.spans:
            members = {j for j in (span.opens, span.closes, *span.excludes) if j is not None}
            inside = {j for j in members if j in free}
            if inside and any(j not in free and not site.fixed(j) for j in members):
                stays |= inside
        free -= stays
        growing = bool(stays)
    return free


def _tied(draft: Draft, i: int, free: set[int]) -> bool:
    """Whether a link to what stays is more than "ends before it" or "begins after it"."""
    site = draft.site

    def plain(tie: Tie) -> bool:
        return tie.link.max_lag is None and tie.from_end and not tie.to_end

    return any(
        not plain(tie)
        for tie in (*site.into[i], *site.out[i])
        for j in (tie.before, tie.after)
        if j != i and j not in free and not site.fixed(j)
    )


def deadline(draft: Draft, i: int, free: set[int], near_end: int) -> int:
    """When it must have ended for what stays behind it."""
    site = draft.site
    last = near_end
    for tie in site.out[i]:
        after = draft.start(tie.after)
        if tie.after not in free and not site.fixed(tie.after) and after is not None:
            last = min(last, tie.latest_before(after))
    return max(last, draft.end(i) or 0)


def bounded(draft: Draft, i: int, free: set[int], last: int, near_end: int) -> Activity:
    """A near activity with its deadline, and released by what stays before it."""
    site = draft.site
    activity = site.activities[i]
    releases = list(activity.releases)
    for tie in site.into[i]:
        since = draft.since(tie)
        if tie.before not in free and not site.fixed(tie.before) and since is not None:
            at = min(tie.earliest_after(since), draft.start(i) or 0)
            releases.append(replace(NOT_BEFORE, at=at))
    calendars = activity.calendars
    if last < near_end:
        calendars = (*calendars, until(last, near_end).key)
    return replace(activity, calendars=calendars, releases=tuple(releases))


def until(last: int, near_end: int) -> Calendar:
    """Hours that end where what lies behind begins."""
    windows = ((0, min(last, near_end)),)
    return Calendar(f"until:{last}", "predecessor", "What comes later needs it by then.", windows)


def standing(draft: Draft, i: int, near_end: int) -> Iterator[Activity]:
    """What stays as facts: one for each stretch of each resource it takes in the near part."""
    site = draft.site
    activity, resources = site.activities[i], site.problem.resources
    for n, (r, start, end, units) in enumerate(draft.taken(i, draft.stints[i] or [])):
        if start < near_end:
            yield Activity(
                f"{activity.key}#{n}", activity.ref, end - start,
                uses=(resources[r].key,), demand=(units,), fixed=(start, end),
            )  # fmt: skip


def joined(draft: Draft, part: Problem, found: Solution) -> Draft:
    """The plan with its near part as found."""
    site = draft.site
    whole = draft.copy()
    near = [site.index[a.key] for a in part.activities if a.fixed is None]
    for i in near:
        whole.take(i)
    anew: dict[int, list[Interval]] = {}
    for stint in found.stints:
        own = site.index.get(stint.activity)
        if own is not None and not site.fixed(own):
            anew.setdefault(own, []).append((stint.start, stint.end))
    for i, stints in anew.items():
        whole.put(i, sorted(stints))
    return whole
