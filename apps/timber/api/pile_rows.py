"""Rows of a sheet written onto the pile."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from apps.property.models import Property
from apps.timber.api.piece_rows import PieceSerializer
from apps.timber.models import Piece
from apps.timber.pieces_as_data import Face, PieceState, Severity
from apps.timber.services import pieces as services
from apps.timber.services.pile_csv import as_cells
from apps.work.sheet_problems import in_cells, of_row
from apps.work.sheets import CellError, SheetRow, plain
from renovation.errors import Problem
from renovation.problems import pointed

NOTHING_SAID = {"face": Face.ALL.value, "severity": Severity.MODERATE.value, "drawn": False}


@dataclass(slots=True)
class Imported:
    """What came of a sheet: nothing was kept when there are errors or it was only tried."""

    dry_run: bool
    created: list[str] = field(default_factory=list)
    changed: list[dict[str, Any]] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    errors: list[CellError] = field(default_factory=list)


def take_sheet(
    *, house: Property, rows: Sequence[SheetRow], dry_run: bool, context: Mapping[str, Any]
) -> Imported:
    """Add and change pieces as a sheet says.

    Args:
        context: of the serializer: the request says who asks.
    """
    imported = Imported(dry_run)
    with transaction.atomic():
        take_rows(imported, house, rows, context)
        # What the rules say of the rows is known once they are written.
        transaction.set_rollback(dry_run or bool(imported.errors))
    return imported


def take_rows(
    imported: Imported, house: Property, rows: Sequence[SheetRow], context: Mapping[str, Any]
) -> None:
    there = {
        piece.mark: piece
        for piece in Piece.objects.filter(property=house).prefetch_related("defects")
    }
    seen: dict[str, int] = {}
    for row in rows:
        mark = row.values.get("mark", "")
        found = [*row.errors, *already(row, seen)]
        if not found:
            seen[mark] = row.number
            found = [*take_row(imported, house, row, there.get(mark), context)]
        imported.errors += found


def take_row(
    imported: Imported,
    house: Property,
    row: SheetRow,
    piece: Piece | None,
    context: Mapping[str, Any],
) -> Iterator[CellError]:
    """Write one row; what is wrong with it."""
    if piece is not None and all(
        row.cells.get(name, plain(cell)) == plain(cell) for name, cell in as_cells(piece).items()
    ):
        imported.unchanged.append(piece.mark)
        return
    values = {name: value for name, value in row.values.items() if name != "state"}
    kept = piece.state if piece else PieceState.IN_STOCK
    if row.values.get("state", kept) != kept:
        yield CellError(
            row.number, "state",
            f"{row.values['mark']} is {kept}; a sheet changes no state: scrap it, bring it "
            "back, or apply a cutting plan.",
        )  # fmt: skip
        return
    wanted = PieceSerializer(
        piece,
        data={**values, "property": house.pk},
        partial=piece is not None,
        context=dict(context),
    )
    if not wanted.is_valid():
        yield from in_cells(row.number, list(pointed(wanted.errors, "")))
        return
    said: dict[str, Any] = dict(wanted.validated_data)
    try:
        if piece is None:
            imported.created.append(services.add_piece(**said).mark)
        elif new := {name: said[name] for name in said if differs(piece, name, said[name])}:
            services.change_piece(piece=piece, **new)
            imported.changed.append({"mark": piece.mark, "columns": list(new)})
        else:
            imported.unchanged.append(piece.mark)
    except Problem as exc:
        yield from of_row(row.number, exc)


def already(row: SheetRow, seen: Mapping[str, int]) -> Iterator[CellError]:
    mark = row.values.get("mark", "")
    if mark in seen:
        yield CellError(row.number, "mark", f"{mark} is in row {seen[mark]} already.")


def differs(piece: Piece, name: str, value: Any) -> bool:
    """Whether a sheet says another thing than the record."""
    if name != "defects":
        return bool(getattr(piece, name) != value)
    kept = [services.as_noted(defect) for defect in piece.defects.all()]
    said = [{**NOTHING_SAID, **defect} for defect in value]
    return sorted(map(in_order, kept)) != sorted(map(in_order, said))


def in_order(defect: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(defect[name] for name in services.NOTED)
