"""The pile as a sheet: what its cells say, and a piece as its cells."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from apps.timber.models import Piece
from apps.timber.pieces_as_data import Face, Severity
from apps.work.sheets import SheetKind, SheetRow, read_sheet, read_yes_or_no, write_sheet, yes_or_no

COLUMNS = (
    "mark", "origin", "stored", "species", "strength_class", "grade_basis", "graded_by",
    "grade_why", "breadth_mm", "depth_mm", "length_mm", "treated", "source", "state", "note",
    "defects",
)  # fmt: skip
STRETCH = re.compile(r"^(\d{1,6})[-–](\d{1,6})$")


def write_pile(pieces: Iterable[Piece]) -> str:
    """The sheet of these pieces, with a header."""
    return write_cells(as_cells(piece) for piece in pieces)


def write_cells(pieces: Iterable[Mapping[str, str]]) -> str:
    return write_sheet(COLUMNS, pieces)


def as_cells(piece: Piece) -> dict[str, str]:
    """A piece as the sheet shows it."""
    return {
        **{name: str(getattr(piece, name)) for name in COLUMNS if name != "defects"},
        "treated": yes_or_no(piece.treated),
        "defects": "; ".join(
            f"{d.kind} {d.from_mm}-{d.to_mm} {d.face} {d.severity}" + " drawn" * d.drawn
            for d in piece.defects.all()
        ),
    }


def read_pile(content: bytes) -> list[SheetRow]:
    """The rows of a sheet, with what cannot be read in each.

    Raises:
        NoSheet, SheetTooLarge: as `read_sheet`.
    """
    return read_sheet(content, PILE)


def read_defects(cell: str) -> list[dict[str, Any]]:
    """`decay 0-300; nails 900-2100 top slight drawn` as defects.

    Raises:
        ValueError: for what is not written so.
    """
    return [read_defect(part.split()) for part in cell.split(";") if part.strip()]


def read_defect(words: list[str]) -> dict[str, Any]:
    stretch = STRETCH.match(words[1]) if len(words) > 1 else None
    if stretch is None:
        raise ValueError(
            f"“{' '.join(words)[:60]}” is no defect: write the kind and from-to in whole "
            "millimetres, such as “decay 0-300 all severe; nails 900-2100 top drawn”."
        )
    defect: dict[str, Any] = {
        "kind": words[0],
        "from_mm": int(stretch[1]),
        "to_mm": int(stretch[2]),
    }
    for word in words[2:]:
        name, value = in_words(word)
        if name in defect:
            raise ValueError(f"“{' '.join(words)[:60]}” says its {name} twice.")
        defect[name] = value
    return defect


def in_words(word: str) -> tuple[str, Any]:
    """What a word behind a defect's stretch says."""
    if word == "drawn":
        return "drawn", True
    for name, known in (("face", Face), ("severity", Severity)):
        if word in list(known):
            return name, word
    raise ValueError(f"“{word[:40]}” is none of {', '.join([*Face, *Severity])}, drawn.")


PILE = SheetKind(
    things="pieces",
    columns=COLUMNS,
    needed=("mark",),
    not_said=frozenset({"stored", "grade_basis", "treated", "source", "state"}),
    read={"treated": read_yes_or_no, "defects": read_defects},
)
