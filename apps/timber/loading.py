"""From rows to what the pure modules work on."""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import ZoneInfo

from apps.timber.models import MoistureReading, Need, Piece
from apps.timber.pieces_as_data import DefectData, NeedData, PieceData, ReadingData


def piece_data(piece: Piece) -> PieceData:
    """A piece with its defects and readings, these by the house's clock.

    Ask for many with `selectors.with_all`.
    """
    zone = ZoneInfo(piece.property.timezone)
    return PieceData(
        id=piece.pk,
        mark=piece.mark,
        breadth_mm=piece.breadth_mm,
        depth_mm=piece.depth_mm,
        length_mm=piece.length_mm,
        strength_class=piece.strength_class,
        grade_basis=piece.grade_basis,
        source=piece.source,
        stored=piece.stored,
        state=piece.state,
        treated=piece.treated,
        defects=tuple(
            DefectData(
                kind=row.kind, from_mm=row.from_mm, to_mm=row.to_mm, severity=row.severity,
                face=row.face, drawn=row.drawn,
            )
            for row in piece.defects.all()
        ),
        readings=tuple(
            replace(reading_data(row), read_at=row.read_at.astimezone(zone))
            for row in piece.readings.all()
        ),
    )  # fmt: skip


def reading_data(reading: MoistureReading) -> ReadingData:
    """A reading as it stood on the meter."""
    return ReadingData(
        read_at=reading.read_at,
        measured_pct=reading.measured_pct,
        at_mm=reading.at_mm,
        wood_temperature_c=reading.wood_temperature_c,
        species_correction_pct=reading.species_correction_pct,
    )


def need_data(need: Need) -> NeedData:
    """A need; the day it is wanted is the one said by hand, else the planned one."""
    return NeedData(
        id=need.pk,
        role=need.role,
        title=need.title,
        quantity=need.quantity,
        length_mm=need.length_mm,
        breadth_mm=need.breadth_mm,
        depth_mm=need.depth_mm,
        strength_class=need.strength_class,
        moisture_limit_pct=need.moisture_limit_pct,
        treated=need.treated,
        priority=need.priority,
        needed_by=need.wanted_on(),
    )
