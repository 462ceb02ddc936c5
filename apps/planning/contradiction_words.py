"""A contradiction in one sentence, and each of its rules in a few words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from .contradiction_rules import Rule
from .contradictions import Contradiction
from .problem import Activity, Calendar, Link, Problem, Ref
from .words import duration

Say = Callable[[int], str]

# What a link compares, of the later and of the earlier of the two.
ENDS_MEANT = {
    "FS": ("starts", "ends"),
    "SS": ("starts", "starts"),
    "FF": ("ends", "ends"),
    "SF": ("ends", "starts"),
}
# Whose hours a calendar is, by the reason that it gives.
HOURS = {
    "no_working_time": "the working hours",
    "helper_away": "the helper's hours",
    "quiet_hours": "the hours for loud work",
    "visit": "the days on which they come",
}


def sentence(problem: Problem, found: Contradiction, say: Say) -> str:
    """What cannot hold together, ready to read."""
    outsider = next((one for one in found.rules if one.kind == "outsider"), None)
    if found.needed is not None and found.available is not None and outsider is not None:
        tasks = [one.key for one in found.rules if one.kind == "task"]
        names = [f"“{_activity(problem, key).ref.name}”" for key in tasks]
        who = names[0] if len(names) == 1 else f"{len(names)} tasks ({', '.join(names)})"
        return (
            f"{who} {'needs' if len(names) == 1 else 'need'} {duration(found.needed)} before "
            f"“{_activity(problem, outsider.key).ref.name}” ({say(found.point or 0)}), and there "
            f"are {duration(found.available)}."
        )
    parts = [words(problem, one, say) for one in reversed(found.rules)]
    return f"These cannot all hold: {'; '.join(parts)}."


def circle(problem: Problem, links: Sequence[Link]) -> str:
    """Links that close a circle, ready to read."""
    names = [f"“{_activity(problem, link.before).ref.name}”" for link in links]
    chain = " → ".join([*names, names[0]])
    ordered = "; ".join(words(problem, Rule("order", link.after, link), str) for link in links)
    return f"These wait for each other and can never start: {chain}. {ordered}."


def words(problem: Problem, rule: Rule, say: Say) -> str:
    """One rule, without a full stop."""
    if rule.link is not None:
        return _of_link(problem, rule.kind, rule.link)
    if rule.span is not None:
        return (rule.span.sentence or "boards are up where it stands").rstrip(".")
    if rule.kind == "hours":
        return HOURS.get(_calendar(problem, rule.key).code, "the hours")
    if rule.kind == "hands":
        resource = next(one for one in problem.resources if one.key == rule.key)
        many = "one thing" if resource.capacity == 1 else f"{resource.capacity} things"
        return f"{resource.name} can do {many} at a time"
    activity = _activity(problem, rule.key)
    if rule.release is not None:
        why = f" ({rule.release.sentence.rstrip('.')})" if rule.release.sentence else ""
        return f"“{activity.ref.name}” cannot start before {say(rule.release.at)}{why}"
    if activity.fixed is not None:
        return f"“{activity.ref.name}” is fixed for {say(activity.fixed[0])}"
    return f"“{activity.ref.name}” takes {duration(activity.effort)}"


def _of_link(problem: Problem, kind: str, link: Link) -> str:
    first, then = (_activity(problem, key).ref.name for key in (link.before, link.after))
    if kind == "order":
        why = f" ({link.reason.rstrip('.')})" if link.reason else ""
        does, after = ENDS_MEANT[link.kind]
        return f"“{then}” {does} after “{first}” {after}{why}"
    if kind == "wait":
        hours = " of working time" if link.clock == "working" else ""
        return f"{duration(link.min_lag)}{hours} must pass from “{first}” to “{then}”"
    return f"“{then}” must follow “{first}” within {duration(link.max_lag or 0)}"


def about(problem: Problem, rule: Rule) -> tuple[Ref, ...]:
    """What a page can lead to from a rule."""
    if rule.link is not None:
        ends = (_activity(problem, rule.link.before).ref, _activity(problem, rule.link.after).ref)
        return tuple(dict.fromkeys([*ends, *rule.link.by]))
    if rule.release is not None:
        return tuple(dict.fromkeys([_activity(problem, rule.key).ref, *rule.release.by]))
    if rule.kind == "hours":
        return _calendar(problem, rule.key).by
    if rule.kind == "hands":
        resource = next(one for one in problem.resources if one.key == rule.key)
        return () if resource.ref is None else (resource.ref,)
    if rule.span is not None:
        keys = [key for key in (rule.span.opens, rule.span.closes) if key is not None]
        return tuple(dict.fromkeys([*(_activity(problem, k).ref for k in keys), *rule.span.by]))
    return (_activity(problem, rule.key).ref,)


def _activity(problem: Problem, key: str) -> Activity:
    return next(one for one in problem.activities if one.key == key)


def _calendar(problem: Problem, key: str) -> Calendar:
    return next(one for one in problem.calendars if one.key == key)
