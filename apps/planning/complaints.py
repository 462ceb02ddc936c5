"""What a plan does not manage, each with how much is short and what takes the time.

A complaint is something without a place, an outsider who comes before all is ready, a longest
wait that is not kept, or a wanted visit that misses its window.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from .account import draft_of
from .draft import Draft
from .levels import shortage
from .problem import Interval, Link, Problem, Ref, Solution
from .site import Site
from .windows import Clock, merge

ComplaintKind = Literal["unplaced", "unready", "too_long", "window"]

# The stints that take most of the time are named, the crumbs are not.
TAKERS_NAMED = 8
OUTSIDERS = frozenset({"visit", "inspection"})


@dataclass(frozen=True, slots=True)
class Taken:
    """Other work in hours that the complaint could have used, and how much of them."""

    ref: Ref
    activity: str
    quarters: int


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing that the plan does not manage.

    Attributes:
        activity: what is without a place, not ready, too late.
        short: quarter-hours missing: of effort for what has no place, else on the wall.
        working_short: how many quarters of the crew's hours lie in that stretch of wall.
        link: the worst broken link of something unready or of a wait that is too long.
        needs: keys of the movable activities whose time is short: what must be done first.
        since, until: the stretch in which they would have to be done.
        taken_by: what else is planned in their hours there, most time first.
    """

    kind: ComplaintKind
    activity: str
    short: int
    working_short: int
    link: Link | None
    needs: frozenset[str]
    since: int
    until: int
    taken_by: tuple[Taken, ...]


def complaints(problem: Problem, solution: Solution) -> tuple[Complaint, ...]:
    """Everything that a plan does not manage, outsiders first: somebody must be told."""
    site = Site(problem)
    draft = draft_of(site, solution.stints)
    return (
        *_unready(draft, solution),
        *_windows(draft),
        *_unplaced(draft, solution),
    )


def _unready(draft: Draft, solution: Solution) -> Iterator[Complaint]:
    """The worst link of each outsider, and every longest wait between movable activities."""
    site = draft.site
    worst: dict[tuple[str, str], tuple[int, Link]] = {}
    for row in solution.unready:
        outsider = site.fixed(site.index[row.link.after])
        # An outsider is told once, however many links are broken; a longest wait each.
        group = (row.link.after, "" if outsider else row.link.before)
        if row.short > worst.get(group, (0, row.link))[0]:
            worst[group] = (row.short, row.link)
    for (key, before), (short, link) in worst.items():
        tie = next(tie for tie in site.into[site.index[key]] if tie.link is link)
        point = draft.until(tie) or 0
        ends = draft.since(tie)
        if before:
            # The later of the two comes too late: what holds it up is work after the earlier.
            needs = _forerunners(site, tie.after) - {link.before}
            since = ends or 0
            working = working_quarters(site.problem, point - short, point)
            own = _takers(draft, needs, (since, point))
            yield Complaint("too_long", key, short, working, link, needs, since, point, own)
        else:
            needs = _forerunners(site, tie.before)
            until = max(0, tie.latest_before(point))
            ready = site.horizon if ends is None else ends
            working = working_quarters(site.problem, ready - short, ready)
            begin = _begin(site, needs)
            own = _takers(draft, needs, (begin, until))
            yield Complaint("unready", key, short, working, link, needs, begin, until, own)


def _windows(draft: Draft) -> Iterator[Complaint]:
    """Visits not agreed yet that come after the window in which they are wanted."""
    site = draft.site
    for i in site.movable:
        activity = site.activities[i]
        end = draft.end(i)
        if activity.ref.kind in OUTSIDERS and activity.due is not None and end is not None:
            late = end - activity.due
            if late > 0:
                needs = _forerunners(site, i)
                begin = _begin(site, needs)
                working = working_quarters(site.problem, activity.due, end)
                own = _takers(draft, needs, (begin, activity.due))
                yield Complaint(
                    "window", activity.key, late, working, None, needs, begin, activity.due, own
                )


def _unplaced(draft: Draft, solution: Solution) -> Iterator[Complaint]:
    site = draft.site
    for row in solution.unplaced:
        i = site.index[row.activity]
        needs = _forerunners(site, i)
        # What waits for itself, or for a word that nobody gave, is short of no hours.
        since, until = (0, 0) if i in site.stuck else (_begin(site, needs), site.horizon)
        own = _takers(draft, needs, (since, until))
        yield Complaint(
            "unplaced", row.activity, row.short, row.short, None, needs, since, until, own
        )


def working_quarters(problem: Problem, start: int, end: int) -> int:
    """Quarter-hours of the crew's working time between two quarter-hours; 0 without a calendar."""
    for calendar in problem.calendars:
        if calendar.key == problem.working_calendar:
            clock = Clock(calendar.windows)
            return clock.reading(end) - clock.reading(start)
    return 0


def _forerunners(site: Site, i: int) -> frozenset[str]:
    """An activity and all that must be done before it, fixed things left out."""
    seen = {i}
    stack = [i]
    while stack:
        for tie in site.into[stack.pop()]:
            if tie.before not in seen and not site.fixed(tie.before):
                seen.add(tie.before)
                stack.append(tie.before)
    return frozenset(site.activities[j].key for j in seen if not site.fixed(j))


def _begin(site: Site, needs: Iterable[str]) -> int:
    """The first moment at which any of it could begin."""
    return min((site.release[site.index[key]] for key in needs), default=0)


def _takers(draft: Draft, needs: frozenset[str], stretch: Interval) -> tuple[Taken, ...]:
    """Other activities on the same resources in the hours of what is short."""
    site = draft.site
    wanted = [site.index[key] for key in needs]
    resources = {r for i in wanted for r in site.uses[i]}
    hours = merge(window for i in wanted for window in site.windows[i])
    taken: list[Taken] = []
    for j, activity in enumerate(site.activities):
        if activity.key in needs or not resources & set(site.uses[j]):
            continue
        quarters = sum(
            max(0, min(end, closes, stretch[1]) - max(start, opens, stretch[0]))
            for start, end in draft.stints[j] or ()
            for opens, closes in hours
        )
        if quarters:
            taken.append(Taken(activity.ref, activity.key, quarters))
    taken.sort(key=lambda one: (-one.quarters, one.activity))
    return tuple(taken[:TAKERS_NAMED])


def still_short(draft: Draft, complaint: Complaint) -> int | None:
    """By how much a complaint holds in another plan of a changed problem; None without a place."""
    site = draft.site
    i = site.index.get(complaint.activity)
    if i is None:
        return 0
    end = draft.end(i)
    if end is None:
        return None
    if complaint.kind == "unplaced":
        return 0
    if complaint.kind == "window":
        due = site.activities[i].due
        return max(0, end - due) if due is not None else 0
    if complaint.kind == "too_long":
        assert complaint.link is not None, "a wait that is too long is a link's"  # nosec B101
        before = complaint.link.before
        return max(
            (shortage(draft, tie) for tie in site.into[i] if tie.link.before == before), default=0
        )
    return max((shortage(draft, tie) for tie in site.into[i]), default=0)
