"""Changes of the pile: pieces with what is wrong along them, nails drawn, scrap and back."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction

from apps.timber.models import Defect, Piece
from apps.timber.pieces_as_data import DefectKind, Face, PieceState
from apps.work.models import Task, WorkPackage
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

PIECE_STEPS: Steps = {
    "in_stock": {"scrap": "scrapped"},
    "reserved": {},
    "cut": {},
    "used": {},
    "scrapped": {"bring-back": "in_stock"},
}
COMMITTED = (PieceState.RESERVED, PieceState.CUT, PieceState.USED)
MEASURED = ("breadth_mm", "depth_mm", "length_mm")
NOTED = ("kind", "from_mm", "to_mm", "face", "severity", "drawn")
MOST_DEFECTS = 200
DRAW_NAILS_MINUTES = (10, 20, 40)
"""Drawing the nails of one stretch: low, likely, high (common practice, no source)."""


@transaction.atomic
def add_piece(*, defects: Sequence[Mapping[str, Any]] = (), **values: Any) -> Piece:
    """Put a piece on the pile, with what is wrong along it.

    Args:
        defects: columns of each.
        values: columns of the piece.

    Raises:
        Problem: `invalid` at `/defects/…` when one has an id, is beyond the piece's end, or two
            of a kind overlap.
    """
    for index, defect in enumerate(defects):
        if "id" in defect:
            raise field_problem(
                f"/defects/{index}/id", "A new piece has no defects yet: leave out their ids."
            )
    refuse_misplaced(defects, mark=values["mark"], length_mm=values["length_mm"])
    piece = Piece.objects.create(**values)
    Defect.objects.bulk_create(Defect(piece=piece, **defect) for defect in defects)
    return piece


@transaction.atomic
def change_piece(
    *, piece: Piece, defects: Sequence[Mapping[str, Any]] | None = None, **values: Any
) -> Piece:
    """Change a piece; with `defects`, what is wrong along it is that and no more.

    A defect with an `id` is changed, one without is added, those left out are removed.

    Raises:
        Problem: `piece-committed` when a plan counts on its section or length; `invalid` at
            `/defects/…` as `add_piece`, or for the id of another piece's defect, or at
            `/length_mm` when a defect would lie beyond its end.
    """
    lock(piece)
    if any(name in values and values[name] != getattr(piece, name) for name in MEASURED):
        refuse_committed(piece, "keeps the section and length it was planned with")
    length_mm = values.get("length_mm", piece.length_mm)
    if defects is None:
        refuse_shorter_than(piece.defects.all(), piece, length_mm)
    else:
        replace_defects(piece, defects, length_mm)
    piece.change(**values)
    return piece


def replace_defects(piece: Piece, said: Sequence[Mapping[str, Any]], length_mm: int) -> None:
    kept = {defect.pk: defect for defect in piece.defects.all()}
    named: set[int] = set()
    for index, defect in enumerate(said):
        key = defect.get("id")
        if key is None:
            continue
        if key not in kept or key in named:
            why = "is named twice" if key in named else f"is no defect of {piece}"
            raise field_problem(f"/defects/{index}/id", f"Id {key} {why}.")
        named.add(key)
    # What is not said of a defect that is there stays as it was.
    wanted = [{**as_noted(kept.get(defect.get("id", 0))), **defect} for defect in said]
    refuse_misplaced(wanted, mark=piece.mark, length_mm=length_mm)
    piece.defects.exclude(pk__in=named).delete()
    for defect in wanted:
        if "id" not in defect:
            Defect.objects.create(piece=piece, **defect)
        elif columns(defect) != as_noted(kept[defect["id"]]):
            kept[defect["id"]].change(**columns(defect))


def as_noted(defect: Defect | None) -> dict[str, Any]:
    return {name: getattr(defect, name) for name in NOTED} if defect is not None else {}


def columns(defect: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in defect.items() if name != "id"}


def refuse_misplaced(defects: Sequence[Mapping[str, Any]], *, mark: str, length_mm: int) -> None:
    """Refuse defects beyond the end of their piece, and two of a kind in one place."""
    if len(defects) > MOST_DEFECTS:
        raise field_problem("/defects", f"Note at most {MOST_DEFECTS} defects of one piece.")
    for index, defect in enumerate(defects):
        if defect["to_mm"] > length_mm:
            raise field_problem(
                f"/defects/{index}/to_mm",
                f"{mark} is {length_mm} mm long; {told(defect)} would reach beyond its end.",
            )
        for other in defects[:index]:
            if same_place(defect, other):
                raise field_problem(
                    f"/defects/{index}",
                    f"On {mark}, {told(defect)} overlaps {told(other)}; note them as one.",
                )


def same_place(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two defects are one: of a kind, on a face in common, overlapping."""
    faces = {one.get("face", Face.ALL), other.get("face", Face.ALL)}
    return (
        one["kind"] == other["kind"]
        and (len(faces) == 1 or Face.ALL in faces)
        and one["from_mm"] < other["to_mm"]
        and other["from_mm"] < one["to_mm"]
    )


