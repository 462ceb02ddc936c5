"""The rules that a contradiction is made of, and the question with only some of them left.

Rules are grouped as a person sees them: a task with its length and its place in the order is
one, an agreed visit is one, so is each wait, each longest wait, each delivery, each set of
hours and each pair of hands. A question with fewer of them never has fewer plans.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from .problem import Activity, Link, OpenSpan, Problem, Release

# "order": a link of a circle, whatever its wait.
RuleKind = Literal[
    "hours", "hands", "boards", "release", "wait", "longest_wait", "task", "outsider", "order"
]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. `key` is an activity, a calendar (hours) or a resource (hands)."""

    kind: RuleKind
    key: str
    link: Link | None = None
    release: Release | None = None
    span: OpenSpan | None = None


def rules_of(problem: Problem, *, now: int) -> list[Rule]:
    """All rules of a question, those first that a reader can best do without.

    Args:
        now: releases up to then are no rule but the present.
    """
    used = {name for a in problem.activities for name in _hours_of(a)}
    hands = {name for a in problem.activities for name in (*a.uses, *(h.resource for h in a.holds))}
    found = [Rule("hours", c.key) for c in problem.calendars if c.key in used]
    found += [Rule("hands", r.key) for r in problem.resources if r.key in hands]
    found += [Rule("boards", "", span=span) for span in problem.open_spans]
    movable = [a for a in problem.activities if a.fixed is None]
    found += [Rule("release", a.key, release=r) for a in movable for r in a.releases if r.at > now]
    found += [Rule("wait", one.after, link=one) for one in problem.links if one.min_lag > 0]
    found += [
        Rule("longest_wait", one.after, link=one)
        for one in problem.links
        if one.max_lag is not None
    ]
    found += [Rule("task", a.key) for a in movable]
    found += [Rule("outsider", a.key) for a in problem.activities if a.fixed is not None]
    return found


def _hours_of(activity: Activity) -> tuple[str, ...]:
    if activity.fixed is not None:
        return ()
    return activity.calendars if activity.within is None else (*activity.calendars, activity.within)


def only(problem: Problem, rules: Collection[Rule], *, now: int) -> Problem:
    """The question with these rules and no others; what `now` or sooner allows stays allowed."""
    kept = {one.key for one in rules if one.kind in {"task", "outsider"}}
    hours = {one.key for one in rules if one.kind == "hours"}
    hands = {one.key for one in rules if one.kind == "hands"}
    waits = {one.link for one in rules if one.kind == "wait"}
    longest = {one.link for one in rules if one.kind == "longest_wait"}
    releases = {(one.key, one.release) for one in rules if one.kind == "release"}
    spans = {one.span for one in rules if one.kind == "boards"}

    def activity(one: Activity) -> Activity:
        uses = [n for n, name in enumerate(one.uses) if name in hands]
        return replace(
            one,
            due=None,
            uses=tuple(one.uses[n] for n in uses),
            demand=tuple(one.demand[n] for n in uses) if one.demand else (),
            holds=tuple(hold for hold in one.holds if hold.resource in hands),
            calendars=tuple(name for name in one.calendars if name in hours),
            within=one.within if one.within in hours else None,
            releases=tuple(r for r in one.releases if r.at <= now or (one.key, r) in releases),
        )

    def link(one: Link) -> Link:
        return replace(
            one,
            min_lag=one.min_lag if one.min_lag <= 0 or one in waits else 0,
            max_lag=one.max_lag if one in longest else None,
        )

    return replace(
        problem,
        activities=tuple(activity(a) for a in problem.activities if a.key in kept),
        links=tuple(link(one) for one in problem.links if {one.before, one.after} <= kept),
        open_spans=tuple(
            replace(one, excludes=tuple(key for key in one.excludes if key in kept))
            for one in problem.open_spans
            if one in spans and {one.opens, one.closes} - {None} <= kept
        ),
        previous=(),
        settled_until=0,
        route_openings=(),
        nights=(),
    )


def bound_together(problem: Problem, keys: Iterable[str]) -> frozenset[str]:
    """What must be done for these: their forerunners, and what a longest wait ties to them."""
    before: dict[str, set[str]] = {a.key: set() for a in problem.activities}
    for one in problem.links:
        before[one.after].add(one.before)
        if one.max_lag is not None:
            before[one.before].add(one.after)
    seen = set(keys)
    stack = list(seen)
    while stack:
        for key in before[stack.pop()] - seen:
            seen.add(key)
            stack.append(key)
    return frozenset(seen)


def among(problem: Problem, keys: frozenset[str]) -> Problem:
    """The question about some of its activities."""
    return replace(
        problem,
        activities=tuple(a for a in problem.activities if a.key in keys),
        links=tuple(one for one in problem.links if {one.before, one.after} <= keys),
        open_spans=tuple(
            replace(one, excludes=tuple(key for key in one.excludes if key in keys))
            for one in problem.open_spans
            if {one.opens, one.closes} - {None} <= keys and keys & set(one.excludes)
        ),
        route_openings=(),
        previous=(),
    )
