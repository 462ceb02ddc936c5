"""The joist check at the place that a need names."""

from __future__ import annotations

from collections.abc import Iterable

from apps.checks.joist import JoistInput
from apps.floors.joist_inputs import longest_span, place_of
from apps.floors.models import Joist
from apps.timber.models import Need
from apps.timber.real_section import joist_check
from apps.timber.roles import ROLES
from apps.timber.uses import JoistCheck


def joist_checks(needs: Iterable[Need]) -> dict[int, JoistCheck]:
    """The joist check of each need that names its joist and has one to ask, by the need's id.

    Fetch the needs with `joist__floor__storey`.
    """
    found: dict[int, JoistCheck] = {}
    for need in needs:
        if need.joist is not None and ROLES[need.role].checks:
            place = joist_place(need.joist)
            if place is not None:
                found[need.pk] = joist_check(place)
    return found


def joist_place(joist: Joist) -> JoistInput | None:
    """The longest clear span of a joist with what lies on it; None where its figures are no
    joist's. The class is replaced by the one that the offered piece counts as."""
    try:
        return place_of(joist, longest_span(joist))
    except ValueError:
        return None
