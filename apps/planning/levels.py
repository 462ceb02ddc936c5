"""The objective, most important first, recomputed from the stints of a plan alone.

unplaced: quarter-hours of effort that have no place; unready: quarter-hours by which links
into fixed activities and longest waits are broken; late: weighted quarter-hours past due
dates; disturbed: settled work of the previous plan that begins elsewhere; finish: the last
end of anything that can move; open nights: nights with boards up on a household route;
breaks: how often work is broken off; moved: work that begins elsewhere than before.
"""

from __future__ import annotations

from .draft import Draft
from .problem import LevelName, Unready
from .site import Tie
from .windows import NEVER

# One value for each of `LEVELS`.
Key = tuple[int, ...]
LEVELS: tuple[LevelName, ...] = (
    "unplaced",
    "unready",
    "late",
    "disturbed",
    "finish",
    "open_nights",
    "breaks",
    "moved",
)
UNPLACED, UNREADY, LATE, DISTURBED, FINISH, OPEN_NIGHTS, BREAKS, MOVED = range(len(LEVELS))


def shortage(draft: Draft, tie: Tie) -> int:
    """Quarter-hours by which a link falls short in this plan; 0 when kept.

    What has no place counts, before a fixed activity, as ending with the planning axis:
    sooner it cannot be. A longest wait for something without a place is not broken.
    """
    until = draft.until(tie)
    if until is None:
        return 0
    since = draft.since(tie)
    if since is not None:
        return tie.short(since, until)
    if draft.site.binding(tie):
        return 0
    return max(0, tie.link.min_lag - tie.wait(max(draft.site.horizon, until), until))


def unready(draft: Draft) -> list[Unready]:
    """Every link that this plan does not keep, in the order of the problem's links."""
    broken = []
    for tie in draft.site.ties:
        short = shortage(draft, tie)
        if short:
            broken.append(Unready(tie.link, short))
    return broken


def soft(tie: Tie, draft: Draft) -> bool:
    return tie.link.max_lag is not None or not draft.site.binding(tie)


def key(draft: Draft) -> Key:
    """All levels as one tuple that compares in order of importance."""
    site = draft.site
    unplaced = late = finish = breaks = 0
    for i, activity in enumerate(site.activities):
        stints = draft.stints[i]
        if stints is None:
            unplaced += activity.effort
            continue
        end = stints[-1][1]
        if activity.due is not None and end > activity.due:
            late += activity.due_weight * (end - activity.due)
        if activity.fixed is None:
            finish = max(finish, end)
            if len(stints) > 1 and activity.mode == "stints":
                breaks += len(stints) - 1
    short = sum(shortage(draft, tie) for tie in site.ties if soft(tie, draft))
    moved = [i for i in site.was if has_moved(draft, i)]
    disturbed = sum(i in site.settled for i in moved)
    return unplaced, short, late, disturbed, finish, open_nights(draft), breaks, len(moved)


def has_moved(draft: Draft, i: int) -> bool:
    """Whether it begins elsewhere than in the previous plan, or has no place."""
    start = draft.start(i)
    first, last = draft.site.was[i]
    return start is None or not first <= start < last


def open_nights(draft: Draft) -> int:
    """Nights in which boards are up on a household route."""
    site = draft.site
    if not site.openings:
        return 0
    nights: set[int] = set()
    for opens, closes in site.openings:
        since = -NEVER if opens is None else draft.end(opens)
        if since is None:
            continue
        closed = None if closes is None else draft.end(closes)
        until = NEVER if closed is None else closed
        nights.update(night for night in site.problem.nights if since <= night < until)
    return len(nights)
