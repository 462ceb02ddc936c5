"""Sheets of rows as CSV (RFC 4180): written so that a spreadsheet takes nothing for a formula, read
with every cell that is wrong told by its row and column.

Sources: RFC 4180 for the sheet; OWASP, "CSV Injection", for what a spreadsheet begins a formula
with. Such a cell goes out with an apostrophe before it and comes in without.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

MOST_BYTES = 1024 * 1024
FORMULA = re.compile("^'*[=+\\-@\t\r\n＝＋－＠]")
YES_AND_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
DELIMITERS = (",", ";", "\t")
LONGEST_SAID = 40


class NoSheet(ValueError):
    """The whole file cannot be taken for such a sheet."""


class SheetTooLarge(NoSheet):
    """It is larger than is read at once."""


@dataclass(frozen=True, slots=True)
class CellError:
    """What is wrong in a cell: row as the spreadsheet counts, column by name or empty."""

    row: int
    column: str
    detail: str


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row of the sheet by column: its cells, and what they say."""

    number: int
    cells: Mapping[str, str]
    values: Mapping[str, Any]
    errors: tuple[CellError, ...]


@dataclass(frozen=True, slots=True)
class SheetKind:
    """What the sheets of one kind of thing look like.

    Attributes:
        things: what the rows are, in the plural.
        columns: all there may be.
        needed: one of these has to be there.
        not_said: an empty cell of these says nothing; any other empty cell says "empty".
        read: how a cell is read, raising ValueError; others are texts.
        also_called: other names of columns.
    """

    things: str
    columns: tuple[str, ...]
    needed: tuple[str, ...]
    not_said: frozenset[str]
    read: Mapping[str, Callable[[str], Any]] = field(default_factory=dict)
    also_called: Mapping[str, str] = field(default_factory=dict)
    most_rows: int = 500


def write_sheet(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """The rows as a sheet with a header."""
    out = io.StringIO(newline="")
    sheet = csv.writer(out)
    sheet.writerow(columns)
    sheet.writerows([harmless(cells[name]) for name in columns] for cells in rows)
    return out.getvalue()


def harmless(cell: str) -> str:
    return f"'{cell}" if FORMULA.match(cell) else cell


def as_meant(cell: str) -> str:
    """The opposite of `harmless`."""
    return cell[1:] if cell.startswith("'") and FORMULA.match(cell) else cell


def plain(cell: str) -> str:
    """A cell as it is compared: what lies around it and how its lines end says nothing."""
    return cell.replace("\r\n", "\n").replace("\r", "\n").strip()


def read_sheet(content: bytes, kind: SheetKind) -> list[SheetRow]:
    """The rows of a sheet, with what cannot be read in each. Commas, semicolons or tabs.

    Raises:
        NoSheet: when it is no such sheet at all.
        SheetTooLarge: when it is larger than is read at once.
    """
    if len(content) > MOST_BYTES:
        raise SheetTooLarge(f"The sheet is larger than the {MOST_BYTES // 1024} KiB this accepts.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise NoSheet("Save the sheet as CSV in UTF-8; this is not.") from exc
    if "\0" in text:
        raise NoSheet("Save the sheet as CSV in UTF-8; this holds what is no text.")
    first_line = re.split(r"[\r\n]", text, maxsplit=1)[0]
    delimiter = max(DELIMITERS, key=first_line.count)
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as exc:
        raise NoSheet(f"This is no CSV: {exc}.") from exc
    header = [column_of(name, kind) for name in lines[0]] if lines else []
    refuse_header(header, kind)
    rows = [(number, cells) for number, cells in enumerate(lines[1:], start=2) if any(cells)]
    if len(rows) > kind.most_rows:
        raise SheetTooLarge(f"Import at most {kind.most_rows} {kind.things} at a time.")
    return [read_row(number, header, cells, kind) for number, cells in rows]


def column_of(written: str, kind: SheetKind) -> str:
    name = "_".join(as_meant(written).lower().split())
    return kind.also_called.get(name, name)


def refuse_header(header: Sequence[str], kind: SheetKind) -> None:
    unknown = [name for name in header if name not in kind.columns]
    wrong = ""
    if not any(name in header for name in kind.needed):
        wrong = f"{' or '.join(f'`{name}`' for name in kind.needed)} is missing"
    if unknown:
        named = ", ".join(repr(name[:LONGEST_SAID]) for name in unknown[:5])
        wrong = f"{named} {'is' if len(unknown) == 1 else 'are'} none of them"
    if wrong:
        raise NoSheet(f"The first row names the columns, of {', '.join(kind.columns)}: {wrong}.")
    if twice := next((name for name in header if header.count(name) > 1), None):
        raise NoSheet(f"The column {twice!r} is there twice.")


def read_row(number: int, header: Sequence[str], cells: list[str], kind: SheetKind) -> SheetRow:
    # Spreadsheets leave empty cells at the end of some rows, and leave them out in others.
    while len(cells) > len(header) and not cells[-1]:
        cells = cells[:-1]
    if len(cells) != len(header):
        detail = f"This row has {len(cells)} cells, the first row {len(header)}."
        return SheetRow(number, {}, {}, (CellError(number, "", detail),))
    meant = {name: plain(as_meant(cell)) for name, cell in zip(header, cells, strict=True)}
    values: dict[str, Any] = {}
    errors: list[CellError] = []
    for name, said in meant.items():
        if not said and name in kind.not_said:
            continue
        try:
            values[name] = kind.read.get(name, str)(said)
        except ValueError as exc:
            errors.append(CellError(number, name, str(exc)))
    return SheetRow(number, meant, values, tuple(errors))


def read_yes_or_no(cell: str) -> bool:
    """Raises ValueError for what is neither."""
    if cell.lower() not in YES_AND_NO:
        raise ValueError("This is yes or no.")
    return YES_AND_NO[cell.lower()]


def yes_or_no(is_so: bool) -> str:
    return "yes" if is_so else "no"
