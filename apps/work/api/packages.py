"""Work packages over HTTP, and ready ones in one call."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.api.floors import DRY_RUN, flag
from apps.floors.models import Floor
from apps.property import outlines
from apps.property.fields import PolylineField
from apps.property.models import Property, Room
from apps.work import ready_services
from apps.work.api.links import LinkSerializer
from apps.work.api.tasks import TaskSerializer
from apps.work.models import Trade, WorkPackage
from apps.work.ready import READY
from renovation.errors import Problem
from renovation.related import RowField
from renovation.scope import may_change, visible
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class WorkPackageSerializer(CheckedSerializer[WorkPackage]):
    class Meta:
        model = WorkPackage
        fields = ["id", "version", "property", "title", "kind", "note"]
        read_only_fields = ["version"]


class ReadyBody(serializers.Serializer[Any]):
    """Which ready package, and where. `property` may be left out: it is the floor's."""

    kind = serializers.ChoiceField(choices=[(key, row.title) for key, row in READY.items()])
    floor = RowField(queryset=Floor.objects.select_related("property"))
    property = RowField(queryset=Property.objects.all(), required=False)
    room = RowField(queryset=Room.objects.all(), required=False, allow_null=True)
    trade = RowField(
        queryset=Trade.objects.all(), required=False, allow_null=True,
        help_text="Who does the first-fix run; left out: the crew.",
    )  # fmt: skip
    title = serializers.CharField(required=False, max_length=120)
    area = serializers.JSONField(required=False, help_text="[[x, y], …] in mm on the floor.")
    route = serializers.JSONField(required=False, help_text="Instead of an area: [[x, y], …].")
    clearance_mm = serializers.IntegerField(default=150, min_value=0, max_value=2000)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        for name in ("floor", "property", "room", "trade"):
            field: Any = fields[name]
            field.queryset = visible(field.queryset, self.context["request"].user)
        return fields

    def validate_area(self, value: Any) -> list[list[int]]:
        return said(outlines.closed_ring, value)

    def validate_route(self, value: Any) -> list[list[int]]:
        return said(PolylineField().line, value)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        house = attrs["floor"].property
        named = {
            "property": attrs.pop("property", house),
            **{name: attrs[name].property for name in ("room", "trade") if attrs.get(name)},
        }
        if wrong := sorted(name for name, theirs in named.items() if theirs != house):
            raise serializers.ValidationError(
                {name: ["This belongs to another house."] for name in wrong}
            )
        if not may_change(self.context["request"].user, house.pk):
            raise Problem(
                "not-allowed", "You may look at this house but not change it.", status_code=403
            )
        return attrs


def said(read: Callable[[Any], list[list[int]]], value: Any) -> list[list[int]]:
    """Read a place; its ValueError is for the person who sent it."""
    try:
        return read(value)
    except ValueError as exc:
        raise serializers.ValidationError(str(exc)) from exc


class ReadyLinkSerializer(LinkSerializer):
    """A link by the titles of its tasks too: in a preview they have no ids yet."""

    before_title = serializers.CharField(source="before.title", read_only=True)
    after_title = serializers.CharField(source="after.title", read_only=True)

    class Meta(LinkSerializer.Meta):
        fields = [*LinkSerializer.Meta.fields, "before_title", "after_title"]


class ReadySerializer(serializers.Serializer[Any]):
    """The package, its tasks in order, and their links. Ids are null in a preview."""

    package = WorkPackageSerializer()
    tasks = TaskSerializer(many=True)
    links = ReadyLinkSerializer(many=True)


class WorkPackageViewSet(RecordViewSet[WorkPackage]):
    """Parts of the job that belong together."""

    queryset = WorkPackage.objects.all()
    serializer_class = WorkPackageSerializer
    filterset_fields = {"property": ["exact"], "kind": ["exact", "in"]}
    search_fields = ["title", "note"]
    ordering_fields = ["id", "title", "kind"]

    @extend_schema(
        request=ReadyBody,
        responses={200: ReadySerializer, 201: ReadySerializer},
        parameters=[DRY_RUN],
    )
    @action(detail=False, methods=["post"])
    def ready(self, request: Request) -> Response:
        """Add a package with its usual tasks and links at once, sized to the area.

        Durations and waits are common practice, no source; change them as you learn. A
        ready package is a list of steps, not advice on structure, electricity, gas or
        asbestos: those are for licensed people and the local building control body.
        """
        dry_run = flag(request, "dry_run")
        wanted = ReadyBody(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        make = ready_services.ready_rows if dry_run else ready_services.add_ready_package
        rows = make(**wanted.validated_data)
        return Response(
            ReadySerializer(rows, context=self.get_serializer_context()).data,
            status=200 if dry_run else 201,
        )
