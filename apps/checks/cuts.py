"""Notches and holes against the rules of thumb. Outside the rules nothing is forbidden or allowed:
the joist is then as strong as the calculation on its net section says, which is made anyway.

Every cut counts, whether a pipe still lies in it or not.
"""

from __future__ import annotations

from itertools import combinations

from apps.checks.cut_rules import CutRules, cut_rules
from apps.checks.joist_input import Cut, JoistInput
from apps.checks.results import Note

SLACK_MM = 0.05  # figures printed to a tenth of a millimetre are met by themselves


def judge_cuts(given: JoistInput) -> list[Note]:
    """What the chosen edition says to each cut, and to cuts near each other."""
    if not given.cuts:
        return []
    rules = cut_rules(given.settings.notch_rules)
    notes = []
    if given.depth_mm <= given.settings.undrilled_depth_mm:
        notes.append(Note(
            "too-shallow-to-cut",
            f"A joist {given.depth_mm:g} mm deep is not notched or drilled by rule of thumb.",
            "City & Guilds plumbing book 1, p. 336, read",
        ))  # fmt: skip
    elif not rules.covers(given.depth_mm):
        notes.append(Note(
            "too-deep-for-rule",
            f"{rules.title} says nothing of joists over {rules.deepest_mm:g} mm deep.",
            rules.source,
        ))  # fmt: skip
    for cut in given.cuts:
        reasons = against_rule(cut, given.span_mm, given.depth_mm, rules)
        if reasons:
            notes.append(Note(
                "cut-outside-rule",
                f"The {cut.kind} at {cut.at_mm} mm is outside the rule of thumb: "
                f"{'; '.join(reasons)}. The calculation on what is left decides.",
                f"{rules.title}: {rules.source}",
            ))  # fmt: skip
        if cut.kind == "notch" and cut.edge == "bottom" and cut.depth_mm:
            notes.append(Note(
                "notch-below",
                f"The notch at {cut.at_mm} mm is in the bottom, where the wood is pulled: it may "
                "split from the corner. Look for a crack there.",
                "EN 1995-1-1 6.5.1, from memory",
            ))  # fmt: skip
    return [*notes, *_edges(given), *_neighbours(given, rules)]


def against_rule(cut: Cut, span_mm: float, depth_mm: float, rules: CutRules) -> list[str]:
    """Each way in which a cut is outside an edition, in words; empty where it is inside."""
    if cut.kind == "hole":
        return _hole(cut, span_mm, depth_mm, rules)
    return _notch(cut, span_mm, depth_mm, rules)


def clear_between_mm(one: Cut, other: Cut) -> float:
    """Wood along the joist between two cuts; 0 where they meet."""
    return max(one.from_mm - other.to_mm, other.from_mm - one.to_mm, 0.0)


def notch_to_hole_mm(cuts: tuple[Cut, ...]) -> float | None:
    """The least wood between a notch and a hole; None where there are not both."""
    return min(
        (
            clear_between_mm(one, other)
            for one, other in combinations(cuts, 2)
            if one.kind != other.kind
        ),
        default=None,
    )


def _notch(cut: Cut, span_mm: float, depth_mm: float, rules: CutRules) -> list[str]:
    reasons = []
    if cut.edge not in rules.notch_edges:
        where = "in the middle of the depth" if cut.edge == "centre" else f"in the {cut.edge}"
        reasons.append(f"it is {where}, the rule speaks of the {' or '.join(rules.notch_edges)}")
    at_end = cut.from_mm <= 0 or cut.to_mm >= span_mm
    limit = rules.notch_limit_mm(depth_mm)
    if at_end and rules.end_notch_share is not None:
        limit = rules.end_notch_share * depth_mm
    elif not _within(cut, span_mm, rules.notch_zone):
        low, high = (share * span_mm for share in rules.notch_zone)
        reasons.append(
            f"it runs {_from_ends(cut, span_mm)} from the bearing, {low:.0f} to {high:.0f} mm is "
            "allowed"
        )
    if cut.depth_mm > limit + SLACK_MM:
        reasons.append(f"it is {cut.depth_mm} mm deep, {limit:.1f} mm is allowed")
    longest = rules.notch_length_share
    if longest is not None and cut.size_mm > longest * depth_mm + SLACK_MM:
        reasons.append(f"it is {cut.size_mm} mm long, {longest * depth_mm:.0f} mm is allowed")
    return reasons