def told(defect: Mapping[str, Any]) -> str:
    return f"the {defect['kind']} at {defect['from_mm']}–{defect['to_mm']} mm"


def refuse_shorter_than(defects: Iterable[Defect], piece: Piece, length_mm: int) -> None:
    beyond = next((defect for defect in defects if defect.to_mm > length_mm), None)
    if beyond is not None:
        raise field_problem(
            "/length_mm",
            f"{piece} has {beyond.kind} at {beyond.from_mm}–{beyond.to_mm} mm, beyond "
            f"{length_mm} mm; put that right in the same change.",
        )


def refuse_committed(piece: Piece, what: str) -> None:
    """Refuse what would pull a piece from under a plan.

    Raises:
        Problem: `piece-committed`.
    """
    if piece.state in COMMITTED:
        raise Problem(
            "piece-committed",
            f"{piece} is {piece.state}: it {what}.",
            state=piece.state,
        )


@transaction.atomic
def remove_piece(*, piece: Piece) -> None:
    """Take a piece off the record, as if it had never been noted.

    Raises:
        Problem: `piece-committed` when it is reserved, cut or used.
    """
    lock(piece)
    refuse_committed(piece, "stays on the record")
    piece.delete()


@transaction.atomic
def scrap_piece(*, piece: Piece, reason: str) -> Piece:
    """Record that a piece is good for nothing, and why.

    Raises:
        Problem: `wrong-step` unless it is in stock.
    """
    lock(piece)
    state = next_state(PIECE_STEPS, piece.state, "scrap", name=str(piece))
    piece.change(state=state, scrap_reason=reason)
    return piece


@transaction.atomic
def bring_back_piece(*, piece: Piece) -> Piece:
    """Undo scrapping.

    Raises:
        Problem: `wrong-step` unless it was scrapped.
    """
    lock(piece)
    state = next_state(PIECE_STEPS, piece.state, "bring-back", name=str(piece))
    piece.change(state=state, scrap_reason="")
    return piece


@transaction.atomic
def mark_nails(*, piece: Piece, defects: Collection[int], drawn: bool) -> Piece:
    """Record that nails were drawn, or that they are still in.

    Args:
        defects: ids of nails along this piece.

    Raises:
        Problem: `invalid` at `/defects` for an id that is no nails of this piece.
    """
    lock(piece)
    nails = {defect.pk: defect for defect in piece.defects.filter(kind=DefectKind.NAILS)}
    if wrong := sorted(set(defects) - set(nails)):
        raise field_problem("/defects", f"Id {wrong[0]} is no nails in {piece}.")
    for key in sorted(set(defects)):
        if nails[key].drawn != drawn:
            nails[key].change(drawn=drawn)
    piece.change()
    return piece


@transaction.atomic
def add_nails_task(*, piece: Piece, package: WorkPackage) -> Task:
    """Add a task to draw the nails that are still in a piece.

    Raises:
        Problem: `no-nails` when there are none.
    """
    lock(piece)
    nails = list(piece.defects.filter(kind=DefectKind.NAILS, drawn=False))
    if not nails:
        raise Problem("no-nails", f"No nails are noted in {piece} that are still to be drawn.")
    low, likely, high = (minutes * len(nails) for minutes in DRAW_NAILS_MINUTES)
    return Task.objects.create(
        package=package,
        title=f"Draw the nails in {piece}",
        note="At " + ", ".join(f"{nail.from_mm}–{nail.to_mm} mm" for nail in nails) + ".",
        low_minutes=low,
        likely_minutes=likely,
        high_minutes=high,
    )
