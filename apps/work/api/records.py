"""Time entries, supplies and findings over HTTP."""

from __future__ import annotations

from typing import Any

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.property.models import Property
from apps.work import clock
from apps.work.api.bodies import not_in_the_future
from apps.work.models import Finding, Supply, TimeEntry
from renovation.serializers import CheckedSerializer
from renovation.viewsets import LogViewSet, RecordViewSet


class TimeEntrySerializer(CheckedSerializer[TimeEntry]):
    noted_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)

    class Meta:
        model = TimeEntry
        fields = [
            "id", "version", "task", "starts", "minutes", "note", "takes_back", "noted_by",
            "recorded_at",
        ]  # fmt: skip
        read_only_fields = ["version", "takes_back", "recorded_at"]
        extra_kwargs = {"starts": {"validators": [not_in_the_future]}}


class TimeEntryFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="task__package__property", queryset=Property.objects.all()
    )

    class Meta:
        model = TimeEntry
        fields = {
            "task": ["exact"], "task__package": ["exact"], "noted_by__username": ["exact"],
            "takes_back": ["exact", "isnull"],
            "starts": ["gte", "lte"], "recorded_at": ["gte", "lte"],
        }  # fmt: skip


class TimeEntryViewSet(LogViewSet[TimeEntry]):
    """Time spent on tasks. Only ever added to: a slip is taken back by minus minutes."""

    queryset = TimeEntry.objects.select_related("task__package", "noted_by")
    serializer_class = TimeEntrySerializer
    filterset_class = TimeEntryFilter
    search_fields = ["note"]
    ordering_fields = ["id", "starts", "minutes", "recorded_at"]

    def perform_create(self, serializer: BaseSerializer[TimeEntry]) -> None:
        serializer.instance = clock.note_time(
            noted_by=self.request.user, **serializer.validated_data
        )

    @extend_schema(request=None, responses={201: TimeEntrySerializer})
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, pk: str) -> Response:
        """Take an entry back, whole: a further entry of as many minus minutes, once."""
        made = clock.take_back(entry=self.get_object(), noted_by=request.user)
        return Response(self.get_serializer(made).data, status=201)


class SupplySerializer(CheckedSerializer[Supply]):
    class Meta:
        model = Supply
        fields = [
            "id", "version", "property", "title", "supplier", "expected_on", "expected_at",
            "arrived_at", "tasks",
        ]  # fmt: skip
        read_only_fields = ["version"]
        extra_kwargs = {"arrived_at": {"validators": [not_in_the_future]}}


class SupplyViewSet(RecordViewSet[Supply]):
    """What is bought or hired; its tasks wait until `arrived_at` is set."""

    queryset = Supply.objects.prefetch_related("tasks")
    serializer_class = SupplySerializer
    filterset_fields = {
        "property": ["exact"], "tasks": ["exact"], "expected_on": ["gte", "lte", "isnull"],
        "arrived_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "supplier"]
    ordering_fields = ["id", "title", "expected_on", "arrived_at"]


class FindingSerializer(CheckedSerializer[Finding]):
    class Meta:
        model = Finding
        fields = [
            "id", "version", "property", "kind", "title", "note", "room", "floor", "joist",
            "at_mm", "found_at", "decision", "decided_at",
        ]  # fmt: skip
        read_only_fields = ["version"]


class FindingViewSet(RecordViewSet[Finding]):
    """What the house showed when it was opened, and what was decided.

    Suspected asbestos: stop, keep out and have it sampled by a licensed person. Gas,
    electricity and structure are for registered or chartered people.
    """

    queryset = Finding.objects.select_related("joist")
    serializer_class = FindingSerializer
    filterset_fields = {
        "property": ["exact"], "kind": ["exact", "in"], "room": ["exact", "isnull"],
        "floor": ["exact", "isnull"], "joist": ["exact", "isnull"], "at_mm": ["gte", "lte"],
        "found_at": ["gte", "lte"],
        "decided_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "note", "decision"]
    ordering_fields = ["id", "kind", "title", "found_at", "decided_at"]
