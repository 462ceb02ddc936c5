"""What breaks when one stint of a plan moves: every rule tried, none guessed.

Used twice: tidying moves a stint when nothing breaks, and a reason names what does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from .draft import Draft
from .levels import shortage
from .problem import Calendar, Interval, Release
from .site import Span, Tie
from .windows import NEVER, full_stretches

# Activity number and the stint of it that is in the way.
Clash = tuple[int, Interval]


@dataclass(frozen=True, slots=True)
class Broken:
    """One broken rule: what kind, the rule itself, and by how many quarters where it counts."""

    kind: Literal["tie", "span", "release", "calendar", "resource", "itself", "origin"]
    rule: Tie | Span | Release | Calendar | int | None = None
    short: int = 0
    clashes: tuple[Clash, ...] = ()


def moved(draft: Draft, i: int, k: int, start: int) -> list[Interval]:
    """The activity's stints with the k-th one moved to `start`."""
    stints = list(draft.stints[i] or ())
    since, until = stints.pop(k)
    return sorted([*stints, (start, start + until - since)])


def held(draft: Draft, i: int, stints: Sequence[Interval]) -> Iterator[Broken]:
    """Rules that hold a start or an end back. Once broken, broken for every earlier place."""
    site = draft.site
    start, end = stints[0][0], stints[-1][1]
    if start < 0:
        yield Broken("origin", short=-start)
    for release in site.activities[i].releases:
        if start < release.at:
            yield Broken("release", release, release.at - start)
    for tie in site.into[i]:
        until = end if tie.to_end else start
        since = (end if tie.from_end else start) if tie.before == i else draft.since(tie)
        if since is not None:
            short = _worse(draft, tie, since, until)
            if short > 0:
                yield Broken("tie", tie, short)
    for tie in site.out[i]:
        after = draft.until(tie)
        if after is not None and tie.after != i:
            short = _worse(draft, tie, end if tie.from_end else start, after)
            if short > 0:
                yield Broken("tie", tie, short)
    for s in site.opened_by[i]:
        span = site.spans[s]
        closes = None if span.closes is None else draft.end(span.closes)
        until = NEVER if closes is None else closes
        caught = _caught(draft, span, (start, until))
        if caught:
            yield Broken("span", span, clashes=caught)


def _worse(draft: Draft, tie: Tie, since: int, until: int) -> int:
    """By how much a link is broken with its points moved.

    A shortest wait that is a rule must be kept, even where that would shorten a longest wait
    that is broken already; what is only a wish must not be kept worse than it is.
    """
    too_soon = tie.link.min_lag - tie.wait(since, until)
    if too_soon > 0 and draft.site.binding(tie):
        return too_soon
    return tie.short(since, until) - shortage(draft, tie)


def _caught(draft: Draft, span: Span, stretch: Interval) -> tuple[Clash, ...]:
    """Stints that a span would catch."""
    return tuple(
        (i, stint)
        for i in sorted(span.excludes)
        for stint in draft.stints[i] or ()
        if stint[0] < stretch[1] and stint[1] > stretch[0]
    )


def barred(draft: Draft, i: int, k: int, stint: Interval) -> Iterator[Broken]:
    """Rules that bar a place for the k-th stint, though an earlier place may be free."""
    site = draft.site
    start, end = stint
    calendars = {calendar.key: calendar for calendar in site.problem.calendars}
    for name in site.activities[i].calendars:
        if not any(opens <= start and end <= closes for opens, closes in calendars[name].windows):
            yield Broken("calendar", calendars[name])
    own = [other for n, other in enumerate(draft.stints[i] or ()) if n != k]
    apart = 1 if site.around[i] else 0
    mine = tuple((i, o) for o in own if o[0] < end + apart and o[1] > start - apart)
    if mine:
        yield Broken("itself", clashes=mine)
    for r in site.uses[i]:
        clashes = _clashes(draft, i, r, stint)
        if clashes:
            yield Broken("resource", r, clashes=clashes)
    for span in site.excluded_by[i]:
        opens = -NEVER if span.opens is None else draft.start(span.opens)
        if opens is not None:
            closes = None if span.closes is None else draft.end(span.closes)
            if start < (NEVER if closes is None else closes) and end > opens:
                yield Broken("span", span)


def _clashes(draft: Draft, i: int, r: int, stint: Interval) -> tuple[Clash, ...]:
    """Stints of other activities that leave no room on a resource."""
    site = draft.site
    others = [
        (j, other)
        for j in range(site.count)
        if j != i and r in site.uses[j]
        for other in draft.stints[j] or ()
        if other[0] < stint[1] and other[1] > stint[0]
    ]
    full = full_stretches([other for _, other in others], site.capacity[r])
    if any(start < stint[1] and end > stint[0] for start, end in full):
        return tuple(sorted(others, key=lambda clash: clash[1]))
    return ()


def broken(draft: Draft, i: int, k: int, start: int) -> list[Broken]:
    """Every rule that breaks when the k-th stint moves to `start`."""
    stints = moved(draft, i, k, start)
    since, until = (draft.stints[i] or [])[k]
    place = (start, start + until - since)
    return [*held(draft, i, stints), *barred(draft, i, k, place)]
