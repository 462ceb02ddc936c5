"""Sheets over HTTP: what every import takes and answers, and the sheet of tasks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.api.floors import DRY_RUN, flag
from apps.property.models import Property
from apps.work import task_csv, task_sheets
from apps.work.models import Task
from apps.work.sheet_order import Taken
from apps.work.sheet_problems import no_sheet, refusal
from apps.work.sheets import NoSheet
from renovation.errors import Problem, field_problem
from renovation.filters import refuse_others
from renovation.negotiation import AnyAnswer
from renovation.parsers import BoundedJSONParser
from renovation.related import RowField
from renovation.scope import may_change, visible
from renovation.uploads import OneFileParser
from renovation.viewsets import ContractView

HOUSE = OpenApiParameter("property", OpenApiTypes.INT, required=True, description="Which house's.")
Read = TypeVar("Read")


class SheetBody(serializers.Serializer[Any]):
    """A sheet, and whose house it is of."""

    property = RowField(queryset=Property.objects.all())
    file = serializers.FileField(
        error_messages={"required": "Send the sheet, as `multipart/form-data`."}
    )

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        house: Any = fields["property"]
        house.queryset = visible(house.queryset, self.context["request"].user)
        return fields


class CellErrorSerializer(serializers.Serializer[Any]):
    row = serializers.IntegerField()
    column = serializers.CharField()
    detail = serializers.CharField()


class TaskTakenSerializer(serializers.Serializer[Any]):
    """A row and its task; `id` is null for one that was only tried."""

    row = serializers.IntegerField()
    id = serializers.IntegerField(allow_null=True)
    title = serializers.CharField()


class TaskChangedSerializer(TaskTakenSerializer):
    columns = serializers.ListField(child=serializers.CharField())


class TasksImportedSerializer(serializers.Serializer[Any]):
    """What a sheet adds and changes; `packages` are the titles of new ones."""

    dry_run = serializers.BooleanField()
    created = TaskTakenSerializer(many=True)
    changed = TaskChangedSerializer(many=True)
    unchanged = TaskTakenSerializer(many=True)
    packages = serializers.ListField(child=serializers.CharField())
    errors = CellErrorSerializer(many=True)  # type: ignore[assignment]


def sheet_asked(request: Request, context: Mapping[str, Any]) -> tuple[Property, bytes, bool]:
    """The house, the sheet and whether it is only tried, of a request to import one.

    Raises:
        Problem: `not-allowed`, 403, for whoever may only look; `invalid`.
    """
    refuse_others(request, {"dry_run"})
    dry_run = flag(request, "dry_run")
    body = SheetBody(data=request.data, context=dict(context))
    body.is_valid(raise_exception=True)
    house = body.validated_data["property"]
    if not may_change(request.user, house.pk):
        raise Problem(
            "not-allowed", "You may look at this house but not change it.", status_code=403
        )
    return house, body.validated_data["file"].read(), dry_run


def house_asked(request: Request, things: str) -> str:
    """`?property=`, which an export needs.

    Raises:
        Problem: `invalid` at `/property`.
    """
    if "property" not in request.query_params:
        raise field_problem("/property", f"Say which house's {things}: ?property=1.")
    return request.query_params["property"]


def reading(read: Callable[[], Read]) -> Read:
    """What is read of a sheet.

    Raises:
        Problem: `invalid` or `too-large`, at `/file`.
    """
    try:
        return read()
    except NoSheet as exc:
        raise no_sheet(exc) from exc


def as_file(sheet: str, name: str) -> HttpResponse:
    """A sheet to be saved."""
    return HttpResponse(
        # The mark tells spreadsheets that it is UTF-8.
        "\ufeff" + sheet,
        content_type="text/csv; charset=utf-8; header=present",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, no-store",
        },
    )


class TaskSheetMixin(ContractView[Task]):
    """`export/` and `import/` of tasks."""

    def refuse_change(self, task: Task, wanted: Mapping[str, Any]) -> None:
        """Override where more is known of what a change must not do."""

    @extend_schema(parameters=[HOUSE], responses={(200, "text/csv"): OpenApiTypes.STR})
    @action(detail=False, content_negotiation_class=AnyAnswer, pagination_class=None)
    def export(self, request: Request) -> HttpResponse:
        """The tasks as CSV (RFC 4180, UTF-8), for a spreadsheet; filters as in the list."""
        house_asked(request, "tasks")
        tasks = self.filter_queryset(self.get_queryset())
        house = visible(Property.objects.all(), request.user).get(
            pk=request.query_params["property"]
        )
        return as_file(task_sheets.sheet_of(tasks, house=house), "tasks.csv")

    @extend_schema(
        request={"multipart/form-data": SheetBody},
        responses=TasksImportedSerializer,
        parameters=[DRY_RUN],
    )
    @action(
        detail=False,
        methods=["post"],
        url_path="import",
        parser_classes=[OneFileParser, BoundedJSONParser],
    )
    def bring_in(self, request: Request) -> Response:
        """Add and change tasks from a CSV sheet as `export/` gives it: all of it or nothing.

        A row with an `id` changes that task in the cells that differ, a row without one adds a
        task. Tasks that the sheet does not name stay, and so do columns that it does not have.
        With `?dry_run=1` nothing is changed, and `errors` lists by row and column what is wrong.
        """
        house, content, dry_run = sheet_asked(request, self.get_serializer_context())
        zone = ZoneInfo(house.timezone)
        rows = reading(lambda: task_csv.read_tasks(content, zone=zone))
        found = task_sheets.bring_in(
            house=house, rows=rows, dry_run=dry_run, refuse=self.refuse_change
        )
        if found.errors and not dry_run:
            raise refusal(found.errors)
        return Response(TasksImportedSerializer(told(found)).data)


def told(found: task_sheets.TaskImport) -> dict[str, Any]:
    kept = not found.dry_run and not found.errors
    return {
        "dry_run": found.dry_run,
        "created": list(lines(found.created(), kept=kept)),
        "changed": list(lines(found.changed())),
        "unchanged": list(lines(found.unchanged())),
        "packages": found.packages,
        "errors": found.errors,
    }


def lines(taken: Iterable[Taken], *, kept: bool = True) -> Iterable[dict[str, Any]]:
    for one in taken:
        yield {
            "row": one.row,
            "id": one.task.pk if kept else None,
            "title": one.task.title,
            "columns": one.columns,
        }
