"""The objective, most important first, recomputed from the stints of a plan alone.

unplaced: quarter-hours of effort that have no place; unready: quarter-hours by which links
into fixed activities and longest waits are broken; late: weighted quarter-hours past due
dates; finish: the last end of anything that can move.
"""

from __future__ import annotations

from .draft import Draft
from .problem import Unready
from .site import Tie

Key = tuple[int, int, int, int]


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
    """The four levels as one tuple that compares in order of importance."""
    site = draft.site
    unplaced = late = finish = 0
    for i, activity in enumerate(site.activities):
        end = draft.end(i)
        if end is None:
            unplaced += activity.effort
            continue
        if activity.due is not None and end > activity.due:
            late += activity.due_weight * (end - activity.due)
        if activity.fixed is None and end > finish:
            finish = end
    short = sum(shortage(draft, tie) for tie in site.ties if soft(tie, draft))
    return unplaced, short, late, finish
