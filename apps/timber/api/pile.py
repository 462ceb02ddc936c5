"""The pile as a CSV sheet over HTTP, out and in."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.api.floors import DRY_RUN
from apps.timber.api.pile_rows import take_sheet
from apps.timber.models import Piece
from apps.timber.services.pile_csv import read_pile, write_pile
from apps.work.api.sheets import (
    HOUSE,
    CellErrorSerializer,
    SheetBody,
    as_file,
    house_asked,
    reading,
    sheet_asked,
)
from apps.work.sheet_problems import refusal
from renovation.negotiation import AnyAnswer
from renovation.parsers import BoundedJSONParser
from renovation.uploads import OneFileParser
from renovation.viewsets import ContractView


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


class PileMixin(ContractView[Piece]):
    """`export/` and `import/` of the pile."""

    @extend_schema(parameters=[HOUSE], responses={(200, "text/csv"): OpenApiTypes.STR})
    @action(detail=False, content_negotiation_class=AnyAnswer, pagination_class=None)
    def export(self, request: Request) -> HttpResponse:
        """The pile as CSV (RFC 4180, UTF-8), for a spreadsheet; filters as in the list."""
        house_asked(request, "pile")
        return as_file(write_pile(self.filter_queryset(self.get_queryset())), "pile.csv")

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
        context = self.get_serializer_context()
        house, content, dry_run = sheet_asked(request, context)
        rows = reading(lambda: read_pile(content))
        imported = take_sheet(house=house, rows=rows, dry_run=dry_run, context=context)
        if imported.errors and not dry_run:
            raise refusal(imported.errors)
        return Response(ImportedSerializer(imported).data)
