"""What is noted of a piece: readings, defects, nails drawn, scrap and back; each undone."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from apps.pages.actions import Done, house_action, moment
from apps.pages.base import Undo
from apps.pages.screens.timber.written import length_of, number_of, piece_of, row_of
from apps.pages.visiting import Visiting, id_of
from apps.timber.models import Defect, MoistureReading, Piece
from apps.timber.pieces_as_data import DefectKind, Face, Severity
from apps.timber.services import pieces as services
from renovation.errors import Problem, field_problem


@house_action
def read(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Note what the moisture meter said."""
    piece = piece_of(found, piece_id)
    measured = number_of(request, "measured_pct", what="the reading")
    if measured is None:
        raise field_problem("/measured_pct", "Write what the meter says, like 18.5.")
    reading = MoistureReading(
        piece=piece,
        measured_pct=measured,
        at_mm=length_of(request, "at_mm") if request.POST.get("at_mm") else piece.length_mm // 2,
        wood_temperature_c=number_of(request, "wood_temperature_c", what="the temperature"),
        instrument=request.POST.get("instrument", "").strip()[:120],
        read_at=moment(request, found),
    )
    reading.full_clean()
    reading.save()
    undo = Undo(reverse("timber-unread", args=[reading.pk]))
    return Done(f"Noted: {piece} is at {measured:g} %.", back=page_of(piece), undo=undo)


@house_action
def unread(request: HttpRequest, found: Visiting, reading_id: int) -> Done:
    """Remove a reading that was a slip."""
    rows = MoistureReading.objects.filter(piece__property=found.house).select_related("piece")
    reading = row_of(rows, reading_id)
    reading.delete()
    return Done(f"Removed: {reading}.", back=page_of(reading.piece))


@house_action
def add_defect(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Note something along a piece, from the marked end."""
    piece = piece_of(found, piece_id)
    kind, severity = request.POST.get("kind", ""), request.POST.get("severity", "")
    if kind not in list(DefectKind):
        raise field_problem("/kind", "Say what is wrong there.")
    if severity not in list(Severity):
        raise field_problem("/severity", "Say how bad it is.")
    from_mm, to_mm = length_of(request, "from_mm"), length_of(request, "to_mm")
    if to_mm <= from_mm:
        raise field_problem("/to_mm", f"It begins at {from_mm} mm; say where it ends beyond that.")
    if to_mm > piece.length_mm:
        raise field_problem("/to_mm", f"{piece} ends at {piece.length_mm} mm.")
    face = request.POST.get("face") or Face.ALL.value
    if face not in list(Face):
        raise field_problem("/face", "Say on which face it shows.")
    noted = {"kind": kind, "severity": severity, "face": face, "from_mm": from_mm, "to_mm": to_mm,
             "drawn": request.POST.get("drawn") == "True" and kind == DefectKind.NAILS}  # fmt: skip
    try:
        services.change_piece(piece=piece, defects=[*kept(piece), noted])
    except Problem as problem:
        raise at_the_field(problem, "from_mm") from problem
    made = piece.defects.order_by("-pk")[0]
    undo = Undo(reverse("timber-no-defect", args=[piece.pk]), {"defect": made.pk})
    return Done(f"Noted: {made}.", back=page_of(piece), undo=undo)


@house_action
def remove_defect(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Take a defect off: it was a slip, or it was cut off."""
    piece = piece_of(found, piece_id)
    gone: Defect = row_of(piece.defects.all(), id_of(request.POST.get("defect", "")) or 0)
    services.change_piece(piece=piece, defects=[one for one in kept(piece) if one["id"] != gone.pk])
    again = {name: str(getattr(gone, name)) for name in services.NOTED}
    undo = Undo(reverse("timber-defect", args=[piece.pk]), again)
    return Done(f"Removed: {gone}.", back=page_of(piece), undo=undo)


@house_action
def nails(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Nails drawn, or still in after all."""
    piece = piece_of(found, piece_id)
    drawn = request.POST.get("drawn") == "yes"
    ids = [id_of(written) or 0 for written in request.POST.getlist("defect")]
    if not ids:
        raise field_problem("/defect", "Say which nails.")
    services.mark_nails(piece=piece, defects=ids, drawn=drawn)
    back = {"defect": ids, "drawn": "no" if drawn else "yes"}
    undo = Undo(reverse("timber-nails", args=[piece.pk]), back)
    said = "drawn" if drawn else "still in"
    return Done(f"Nails of {piece}: {said}.", back=page_of(piece), undo=undo)


@house_action
def scrap(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Good for nothing, and why."""
    piece = piece_of(found, piece_id)
    reason = request.POST.get("reason", "").strip()[:200]
    if not reason:
        raise field_problem("/reason", "Say why, in a few words.")
    services.scrap_piece(piece=piece, reason=reason)
    undo = Undo(reverse("timber-back", args=[piece.pk]))
    return Done(f"Scrapped: {piece}, {reason}.", back=page_of(piece), undo=undo)


@house_action
def bring_back(request: HttpRequest, found: Visiting, piece_id: int) -> Done:
    """Back on the pile."""
    piece = piece_of(found, piece_id)
    reason = piece.scrap_reason
    services.bring_back_piece(piece=piece)
    undo = Undo(reverse("timber-scrap", args=[piece.pk]), {"reason": reason}) if reason else None
    return Done(f"Back on the pile: {piece}.", back=page_of(piece), undo=undo)


def kept(piece: Piece) -> list[dict[str, Any]]:
    """The defects that are there, as they stay."""
    return [{"id": key} for key in piece.defects.values_list("pk", flat=True)]


def at_the_field(problem: Problem, name: str) -> Problem:
    """The same refusal at a field that the form has."""
    if problem.code != "invalid":
        return problem
    return field_problem(f"/{name}", str(problem.errors[0]["detail"]))


def page_of(piece: Piece) -> str:
    return reverse("timber-piece", args=[piece.pk])
