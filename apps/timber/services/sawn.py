"""What becomes of a bar that is sawn: its totals, its offcuts, and their taking back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from django.db import transaction

from apps.timber import sawing
from apps.timber.loading import piece_data
from apps.timber.models import Cut, CuttingBar, Defect, MoistureReading, Piece
from apps.timber.offcuts import cut_out
from apps.timber.pieces_as_data import GradeBasis, PieceData, PieceState, Source
from apps.timber.runs import RunSettings, clear_runs
from apps.timber.services.arrivals import free_mark
from apps.timber.services.cutting import columns, lengths
from renovation.errors import Problem


def stretches_of(bar: CuttingBar) -> tuple[sawing.Stretch, ...]:
    """A bar length by length, as planned and, where it is sawn, as it was sawn.

    A spoilt part is waste, or worth keeping as an offcut.
    """
    parts = parts_of(bar)
    data = piece_data(bar.piece) if bar.piece is not None else new_length(bar)
    # A piece may have been measured again since: what was planned was planned of this length.
    data = replace(data, length_mm=bar.length_mm)
    found = lengths(bar.plan, data, [(cut.from_mm, cut.to_mm) for cut in parts])
    return tuple(as_it_came_out(bar, parts, stretch) for stretch in found)


def parts_of(bar: CuttingBar) -> list[Cut]:
    """The cuts along a bar that count, in sawing order.

    Of a bar that the plan before has begun, what is sawn already comes first: it goes over to
    this bar when its plan is applied.
    """
    cuts = sorted(
        (cut for cut in bar.cuts.all() if cut.pushed_off_by_id is None),
        key=lambda cut: cut.place,
    )
    plan = bar.plan
    if plan.state != plan.State.READY or plan.replans_id is None or bar.piece_id is None:
        return cuts
    sawn = Cut.objects.filter(
        bar__plan=plan.replans_id, bar__piece=bar.piece_id, made_at__isnull=False
    )
    # What was sawn on since is beyond this plan, which cannot be applied any more.
    begins = cuts[0].from_mm if cuts else bar.length_mm
    return [*sawn.filter(to_mm__lte=begins).order_by("place"), *cuts]


def as_it_came_out(
    bar: CuttingBar, parts: Sequence[Cut], stretch: sawing.Stretch
) -> sawing.Stretch:
    if stretch.part is None or not parts[stretch.part].spoilt:
        return stretch
    keep = stretch.length_mm >= bar.plan.least_offcut_mm
    return replace(stretch, kind=sawing.Kind.OFFCUT if keep else sawing.Kind.WASTE)


def is_sound(cut: Cut, piece: Piece, runs: RunSettings) -> bool:
    """Whether a part lies between the defects that matter for what it is wanted as."""
    if cut.need is None:
        return True
    return any(
        run.from_mm <= cut.from_mm and cut.to_mm <= run.to_mm
        for run in clear_runs(piece_data(piece), cut.need.role, runs)
    )


def new_length(bar: CuttingBar) -> PieceData:
    """A bar that is not on the pile yet, as data."""
    return PieceData(
        id=0, mark=bar.mark, breadth_mm=bar.breadth_mm, depth_mm=bar.depth_mm,
        length_mm=bar.length_mm, source=Source.BOUGHT,
    )  # fmt: skip


@transaction.atomic
def finish_bar(*, bar: CuttingBar, at: datetime) -> list[Piece]:
    """Record that a bar is sawn up: what is left of it goes back on the pile.

    Returns:
        The offcuts, from the marked end.
    """
    found = stretches_of(bar)
    bar.change(**columns(found), sawn_at=at)
    piece = bar.piece
    assert piece is not None, "a bar is on the pile from its first cut"  # nosec B101
    piece.change(state=PieceState.USED)
    return [
        keep_offcut(piece, stretch, at) for stretch in found if stretch.kind == sawing.Kind.OFFCUT
    ]


def keep_offcut(piece: Piece, stretch: sawing.Stretch, at: datetime) -> Piece:
    """Put an offcut on the pile, with the defects and readings that lie on it.

    A piece that nobody read along this stretch is as wet here as it was elsewhere: its readings
    come along, at the nearer end.
    """
    stamped = piece.grade_basis == GradeBasis.STAMPED and piece.strength_class
    offcut = Piece.objects.create(
        property_id=piece.property_id,
        mark=free_mark(piece.property_id, f"{piece.mark}."),
        origin=f"Offcut of {piece}, {stretch.from_mm} to {stretch.to_mm} mm"[:200],
        stored=piece.stored,
        species=piece.species,
        strength_class=piece.strength_class,
        grade_basis=GradeBasis.GRADED_BY if stamped else piece.grade_basis,
        graded_by=f"the stamp on {piece}" if stamped else piece.graded_by,
        grade_why=piece.grade_why,
        breadth_mm=piece.breadth_mm,
        depth_mm=piece.depth_mm,
        length_mm=stretch.length_mm,
        treated=piece.treated,
        source=Source.OFFCUT,
        cut_from=piece,
    )
    data = cut_out(piece_data(piece), stretch.from_mm, stretch.to_mm)
    Defect.objects.bulk_create(
        Defect(
            piece=offcut, kind=one.kind, from_mm=one.from_mm, to_mm=one.to_mm, face=one.face,
            severity=one.severity, drawn=one.drawn,
        )
        for one in data.defects
    )  # fmt: skip
    MoistureReading.objects.bulk_create(inherited(piece, offcut, stretch))
    return offcut


def inherited(piece: Piece, offcut: Piece, stretch: sawing.Stretch) -> Iterable[MoistureReading]:
    readings = list(piece.readings.order_by("pk"))
    on_it = [one for one in readings if stretch.from_mm <= one.at_mm <= stretch.to_mm]
    for reading in on_it or readings:
        at_mm = min(max(reading.at_mm, stretch.from_mm), stretch.to_mm) - stretch.from_mm
        where = f"read at {reading.at_mm} mm of {piece}"
        yield MoistureReading(
            piece=offcut,
            at_mm=at_mm,
            measured_pct=reading.measured_pct,
            wood_temperature_c=reading.wood_temperature_c,
            species_correction_pct=reading.species_correction_pct,
            instrument=(f"{reading.instrument}, {where}" if reading.instrument else where)[:120],
            read_at=reading.read_at,
        )


@transaction.atomic
def unfinish_bar(*, bar: CuttingBar) -> None:
    """Take the offcuts of a bar off the pile again: it is sawn in part only.

    Raises:
        Problem: `offcut-touched` when one was used, changed or read since.
    """
    piece = bar.piece
    assert piece is not None, "a bar is on the pile from its first cut"  # nosec B101
    assert bar.sawn_at is not None, "asked of a bar that is sawn up"  # nosec B101
    offcuts = list(Piece.objects.select_for_update().filter(cut_from=piece).order_by("pk"))
    for offcut in offcuts:
        touched = (
            offcut.state != PieceState.IN_STOCK
            or offcut.version > 1
            or offcut.readings.filter(read_at__gt=bar.sawn_at).exists()
        )
        if touched:
            raise Problem(
                "offcut-touched",
                f"{offcut}, an offcut of {piece}, was used, changed or read since; the cut stands.",
                piece=offcut.pk,
            )
    for offcut in offcuts:
        offcut.delete()
    bar.change(sawn_at=None)
    piece.change(state=PieceState.CUT)
