"""Why a stint is not planned sooner: what breaks when it moves to the nearest earlier place.

The nearest earlier place is one quarter-hour earlier, where the basic working hours (calendars
of code `no_working_time`) allow that; otherwise the end of the last working window before
that is long enough. Narrower hours (a helper's, the loud hours) are then rules like any
other, so that "Sam helps on Sundays only" can be the answer.

Where several rules break there, the one named is the first in `ORDER`, and among equals the
one broken by most: what would hold the stint back even with a free crew comes first. Where no
rule breaks, the plan would be worse there: a night more with boards up, or a stint moved that
the plan before had here. `none` is left for that, for a stint at the very start of the plan,
and for plans nobody tidied.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .account import draft_of
from .draft import Draft
from .levels import MOVED, OPEN_NIGHTS, key
from .problem import Calendar, Problem, Reason, ReasonCode, Ref, Release, Solution, Stint
from .rules import Broken, broken, moved
from .site import Site, Span, Tie
from .windows import intersect
from .words import duration

ORDER: tuple[ReasonCode, ...] = (
    "drying",
    "timber_wet",
    "sign_off",
    "notice",
    "visit",
    "boards_held",
    "supply",
    "predecessor",
    "not_before",
    "helper_away",
    "quiet_hours",
    "tool_busy",
    "crew_busy",
    "no_working_time",
    "none",
)
RANK = {code: n for n, code in enumerate(ORDER)}
BUSY: Mapping[str, ReasonCode] = {
    "crew": "crew_busy",
    "tool": "tool_busy",
    "trade": "visit",
    "inspector": "sign_off",
}

Say = Callable[[int], str]


def explain(problem: Problem, solution: Solution, say: Say) -> dict[Stint, Reason]:
    """A reason for every stint that can move; fixed ones are facts and have none.

    Args:
        say: renders a quarter-hour of the plan as local words, e.g. "Tue 18:30".
    """
    site = Site(problem)
    draft = draft_of(site, solution.stints)
    reasons = {}
    for i in site.movable:
        for k, (start, end) in enumerate(draft.stints[i] or ()):
            stint = Stint(site.activities[i].key, start, end)
            reasons[stint] = _reason(draft, i, k, say)
    return reasons


def nearest_earlier(site: Site, i: int, start: int, size: int) -> int | None:
    """The nearest earlier start for a stint; None when the basic hours have none.

    What runs on by itself, or over the breaks, only begins in its hours.
    """
    if site.activities[i].mode != "stints":
        size = 1
    windows: tuple[tuple[int, int], ...] = ((0, site.horizon),)
    calendars = {calendar.key: calendar for calendar in site.problem.calendars}
    for name in site.activities[i].calendars:
        if calendars[name].code == "no_working_time" and not calendars[name].said:
            windows = intersect(windows, calendars[name].windows)
    places = [
        min(closes - size, start - 1)
        for opens, closes in windows
        if opens < start and min(closes - size, start - 1) >= opens
    ]
    return max(places, default=None)


def _reason(draft: Draft, i: int, k: int, say: Say) -> Reason:
    site = draft.site
    start, end = (draft.stints[i] or [])[k]
    own = site.activities[i].ref
    earlier = nearest_earlier(site, i, start, end - start)
    if earlier is None and start == 0:
        return Reason("none", "The plan begins here: there is no sooner.", (own,))
    place = start - 1 if earlier is None else earlier
    rules = broken(draft, i, k, place)
    told = [reason for rule in rules if (reason := _told(draft, i, rule, say)) is not None]
    if not told:
        return _worse_plan(draft, i, k, place)
    _, worst = min(told, key=lambda one: (RANK[one[1].code], -one[0]))
    # What only its own record asks for is found in its own record.
    return worst if worst.by else Reason(worst.code, worst.sentence, (own,))


def _worse_plan(draft: Draft, i: int, k: int, place: int) -> Reason:
    """No rule breaks there: what of the plan would be worse?"""
    own = draft.site.activities[i].ref
    before = key(draft)
    there = draft.copy()
    there.take(i)
    there.put(i, moved(draft, i, k, place))
    after = key(there)
    if after[OPEN_NIGHTS] > before[OPEN_NIGHTS]:
        nights = after[OPEN_NIGHTS] - before[OPEN_NIGHTS]
        more = "one night more" if nights == 1 else f"{nights} nights more"
        sentence = f"Sooner, boards on a way through the house would be up {more}."
        return Reason("boards_held", sentence, (own,))
    if after[MOVED] > before[MOVED]:
        sentence = "It could be sooner, and stays where the plan before had it."
        return Reason("none", sentence, (own,))
    return Reason("none", f"Nothing keeps {own.name} from an earlier place.", (own,))


def _told(draft: Draft, i: int, rule: Broken, say: Say) -> tuple[int, Reason] | None:
    """One broken rule as a reason, and by how much it is broken."""
    site = draft.site
    what = rule.rule
    if isinstance(what, Tie):
        return rule.short, _of_tie(draft, i, what, say)
    if isinstance(what, Release):
        return rule.short, Reason(what.code, what.sentence, what.by)
    if isinstance(what, Calendar):
        return 0, Reason(what.code, _of_calendar(site, i, what), what.by)
    if isinstance(what, Span):
        return 0, _of_span(draft, what, rule, say)
    if rule.kind == "resource":
        assert isinstance(what, int), "a resource is named by its number"  # nosec B101
        return 0, _of_resource(draft, what, rule, say)
    if rule.kind == "itself":
        before = rule.clashes[0][1]
        sentence = f"It carries on from {say(before[0])}; there is no working time in between."
        return 0, Reason("no_working_time", sentence, (site.activities[i].ref,))
    return None


def _of_tie(draft: Draft, i: int, tie: Tie, say: Say) -> Reason:
    site = draft.site
    link = tie.link
    if tie.before == i and tie.after != i:
        after = site.activities[tie.after].ref
        until = draft.until(tie) or 0
        sentence = (
            f"{after.name} must follow within {duration(link.max_lag or 0)}, "
            f"and comes at {say(until)}."
        )
        return Reason(link.code, _with(link.reason, sentence), _by(after, link.by))
    first = site.activities[tie.before].ref
    since = draft.since(tie) or 0
    does = "ends" if tie.from_end else "starts"
    wait = f" and {duration(link.min_lag)} must pass" if link.min_lag > 0 else ""
    hours = " of working time" if wait and tie.clock is not None else ""
    sentence = f"{first.name} {does} {say(since)}{wait}{hours}."
    return Reason(link.code, _with(link.reason, sentence), _by(first, link.by))


def _of_span(draft: Draft, span: Span, rule: Broken, say: Say) -> Reason:
    site = draft.site
    told = site.problem.open_spans[site.spans.index(span)]
    if rule.clashes:
        other, (_, until) = rule.clashes[-1]
        ref = site.activities[other].ref
        sentence = f"{ref.name} needs the boards down until {say(until)}."
        return Reason("boards_held", _with(told.sentence, sentence), _by(ref, told.by))
    refs = [site.activities[j].ref for j in (span.opens, span.closes) if j is not None]
    closes = None if span.closes is None else draft.end(span.closes)
    until_when = "" if closes is None else f" until {say(closes)}"
    sentence = f"Boards are up where it stands{until_when}."
    return Reason("boards_held", _with(told.sentence, sentence), (*refs, *told.by))


def _of_calendar(site: Site, i: int, calendar: Calendar) -> str:
    activity = site.activities[i]
    if calendar.key == activity.within and calendar.key not in activity.calendars:
        return f"All of it must fit into one stretch of hours. {calendar.sentence}".strip()
    return calendar.sentence or "There is no working time before it."


def _of_resource(draft: Draft, r: int, rule: Broken, say: Say) -> Reason:
    site = draft.site
    resource = site.problem.resources[r]
    other, (_, until) = rule.clashes[-1]
    code = BUSY[resource.kind]
    takers = [site.activities[j].ref for j, _ in rule.clashes]
    ref = site.activities[other].ref
    if until > (draft.end(other) or until):
        sentence = f"{resource.name} is held for {ref.name} until {say(until)}."
    elif resource.capacity > 1 and len(set(takers)) > 1:
        *names, last = (one.name for one in dict.fromkeys(takers))
        sentence = f"{resource.name} is busy with {', '.join(names)} and {last} until {say(until)}."
    else:
        sentence = f"{resource.name} is busy with {ref.name} until {say(until)}."
    # With several to share, all who take one stand in the way; else the last of them.
    named = takers if resource.capacity > 1 else [ref]
    own = () if resource.ref is None else (resource.ref,)
    return Reason(code, sentence, tuple(dict.fromkeys([*named, *own])))


def _with(reason: str, sentence: str) -> str:
    """The link's own words after the figures, where it has any."""
    return f"{sentence} {reason}".strip() if reason else sentence


def _by(first: Ref, rest: tuple[Ref, ...]) -> tuple[Ref, ...]:
    return tuple(dict.fromkeys([first, *rest]))