def _hole(cut: Cut, span_mm: float, depth_mm: float, rules: CutRules) -> list[str]:
    reasons = []
    limit = rules.hole_limit_mm(depth_mm)
    if cut.size_mm > limit + SLACK_MM:
        reasons.append(f"it is {cut.size_mm} mm wide, {limit:.1f} mm is allowed")
    low, high = cut.gone(depth_mm)
    if rules.hole_cover_mm is None:
        if abs((low + high) / 2 - depth_mm / 2) > 1:
            reasons.append("it is off the centre line")
    elif min(low, depth_mm - high) < rules.hole_cover_mm - SLACK_MM:
        reasons.append(f"it is nearer an edge than {rules.hole_cover_mm:.0f} mm")
    if rules.hole_zone is not None and not _within(cut, span_mm, rules.hole_zone):
        start, end = (share * span_mm for share in rules.hole_zone)
        reasons.append(
            f"it runs {_from_ends(cut, span_mm)} from the bearing, {start:.0f} to {end:.0f} mm is "
            "allowed"
        )
    return reasons


def _within(cut: Cut, span_mm: float, zone: tuple[float, float]) -> bool:
    """Whether the whole cut lies in a zone from the left or from the right bearing."""
    low, high = zone[0] * span_mm - SLACK_MM, zone[1] * span_mm + SLACK_MM
    return (low <= cut.from_mm and cut.to_mm <= high) or (
        low <= span_mm - cut.to_mm and span_mm - cut.from_mm <= high
    )


def _from_ends(cut: Cut, span_mm: float) -> str:
    start, end = cut.from_mm, cut.to_mm
    if cut.at_mm > span_mm / 2:
        start, end = span_mm - end, span_mm - start
    return f"{start:.0f} to {end:.0f} mm"


def _edges(given: JoistInput) -> list[Note]:
    edges = {cut.edge for cut in given.cuts if cut.kind == "notch"}
    if {"top", "bottom"} <= edges:
        return [Note(
            "notched-both-edges",
            "The joist is notched in the top and in the bottom: the rule allows one or the other.",
            "labc.co.uk, read",
        )]  # fmt: skip
    return []


def _neighbours(given: JoistInput, rules: CutRules) -> list[Note]:
    notes = []
    wanted = max(given.depth_mm, given.settings.notch_to_hole_wanted_mm)
    for one, other in combinations(given.cuts, 2):
        clear = clear_between_mm(one, other)
        where = f"The cuts at {one.at_mm} and {other.at_mm} mm"
        if one.kind != other.kind and clear < wanted:
            notes.append(Note(
                "notch-near-hole",
                f"{where}, a notch and a hole, have {clear:.0f} mm of wood between them; "
                f"{wanted:.0f} mm is wanted.",
                "100 mm, the depth, or 200 mm: sources differ",
            ))  # fmt: skip
        elif clear < rules.clear_apart_mm:
            notes.append(Note(
                "cuts-near",
                f"{where} have {clear:.0f} mm of wood between them; {rules.clear_apart_mm:.0f} mm "
                "is wanted.",
                rules.source,
            ))  # fmt: skip
        elif one.kind == other.kind == "hole":
            apart = rules.diameters_apart * max(one.size_mm, other.size_mm)
            if abs(one.at_mm - other.at_mm) < apart:
                notes.append(Note(
                    "holes-near",
                    f"{where} are {abs(one.at_mm - other.at_mm)} mm apart, centre to centre; "
                    f"{apart:.0f} mm, three diameters of the larger, is wanted.",
                    rules.source,
                ))  # fmt: skip
    return notes
