"""What breaks when one stint of a plan moves: every rule tried, none guessed.

Used twice: tidying moves a stint when nothing breaks, and a reason names what does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from .draft import Draft
from .levels import shortage
from .placing import carried_on
from .problem import Calendar, Interval, Release
from .site import Span, Tie
from .windows import NEVER, loaded_stretches

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
    """The activity's stints with the k-th one moved to `start`; carried-on work as a whole."""
    if i in draft.site.own_clock:
        whole = carried_on(draft.site, i, start)
        if whole is not None and whole[0][0] == start:
            return whole
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
    yield from _spans_moved(draft, i, start, end)


def _spans_moved(draft: Draft, i: int, start: int, end: int) -> Iterator[Broken]:
    """Stretches of open boards that begin or end with it, and what they would catch."""
    site = draft.site
    for s in site.opened_by[i]:
        span = site.spans[s]
        closes = None if span.closes is None else draft.end(span.closes)
        until = NEVER if closes is None else closes
        if caught := _caught(draft, span, (start, until)):
            yield Broken("span", span, clashes=caught)
    for span in site.spans:
        if span.closes != i:
            continue
        # Closed later than it was, it may catch what stood behind its end; a fact it never bars.
        opens = -NEVER if span.opens is None else draft.start(span.opens)
        was = draft.end(i)
        since = opens if opens is None or was is None else max(opens, was)
        if since is not None and since < end:
            clashes = _caught(draft, span, (since, end))
            caught = tuple(one for one in clashes if not site.fixed(one[0]))
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
        for stint in draft.stretches(i)
        if stint[0] < stretch[1] and stint[1] > stretch[0]
    )


def barred(draft: Draft, i: int, k: int, stint: Interval) -> Iterator[Broken]:
    """Rules that bar a place for the k-th stint, though an earlier place may be free."""
    site = draft.site
    activity = site.activities[i]
    start, end = stint
    calendars = {calendar.key: calendar for calendar in site.problem.calendars}
    # What is of one piece begins in its hours; carried on, it was laid in them as a whole.
    last = end if activity.mode == "stints" else start + 1
    for name in activity.calendars:
        if not any(opens <= start and last <= closes for opens, closes in calendars[name].windows):
            yield Broken("calendar", _told_at(calendars[name], start, last))
    within = site.within[i]
    if within is not None:
        whole = moved(draft, i, k, start)
        first, last = whole[0][0], whole[-1][1]
        if not any(opens <= first and last <= closes for opens, closes in within.windows):
            yield Broken("calendar", within)
    own = [other for n, other in enumerate(draft.stints[i] or ()) if n != k]
    apart = 1 if site.around[i] else 0
    mine = tuple((i, o) for o in own if o[0] < end + apart and o[1] > start - apart)
    if mine:
        yield Broken("itself", clashes=mine)
    wanted = [(r, stint, n) for r, n in zip(site.uses[i], site.demand[i], strict=True)]
    if site.holds[i]:
        whole = moved(draft, i, k, start)
        first, last = whole[0][0], whole[-1][1]
        wanted += [(r, (first, max(last, first + least)), n) for r, least, n in site.holds[i]]
    for r, stretch, units in wanted:
        clashes = _clashes(draft, i, r, stretch, units)
        if clashes:
            yield Broken("resource", r, clashes=clashes)
    for span in site.excluded_by[i]:
        opens = -NEVER if span.opens is None else draft.start(span.opens)
        if opens is not None:
            closes = None if span.closes is None else draft.end(span.closes)
            if start < (NEVER if closes is None else closes) and end > opens:
                yield Broken("span", span)


def _told_at(calendar: Calendar, start: int, end: int) -> Calendar:
    """The calendar with the sentence for what lies before or after its window there."""
    if not calendar.said:
        return calendar
    nearest = sum(opens < end for opens, _ in calendar.windows) - 1
    before, after = calendar.said[max(0, nearest)]
    early = nearest < 0 or start < calendar.windows[nearest][0]
    return replace(calendar, sentence=before if early else after)


def _clashes(draft: Draft, i: int, r: int, stint: Interval, units: int) -> tuple[Clash, ...]:
    """Stretches of other activities that leave too little room on a resource."""
    site = draft.site
    others = [
        (j, (start, end), taken)
        for j in range(site.count)
        if j != i and (stints := draft.stints[j])
        for used, start, end, taken in draft.taken(j, stints)
        if used == r and start < stint[1] and end > stint[0]
    ]
    full = loaded_stretches(
        [(*other, taken) for _, other, taken in others], site.capacity[r] - units + 1
    )
    if any(start < stint[1] and end > stint[0] for start, end in full):
        return tuple(sorted(((j, other) for j, other, _ in others), key=lambda clash: clash[1]))
    return ()


def broken(draft: Draft, i: int, k: int, start: int) -> list[Broken]:
    """Every rule that breaks when the k-th stint moves to `start`."""
    if k and i in draft.site.own_clock:
        # What is carried on follows its own beginning and can lie nowhere else.
        return [Broken("itself", clashes=((i, (draft.stints[i] or [])[k - 1]),))]
    stints = moved(draft, i, k, start)
    since, until = (draft.stints[i] or [])[k]
    if i in draft.site.own_clock and stints[0][0] == start:
        since, until = start, stints[-1][1]
    place = (start, start + until - since)
    return [*held(draft, i, stints), *barred(draft, i, k, place)]
