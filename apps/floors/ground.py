"""What is worked out from the measurements of a floor: its air, its levels, a joist's decay."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from math import dist
from typing import cast

from apps.checks.decay import JoistEvidence, Probe, along_joist
from apps.checks.decay_readings import Face, Fixing
from apps.checks.decay_settings import DecaySettings, Rot
from apps.checks.level_lines import Spot
from apps.checks.ventilation import VoidAir, void_air
from apps.checks.ventilation_settings import VentilationSettings
from apps.checks.ventilation_void import Beyond, Opening, State, Void
from apps.checks.ventilation_walls import reaches_into, walls_beside
from apps.floors import shapes
from apps.floors.models import AirBrick, Floor, Joist, JoistProbe, SpotHeight
from apps.floors.words import listed
from renovation.errors import Problem, field_problem

BEARING_REACH_MM = 100
"""A spot this near to a noted bearing is over it (common practice, no source)."""


def latest_probes(probes: Iterable[JoistProbe]) -> list[JoistProbe]:
    """The last probe of each place and face: what was probed again stands no more."""
    last: dict[tuple[int, str], JoistProbe] = {}
    for probe in sorted(probes, key=lambda probe: (probe.probed_at, probe.pk)):
        last[probe.at_mm, probe.face] = probe
    return sorted(last.values(), key=lambda probe: (probe.at_mm, probe.pk))


def probes_of(joist: Joist) -> tuple[Probe, ...]:
    """A joist's standing probes as plain facts."""
    return tuple(
        Probe(
            id=row.pk,
            at_mm=row.at_mm,
            face=cast("Face", row.face),
            probe_mm=row.probe_mm,
            moisture_pct=row.moisture_pct,
            fixing=cast("Fixing", row.fixing),
        )
        for row in latest_probes(joist.probes.all())
    )


def evidence_of(
    joist: Joist, *, rot: Rot = "unknown", settings: DecaySettings | None = None
) -> JoistEvidence:
    """What the probes along a joist, and the decay noted on it, say.

    What lies beyond the ends of its line is cut off there.
    """
    length = round(dist(*joist.line))
    seen = [(part["from_mm"], min(part["to_mm"], length)) for part in joist.decayed]
    if joist.condition == Joist.Condition.DECAYED and not seen:
        seen = [(0, length)]
    return along_joist(
        length,
        [probe for probe in probes_of(joist) if probe.at_mm <= length],
        decayed=[(low, high) for low, high in seen if low < high],
        rot=rot,
        settings=settings,
    )


def void_of(floor: Floor, *, inside: Collection[int] = ()) -> Void:
    """The void under a floor: its walls by what the other floors of the storey say of them.

    Raises:
        Problem: `floor-is-solid`; `floor-has-no-void` above the ground; `invalid` for a wall
            that the floor has not.
    """
    if floor.construction == Floor.Construction.SOLID:
        raise Problem("floor-is-solid", f"{floor} is solid: there is no void under it to air.")
    if floor.storey.level > 0:
        raise Problem(
            "floor-has-no-void",
            f"{floor} is on {floor.storey.name}: only a void over the ground needs outside air.",
        )
    outline = shapes.points(floor.outline)
    if strange := [number for number in inside if not 1 <= number < len(outline)]:
        raise field_problem(
            "/inside", f"{floor} has walls 1 to {len(outline) - 1}, no {strange[0]}."
        )
    others = Floor.objects.filter(storey=floor.storey_id).exclude(pk=floor.pk)
    neighbours: list[tuple[shapes.Outline, Beyond]] = []
    infill = []
    for other in others:
        solid = other.construction == Floor.Construction.SOLID
        ring = shapes.points(other.outline)
        if reaches_into(outline, ring):
            infill += [ring] if solid else []
        else:
            neighbours.append((ring, "solid_floor" if solid else "void"))
    return Void(
        outline=outline,
        walls=walls_beside(outline, neighbours, inside),
        openings=tuple(opening_of(row) for row in floor.air_bricks.all()),
        infill=tuple(infill),
        clear_mm=floor.void_depth_mm or None,
    )


