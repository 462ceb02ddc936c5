"""The lap of a need for a new joist end, from its joist's row: may it be shorter?"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from apps.checks.lap_input import LapInput
from apps.checks.laps import check_lap
from apps.floors.joist_inputs import length_of, place_of, spans_of
from apps.floors.models import Joist
from apps.timber.models import Need
from apps.timber.pieces_as_data import Role
from apps.timber.unmet import LapCheck, ShorterLap

# What an old joist of the house counts as, and a new end without a class: from memory.
COUNTS_AS = "C16"


def lap_checks(needs: Iterable[Need], *, margin_mm: int) -> dict[int, LapCheck]:
    """The lap check of each need that is a new end of a joist with decay noted, by its id.

    Args:
        needs: fetched with `joist__floor__storey`.
        margin_mm: how far past the decay the old joist is sawn off [mm].
    """
    found = {}
    for need in needs:
        if need.role == Role.LAP_END and need.joist is not None and need.joist.decayed:
            check = lap_check(need, need.joist, margin_mm)
            if check is not None:
                found[need.pk] = check
    return found


def lap_check(need: Need, joist: Joist, margin_mm: int) -> LapCheck | None:
    """The lap of a new end, by how much shorter it is; None where it cannot be told from the row.

    The saw cut is the margin past the decay of the end that is decayed; what the need is longer
    than from the joist's end to there is the lap.
    """
    decayed: list[dict[str, Any]] = joist.decayed
    spans, length = spans_of(joist), length_of(joist)
    far = max(one["to_mm"] for one in decayed) >= spans[-1].to_mm
    span = spans[-1] if far else spans[0]
    try:
        place = place_of(joist, span)
    except ValueError:
        return None
    if far:
        cut_at = min(one["from_mm"] for one in decayed) - margin_mm
        cut_mm, lap_mm = span.to_mm - cut_at, need.length_mm - (length - cut_at)
    else:
        cut_at = max(one["to_mm"] for one in decayed) + margin_mm
        cut_mm, lap_mm = cut_at - span.from_mm, need.length_mm - cut_at

    def used_by(shorter_mm: int) -> tuple[int, float, bool] | None:
        left_mm = lap_mm - shorter_mm
        try:
            outcome = check_lap(
                LapInput(
                    joist=place, end="right" if far else "left", cut_mm=cut_mm, lap_mm=left_mm,
                    breadth_mm=need.breadth_mm, depth_mm=need.depth_mm,
                    strength_class=need.strength_class or COUNTS_AS, grade_basis="assumed",
                    mark=joist.mark,
                )
            ).outcome  # fmt: skip
        except ValueError:
            return None
        if outcome.passes is None or not outcome.checks:
            return None
        return left_mm, max(row.utilisation for row in outcome.checks), outcome.passes

    def ask(shorter_mm: int) -> ShorterLap | None:
        found, wanted = used_by(shorter_mm), used_by(0)
        if found is None or wanted is None:
            return None
        return ShorterLap(joist.mark, *found, wanted_passes=wanted[2])

    return ask
