"""What the house's own record fills into a form: a joist over its longest span, a void."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from types import MappingProxyType
from typing import Any

from apps.checks.api.answering import told
from apps.floors.joist_inputs import as_it_is, length_of, longest_span
from apps.floors.models import Floor, Joist
from apps.pages.visiting import id_of
from apps.property.models import Property
from renovation.errors import Problem

JOIST_AT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"joist": (), "cuts": ("joist",), "lap": ("joist",), "sister": ("old",)}
)
"""Where a joist of the house goes in the body of each check."""
FROM_JOIST = frozenset({*JOIST_AT, "bearing", "decay"})
FROM_FLOOR = frozenset({"subfloor-ventilation", "levels"})


def joist_of(house: Property, written: str) -> Joist | None:
    number = id_of(written)
    if number is None:
        return None
    return (
        Joist.objects.filter(floor__property=house, pk=number)
        .exclude(condition=Joist.Condition.MISSING)
        .select_related("floor__storey")
        .prefetch_related("probes")
        .first()
    )


def floor_of(house: Property, pk: int | None) -> Floor | None:
    if pk is None:
        return None
    return Floor.objects.filter(property=house, pk=pk).select_related("storey").first()


def with_joist(name: str, start: Mapping[str, Any], joist: Joist) -> dict[str, Any]:
    """A start with a joist of the house in it.

    Raises:
        ValueError: figures that no joist has.
    """
    given = told(as_it_is(joist, longest_span(joist)))
    if name == "bearing":
        kept = {key: given[key] for key in ("breadth_mm", "depth_mm", "strength_class")}
        first = given["bearings"][0] if given["bearings"] else {}
        return {**start, **kept, **first}
    if name == "decay":
        from apps.floors.ground import probes_of  # noqa: PLC0415 (geometry, 120 ms)

        length = length_of(joist)
        rotten = [{**row, "to_mm": min(row["to_mm"], length)} for row in joist.decayed]
        probes = [asdict(one) for one in probes_of(joist) if one.at_mm <= length]
        return {**start, "length_mm": length, "probes": probes, "decayed": rotten}
    made = dict(start)
    if not JOIST_AT[name]:
        return {**made, **given}
    made[JOIST_AT[name][0]] = given
    if name == "sister":
        made["new"] = {
            **made["new"], "breadth_mm": joist.breadth_mm, "depth_mm": joist.depth_mm,
            "to_mm": given["span_mm"] - 200,
        }  # fmt: skip
    if name == "lap":
        made |= {"breadth_mm": joist.breadth_mm, "depth_mm": joist.depth_mm}
    return made


def with_void(start: Mapping[str, Any], floor: Floor) -> dict[str, Any]:
    """A start with the void under a floor in it.

    Raises:
        Problem: it has none.
    """
    from apps.floors.ground import void_of  # noqa: PLC0415 (geometry, 120 ms)

    void = void_of(floor)
    given = told(void)
    return {
        **start, "outline": given["outline"], "beyond": [wall.beyond for wall in void.walls],
        "openings": given["openings"], "infill": given["infill"], "clear_mm": given["clear_mm"],
    }  # fmt: skip


def begun(
    name: str, start: Mapping[str, Any], house: Property, *, joist: str, floor: str
) -> tuple[dict[str, Any], str, str]:
    """The start as the house's record fills it, what it was filled from, and what went wrong."""
    if name in FROM_JOIST and joist:
        row = joist_of(house, joist)
        if row is None:
            return dict(start), "", "There is no such joist in this house."
        try:
            return with_joist(name, start, row), f"{row}, {row.floor}", ""
        except ValueError as exc:
            return dict(start), "", f"{row} could not be filled in. {exc}"
    if name == "subfloor-ventilation" and floor:
        under = floor_of(house, id_of(floor))
        if under is None:
            return dict(start), "", "There is no such floor in this house."
        try:
            return with_void(start, under), f"the void under {under}", ""
        except (Problem, ValueError) as exc:
            return dict(start), "", str(exc)
    return dict(start), "", ""


def joists_by_floor(house: Property) -> list[tuple[Floor, list[Joist]]]:
    """Every joist that is there, for a tap; floors without any left out."""
    floors = house.floors.select_related("storey").prefetch_related("joists")
    found = []
    for floor in floors.order_by("storey__level", "pk"):
        joists = sorted(
            (one for one in floor.joists.all() if one.condition != Joist.Condition.MISSING),
            key=lambda one: one.pk,
        )
        if joists:
            found.append((floor, joists))
    return found