def opening_of(row: AirBrick) -> Opening:
    return Opening(
        id=row.pk,
        at=(row.at[0], row.at[1]),
        free_area_mm2=row.free_area_mm2,
        mark=row.mark,
        state=cast("State", row.state),
        through_solid=row.through_solid,
        above_ground_mm=row.above_ground_mm,
    )


def air_under(
    floor: Floor, *, settings: VentilationSettings, inside: Collection[int] = ()
) -> VoidAir:
    """Whether the void under a floor is aired as the rule asks.

    Raises:
        Problem: as `void_of`; `invalid` for an air brick that the floor's outline has left.
    """
    try:
        return void_air(void_of(floor, inside=inside), settings)
    except ValueError as exc:
        raise Problem("air-brick-off-floor", str(exc)) from exc


def heights_of(floor: Floor, datum: str | None) -> tuple[str | None, list[SpotHeight]]:
    """The standing heights of a floor to one datum: of each place the last one measured.

    Raises:
        Problem: `invalid` when there are several data and none was named, or none of that name.
    """
    rows = floor.spot_heights.select_related("joist").order_by("measured_at", "pk")
    data = sorted({row.datum for row in rows})
    if datum is None and len(data) > 1:
        raise field_problem("/datum", f"Heights are to {listed(data)}: say to which.")
    if datum is not None and datum not in data:
        raise field_problem("/datum", f"No height is to {datum[:40]!r}; there is {listed(data)}.")
    wanted = datum or (data[0] if data else None)
    last: dict[tuple[int | None, int | None, str], SpotHeight] = {}
    for row in rows:
        if row.datum == wanted:
            last[row.joist_id, row.at_mm, str(row.point)] = row
    return wanted, list(last.values())


def spots_of(rows: Iterable[SpotHeight]) -> tuple[Spot, ...]:
    """Heights on joists as the levelling takes them: along the joists and across them."""
    on_joists = [row for row in rows if row.joist is not None and row.at_mm is not None]
    if not on_joists:
        return ()
    longest = max((row.joist for row in on_joists if row.joist), key=lambda one: dist(*one.line))
    (ax, ay), (bx, by) = longest.line
    length = dist((ax, ay), (bx, by))
    along = ((bx - ax) / length, (by - ay) / length)
    spots = []
    for row in on_joists:
        joist, at_mm = cast("Joist", row.joist), cast("int", row.at_mm)
        (cx, cy), (dx, dy) = joist.line
        share = at_mm / dist((cx, cy), (dx, dy))
        x, y = cx + share * (dx - cx) - ax, cy + share * (dy - cy) - ay
        spots.append(
            Spot(
                id=row.pk,
                joist=joist.mark,
                along_mm=round(x * along[0] + y * along[1]),
                across_mm=round(y * along[0] - x * along[1]),
                height_mm=float(row.height_mm),
                bearing=row.bearing or bearing_at(joist, at_mm),
            )
        )
    return tuple(sorted(spots, key=lambda spot: (spot.across_mm, spot.along_mm, spot.id)))


def bearing_at(joist: Joist, at_mm: int) -> str:
    """The noted bearing a place of a joist is over, in words; empty where there is none."""
    for row in joist.bearings:
        start, end = row["at_mm"], row["at_mm"] + row["length_mm"]
        if start - BEARING_REACH_MM <= at_mm <= end + BEARING_REACH_MM:
            return f"{row['kind'].replace('_', ' ')} ({start} mm)"
    return ""


def unmeasured(floor: Floor, spots: Iterable[Spot]) -> list[str]:
    """Marks of joists of a floor without two heights over bearings: they are not packed by it."""
    measured = [spot.joist for spot in spots if spot.bearing]
    return [
        joist.mark
        for joist in floor.joists.exclude(condition=Joist.Condition.MISSING)
        if measured.count(joist.mark) < 2
    ]
