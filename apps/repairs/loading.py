"""From rows to the facts a repair is worked out from, and to the pile it may draw on."""

from __future__ import annotations

import math
from datetime import date

from django.db.models import Q

from apps.floors.ground import probes_of
from apps.floors.models import Floor, Joist
from apps.floors.selectors import board_shapes
from apps.floors.shapes import Board, points
from apps.property.models import Property, Room
from apps.repairs.facts import BearingAt, CutAt, JoistFacts
from apps.repairs.supplies import Stock, YardLength
from apps.timber.loading import piece_data
from apps.timber.matching import Matcher
from apps.timber.models import Piece, StockLength
from apps.timber.outlook import Forecast
from apps.timber.pieces_as_data import PieceData, PieceState
from apps.timber.selectors import with_all
from apps.work.models import Finding

LEFT_ALONE = frozenset({Finding.Kind.ELECTRICAL, Finding.Kind.GAS})


def joist_facts(joist: Joist) -> JoistFacts:
    """A joist's row, its probes and its floor as plain facts.

    Stretches noted beyond the joist's ends are cut off at them.
    """
    floor = joist.floor
    length_mm = round(math.dist(*joist.line))
    decayed = ((part["from_mm"], min(part["to_mm"], length_mm)) for part in joist.decayed)
    return JoistFacts(
        id=joist.pk,
        mark=joist.mark,
        floor=floor.name,
        length_mm=length_mm,
        breadth_mm=joist.breadth_mm,
        depth_mm=joist.depth_mm,
        strength_class=joist.strength_class or floor.strength_class,
        condition=joist.condition,
        bearings=tuple(
            sorted(
                (
                    BearingAt(row["at_mm"], row["length_mm"], row["kind"])
                    for row in joist.bearings
                    if row["at_mm"] + row["length_mm"] <= length_mm
                ),
                key=lambda bearing: bearing.at_mm,
            )
        ),
        cuts=tuple(
            CutAt(row["at_mm"], row["size_mm"], row["depth_mm"], row["kind"], row["edge"])
            for row in sorted(joist.cuts, key=lambda row: int(row["at_mm"]))
            if row["at_mm"] <= length_mm
        ),
        decayed=tuple(sorted((low, high) for low, high in decayed if low < high)),
        probes=tuple(probe for probe in probes_of(joist) if probe.at_mm <= length_mm),
        centres_mm=floor.joist_centres_mm,
        specified_breadth_mm=floor.joist_breadth_mm,
        specified_depth_mm=floor.joist_depth_mm,
        specified_class=floor.strength_class,
        floor_width_mm=width_across(joist),
        board_mm=floor.board_thickness_mm,
        ground_floor=floor.storey.level <= 0,
    )


def width_across(joist: Joist) -> int:
    """How wide the floor is at right angles to a joist [mm]."""
    (ax, ay), (bx, by) = points(joist.line)
    length = math.dist((ax, ay), (bx, by))
    outline = points(joist.floor.outline)
    across = [(y * (bx - ax) - x * (by - ay)) / length for x, y in outline]
    return max(1, round(max(across) - min(across)))


def floor_boards(floor: Floor) -> tuple[Board, ...]:
    return board_shapes(floor)


def opened_boards(boards: tuple[Board, ...], area: list[list[int]]) -> tuple[Board, ...]:
    """The boards over an area, in the order of their marks."""
    from apps.floors import geometry  # noqa: PLC0415 (shapely, 120 ms)

    by_id = {board.id: board for board in boards}
    return tuple(by_id[key] for key in geometry.touched(boards, area=points(area)))


def open_findings(joist: Joist) -> list[Finding]:
    """Findings without a decision that lie on a joist's floor, in a room over it, or anywhere."""
    floor = joist.floor
    over = [
        room.pk
        for room in Room.objects.filter(storey=floor.storey_id)
        if boxes_meet(room.outline, floor.outline)
    ]
    nowhere = Q(floor=None, room=None, joist=None)
    here = Q(floor=floor) | Q(room__in=over, floor=None) | Q(joist__floor=floor) | nowhere
    return list(
        Finding.objects.filter(here, property=floor.property_id, decided_at=None).order_by("pk")
    )


def boxes_meet(one: list[list[int]], two: list[list[int]]) -> bool:
    """Whether the rectangles round two outlines overlap: enough to be careful by."""
    return all(
        min(p[axis] for p in one) < max(p[axis] for p in two)
        and min(p[axis] for p in two) < max(p[axis] for p in one)
        for axis in (0, 1)
    )


def stock(house: Property, today: date) -> Stock:
    """What a house's pile holds that is free, and what can be bought."""
    from apps.timber import drying  # noqa: PLC0415 (numpy and scipy, 0.3 s)

    def forecast_of(piece: PieceData, limit_pct: float) -> Forecast:
        curve = drying.drying_curve(piece)
        return drying.forecast(piece, curve, limit_pct=limit_pct, today=today)

    free = Piece.objects.filter(property=house, state=PieceState.IN_STOCK)
    return Stock(
        pieces=tuple(piece_data(row) for row in with_all(free)),
        yard=tuple(
            YardLength(
                breadth_mm=row.breadth_mm, depth_mm=row.depth_mm, length_mm=row.length_mm,
                strength_class=row.strength_class, treated=row.treated,
                cost_pence=row.cost_pence(), supplier=row.supplier,
            )
            for row in StockLength.objects.filter(property=house).exclude(available=0)
        ),
        matcher=Matcher(today=today, forecast_of=forecast_of),
    )  # fmt: skip
