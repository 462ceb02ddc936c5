"""Waits, longest waits, lengths and fixed times as a network of time differences.

Each rule is an inequality t(v) − t(u) ≥ w between two points; together they cannot hold if and
only if the network has a circle whose weights sum to more than nothing (Dechter, Meiri and
Pearl 1991, from memory). Hours and hands are left out: what contradicts itself here does so
whatever the hours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .contradiction_rules import Rule
from .problem import Activity, Link, Problem

ORIGIN = ("", False)
Point = tuple[str, bool]


@dataclass(frozen=True, slots=True)
class Edge:
    """t(to) − t(of) ≥ wait, for as long as all of `rules` are kept."""

    of: Point
    to: Point
    wait: int
    rules: tuple[Rule, ...]


def network(problem: Problem, rules: Sequence[Rule]) -> list[Edge]:
    """The inequalities of some rules of a question. Working lags count as at least that long."""
    own = {one.key: one for one in rules if one.kind in {"task", "outsider"}}
    waits = {one.link: one for one in rules if one.kind == "wait"}
    longest = {one.link: one for one in rules if one.kind == "longest_wait"}
    edges: list[Edge] = []
    for activity in problem.activities:
        if activity.key in own:
            edges += _of_activity(activity, own[activity.key])
    for one in rules:
        if one.kind == "release" and one.release is not None and one.key in own:
            start = (one.key, False)
            edges.append(Edge(ORIGIN, start, one.release.at, (own[one.key], one)))
    for link in problem.links:
        if link.before in own and link.after in own:
            ends = (own[link.before], own[link.after])
            edges += _of_link(link, ends, waits.get(link), longest.get(link))
    return edges


def _of_activity(activity: Activity, rule: Rule) -> list[Edge]:
    start, end = (activity.key, False), (activity.key, True)
    if activity.fixed is not None:
        edges = []
        for point, at in zip((start, end), activity.fixed, strict=True):
            edges += [Edge(ORIGIN, point, at, (rule,)), Edge(point, ORIGIN, -at, (rule,))]
        return edges
    length = activity.set_up + activity.effort + activity.clear_up
    edges = [Edge(start, end, length, (rule,)), Edge(ORIGIN, start, 0, (rule,))]
    broken_off = activity.splittable and activity.effort >= 2 * activity.shortest_stint
    if activity.mode == "elapsed" or (activity.mode == "stints" and not broken_off):
        edges.append(Edge(end, start, -length, (rule,)))
    return edges


def _of_link(
    link: Link, ends: tuple[Rule, Rule], wait: Rule | None, longest: Rule | None
) -> list[Edge]:
    before = (link.before, link.kind in {"FS", "FF"})
    after = (link.after, link.kind in {"FF", "SF"})
    elapsed = link.clock == "elapsed"
    edges = []
    if wait is not None:
        edges.append(Edge(before, after, link.min_lag, (*ends, wait)))
    elif elapsed or link.min_lag >= 0:
        edges.append(Edge(before, after, min(0, link.min_lag), ends))
    if longest is not None and link.max_lag is not None and elapsed:
        edges.append(Edge(after, before, -link.max_lag, (*ends, longest)))
    return edges


def impossible_circle(edges: Sequence[Edge]) -> tuple[Edge, ...]:
    """A circle of inequalities that cannot hold, in order; empty when there is none.

    Longest paths by Bellman and Ford: still growing after as many rounds as there are points
    means that a circle grows.
    """
    points = {point for edge in edges for point in (edge.of, edge.to)}
    longest = dict.fromkeys(points, 0)
    came: dict[Point, Edge] = {}
    grown: Point | None = None
    for _ in range(len(points)):
        grown = None
        for edge in edges:
            if longest[edge.of] + edge.wait > longest[edge.to]:
                longest[edge.to] = longest[edge.of] + edge.wait
                came[edge.to] = edge
                grown = edge.to
        if grown is None:
            return ()
    if grown is None:
        return ()
    for _ in range(len(points)):
        grown = came[grown].of
    circle = [came[grown]]
    while circle[-1].of != grown:
        circle.append(came[circle[-1].of])
    return tuple(reversed(circle))
