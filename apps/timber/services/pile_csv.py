"""The pile as a sheet: CSV (RFC 4180) out, and in again.

A cell that a spreadsheet would take for a formula goes out with an apostrophe before it, and
comes in without, so that a sheet from elsewhere cannot run anything where it is opened.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from apps.timber.models import Piece
from apps.timber.pieces_as_data import Face, Severity
from renovation.errors import Problem, field_problem

COLUMNS = (
    "mark", "origin", "stored", "species", "strength_class", "grade_basis", "graded_by",
    "grade_why", "breadth_mm", "depth_mm", "length_mm", "treated", "source", "state", "note",
    "defects",
)  # fmt: skip
# Left empty, these are not said; any other empty cell says "empty".
NOT_SAID = {"stored", "grade_basis", "treated", "source", "state"}
MOST_ROWS = 500
MOST_BYTES = 1024 * 1024
# What spreadsheets begin a formula with: OWASP, "CSV Injection".
FORMULA = re.compile("^'*[=+\\-@\t\r\n＝＋－＠]")
YES_AND_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
STRETCH = re.compile(r"^(\d{1,6})[-–](\d{1,6})$")


@dataclass(frozen=True, slots=True)
class CellError:
    """What is wrong in a cell: row as the spreadsheet counts, column by name or empty."""

    row: int
    column: str
    detail: str


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row of the sheet by column: its cells, and what they say of a piece."""

    number: int
    cells: Mapping[str, str]
    values: Mapping[str, Any]
    errors: tuple[CellError, ...]


def write_pile(pieces: Iterable[Piece]) -> str:
    """The sheet of these pieces, with a header."""
    out = io.StringIO(newline="")
    sheet = csv.writer(out)
    sheet.writerow(COLUMNS)
    for piece in pieces:
        cells = as_cells(piece)
        sheet.writerow([harmless(cells[name]) for name in COLUMNS])
    return out.getvalue()


def as_cells(piece: Piece) -> dict[str, str]:
    """A piece as the sheet shows it."""
    return {
        **{name: str(getattr(piece, name)) for name in COLUMNS if name != "defects"},
        "treated": "yes" if piece.treated else "no",
        "defects": "; ".join(
            f"{d.kind} {d.from_mm}-{d.to_mm} {d.face} {d.severity}" + " drawn" * d.drawn
            for d in piece.defects.all()
        ),
    }


def harmless(cell: str) -> str:
    return f"'{cell}" if FORMULA.match(cell) else cell


def as_meant(cell: str) -> str:
    """The opposite of `harmless`."""
    return cell[1:] if cell.startswith("'") and FORMULA.match(cell) else cell


def read_pile(content: bytes) -> list[SheetRow]:
    """The rows of a sheet, with what cannot be read in each.

    Raises:
        Problem: `invalid` at `/file` when it is no such sheet at all; `too-large`.
    """
    if len(content) > MOST_BYTES:
        raise too_large(f"The sheet is larger than the {MOST_BYTES // 1024} KiB this accepts.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise field_problem("/file", "Save the sheet as CSV in UTF-8; this is not.") from exc
    header_line = text.partition("\n")[0]
    delimiter = "," if "," in header_line or ";" not in header_line else ";"
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as exc:
        raise field_problem("/file", f"This is no CSV: {exc}.") from exc
    header = [name.strip().lower() for name in lines[0]] if lines else []
    refuse_header(header)
    rows = [(number, cells) for number, cells in enumerate(lines[1:], start=2) if any(cells)]
    if len(rows) > MOST_ROWS:
        raise too_large(f"Import at most {MOST_ROWS} pieces at a time.")
    return [read_row(number, header, cells) for number, cells in rows]


def too_large(detail: str) -> Problem:
    return Problem(
        "too-large", detail, status_code=413, errors=[{"pointer": "/file", "detail": detail}]
    )


def refuse_header(header: list[str]) -> None:
    unknown = [name for name in header if name not in COLUMNS]
    if "mark" not in header or unknown:
        wrong = f"{unknown[0][:40]!r} is none of them" if unknown else "`mark` is missing"
        raise field_problem(
            "/file", f"The first row names the columns, of {', '.join(COLUMNS)}: {wrong}."
        )
    if twice := next((name for name in header if header.count(name) > 1), None):
        raise field_problem("/file", f"The column {twice!r} is there twice.")


def read_row(number: int, header: list[str], cells: list[str]) -> SheetRow:
    if len(cells) != len(header):
        detail = f"This row has {len(cells)} cells, the first row {len(header)}."
        return SheetRow(number, {}, {}, (CellError(number, "", detail),))
    meant = {name: as_meant(cell).strip() for name, cell in zip(header, cells, strict=True)}
    values: dict[str, Any] = {}
    errors: list[CellError] = []
    for name, said in meant.items():
        if not said and name in NOT_SAID:
            continue
        try:
            values[name] = READ.get(name, str)(said)
        except ValueError as exc:
            errors.append(CellError(number, name, str(exc)))
    return SheetRow(number, meant, values, tuple(errors))


def read_treated(cell: str) -> bool:
    if cell.lower() not in YES_AND_NO:
        raise ValueError("This is yes or no.")
    return YES_AND_NO[cell.lower()]


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


READ: Mapping[str, Any] = {"treated": read_treated, "defects": read_defects}
