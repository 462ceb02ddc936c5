"""Why a stint is not planned sooner: what breaks when it moves to the nearest earlier place.

The nearest earlier place is one quarter-hour earlier, where the basic working hours (calendars
of code `no_working_time`) allow that; otherwise the end of the last working window before
that is long enough. Narrower hours (a helper's, the loud hours) are then rules like any
other, so that "Sam helps on Sundays only" can be the answer.

Where several rules break there, the one named is the first in `ORDER`, and among equals the
one broken by most: what would hold the stint back even with a free crew comes first.
`none` is left for a stint at the very start of the plan, and for plans nobody tidied.
"""

from __future__ import annotations

from collections.abc import Callable

from .account import draft_of
from .draft import Draft
from .problem import Calendar, Problem, Reason, ReasonCode, Ref, Release, Solution, Stint
from .rules import Broken, broken
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
    """The nearest earlier start for a stint; None when the basic hours have none."""
    windows: tuple[tuple[int, int], ...] = ((0, site.horizon),)
    calendars = {calendar.key: calendar for calendar in site.problem.calendars}
    for name in site.activities[i].calendars:
        if calendars[name].code == "no_working_time":
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
    name = site.activities[i].ref.name
    place = nearest_earlier(site, i, start, end - start)
    if place is None and start == 0:
        return Reason("none", "The plan begins here: there is no sooner.")
    rules = broken(draft, i, k, start - 1 if place is None else place)
    told = [reason for rule in rules if (reason := _told(draft, i, rule, say)) is not None]
    if not told:
        return Reason("none", f"Nothing keeps {name} from an earlier place.")
    worst = min(told, key=lambda one: (RANK[one[1].code], -one[0]))
    return worst[1]


def _told(draft: Draft, i: int, rule: Broken, say: Say) -> tuple[int, Reason] | None:
    """One broken rule as a reason, and by how much it is broken."""
    site = draft.site
    what = rule.rule
    if isinstance(what, Tie):
        return rule.short, _of_tie(draft, i, what, say)
    if isinstance(what, Release):
        return rule.short, Reason(what.code, what.sentence, what.by)
    if isinstance(what, Calendar):
        sentence = what.sentence or "There is no working time before it."
        return 0, Reason(what.code, sentence, what.by)
    if isinstance(what, Span):
        return 0, _of_span(draft, what, rule, say)
    if rule.kind == "resource":
        assert isinstance(what, int), "a resource is named by its number"
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


def _of_resource(draft: Draft, r: int, rule: Broken, say: Say) -> Reason:
    site = draft.site
    resource = site.problem.resources[r]
    other, (_, until) = rule.clashes[-1]
    ref = site.activities[other].ref
    code: ReasonCode = "tool_busy" if resource.kind == "tool" else "crew_busy"
    if resource.kind == "trade":
        code = "visit"
    sentence = f"{resource.name} is busy with {ref.name} until {say(until)}."
    return Reason(code, sentence, _by(ref, () if resource.ref is None else (resource.ref,)))


def _with(reason: str, sentence: str) -> str:
    """The link's own words after the figures, where it has any."""
    return f"{sentence} {reason}".strip() if reason else sentence


def _by(first: Ref, rest: tuple[Ref, ...]) -> tuple[Ref, ...]:
    return tuple(dict.fromkeys([first, *rest]))
