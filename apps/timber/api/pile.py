"""The pile as a CSV sheet over HTTP, out and in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.api.floors import DRY_RUN, flag
from apps.inspections.evidence.api import AnyAnswer
from apps.property.models import Property
from apps.timber.api.bodies import refuse_looking_only, rows_of
from apps.timber.api.piece_rows import PieceSerializer
from apps.timber.models import Piece
from apps.timber.pieces_as_data import Face, PieceState, Severity
from apps.timber.services import pieces as services
from apps.timber.services.pile_csv import CellError, SheetRow, as_cells, read_pile, write_pile
from renovation.errors import Problem, field_problem
from renovation.filters import refuse_others
from renovation.parsers import BoundedJSONParser
from renovation.problems import pointed
from renovation.related import RowField
from renovation.uploads import OneFileParser
from renovation.viewsets import ContractView

HOUSE = OpenApiParameter("property", OpenApiTypes.INT, required=True, description="Which house's.")


NOTHING_SAID = {"face": Face.ALL.value, "severity": Severity.MODERATE.value, "drawn": False}


class SheetBody(serializers.Serializer[Any]):
    """A sheet, and whose pile it is."""

    property = RowField(queryset=Property.objects.all())
    file = serializers.FileField(
        error_messages={"required": "Send the sheet, as `multipart/form-data`."}
    )

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        house: Any = fields["property"]
        house.queryset = rows_of(house.queryset, self.context["request"])
        return fields


class CellErrorSerializer(serializers.Serializer[Any]):
    row = serializers.IntegerField()
    column = serializers.CharField()
    detail = serializers.CharField()


class ChangedSerializer(serializers.Serializer[Any]):
    mark = serializers.CharField()
    columns = serializers.ListField(child=serializers.CharField())


class ImportedSerializer(serializers.Serializer[Any]):
    """What a sheet adds and changes, by the marks of pieces."""

    dry_run = serializers.BooleanField()
    created = serializers.ListField(child=serializers.CharField())
    changed = ChangedSerializer(many=True)
    unchanged = serializers.ListField(child=serializers.CharField())
    errors = CellErrorSerializer(many=True)  # type: ignore[assignment]


@dataclass(slots=True)
class Imported:
    """What came of a sheet so far."""

    dry_run: bool
    created: list[str] = field(default_factory=list)
    changed: list[dict[str, Any]] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    errors: list[CellError] = field(default_factory=list)


class PileMixin(ContractView[Piece]):
    """`export/` and `import/` of the pile."""

    @extend_schema(parameters=[HOUSE], responses={(200, "text/csv"): OpenApiTypes.STR})
    @action(detail=False, content_negotiation_class=AnyAnswer, pagination_class=None)
    def export(self, request: Request) -> HttpResponse:
        """The pile as CSV (RFC 4180, UTF-8), for a spreadsheet; filters as in the list."""
        if "property" not in request.query_params:
            raise field_problem("/property", "Say which house's pile: ?property=1.")
        pieces = self.filter_queryset(self.get_queryset())
        return HttpResponse(
            # The mark tells spreadsheets that it is UTF-8.
            "\ufeff" + write_pile(pieces),
            content_type="text/csv; charset=utf-8; header=present",
            headers={
                "Content-Disposition": 'attachment; filename="pile.csv"',
                "X-Content-Type-Options": "nosniff",
                "Cache-Control": "private, no-store",
            },
        )

    @extend_schema(
        request={"multipart/form-data": SheetBody},
        responses=ImportedSerializer,
        parameters=[DRY_RUN],
    )
    @action(
        detail=False,
        methods=["post"],
        url_path="import",
        parser_classes=[OneFileParser, BoundedJSONParser],
    )
    def bring_in(self, request: Request) -> Response:
        """Add and change pieces from a CSV sheet as `export/` gives it: all of it or nothing.

        A piece is known by its mark; pieces that the sheet does not name stay as they are, and
        so do columns that it does not have. With `?dry_run=1` nothing is changed, and `errors`
        lists by row and column what is wrong.
        """
        refuse_others(request, {"dry_run"})
        dry_run = flag(request, "dry_run")
        body = SheetBody(data=request.data, context=self.get_serializer_context())
        body.is_valid(raise_exception=True)
        house = body.validated_data["property"]
        refuse_looking_only(request, house.pk)
        rows = read_pile(body.validated_data["file"].read())
        imported = Imported(dry_run)
        with transaction.atomic():
            self.take_rows(imported, house, rows)
            # What the rules say of the rows is known once they are written.
            transaction.set_rollback(dry_run)
        if imported.errors and not dry_run:
            raise refusal(imported.errors)
        return Response(ImportedSerializer(imported).data)

    def take_rows(self, imported: Imported, house: Property, rows: Sequence[SheetRow]) -> None:
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
                found = [*self.take_row(imported, house, row, there.get(mark))]
            imported.errors += found

    def take_row(
        self, imported: Imported, house: Property, row: SheetRow, piece: Piece | None
    ) -> Iterator[CellError]:
        """Write one row; what is wrong with it."""
        if piece is not None and row.cells.items() <= as_cells(piece).items():
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
            context=self.get_serializer_context(),
        )
        if not wanted.is_valid():
            yield from in_cells(row.number, pointed(wanted.errors, ""))
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
            whole = [{"pointer": "", "detail": exc.detail}]
            yield from in_cells(row.number, exc.errors or whole)


def already(row: SheetRow, seen: Mapping[str, int]) -> Iterator[CellError]:
    mark = row.values.get("mark", "")
    if mark in seen:
        yield CellError(row.number, "mark", f"{mark} is in row {seen[mark]} already.")


def in_cells(number: int, errors: Any) -> Iterator[CellError]:
    """Errors by their pointers into a piece as errors by cell."""
    for error in errors:
        column = error["pointer"].removeprefix("/").partition("/")[0]
        yield CellError(number, column, error["detail"])


def differs(piece: Piece, name: str, value: Any) -> bool:
    """Whether a sheet says another thing than the record."""
    if name != "defects":
        return bool(getattr(piece, name) != value)
    kept = [services.as_noted(defect) for defect in piece.defects.all()]
    said = [{**NOTHING_SAID, **defect} for defect in value]
    return sorted(map(in_order, kept)) != sorted(map(in_order, said))


def in_order(defect: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(defect[name] for name in services.NOTED)


def refusal(errors: Sequence[CellError]) -> Problem:
    """A sheet with errors, as one problem: nothing of it was taken."""
    told = [
        {
            "pointer": f"/rows/{error.row}/{error.column}".rstrip("/"),
            "detail": f"Row {error.row}{', ' * bool(error.column)}{error.column}: {error.detail}",
        }
        for error in errors
    ]
    more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
    return Problem(
        "invalid",
        f"Nothing was imported. {told[0]['detail']}{more}",
        status_code=400,
        errors=told,
    )
