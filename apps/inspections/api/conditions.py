"""Conditions of sign-offs over HTTP: made with the sign-off, cleared here."""

from __future__ import annotations

from typing import Any

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.inspections import services
from apps.inspections.models import Condition, Inspection
from apps.property.models import Property
from apps.work.api.bodies import AtBody, answer, read_body
from renovation.serializers import CheckedSerializer
from renovation.viewsets import ReadViewSet


class ClearBody(AtBody):
    note = serializers.CharField(max_length=1000, help_text="How it was met.")


class ConditionSerializer(CheckedSerializer[Condition]):
    inspection = serializers.PrimaryKeyRelatedField[Any](
        source="sign_off.inspection", read_only=True
    )
    cleared_by = serializers.SlugRelatedField[Any](
        slug_field="username", read_only=True, allow_null=True
    )

    class Meta:
        model = Condition
        fields = [
            "id", "version", "sign_off", "inspection", "text", "due_on", "blocks", "cleared_at",
            "cleared_note", "cleared_by",
        ]  # fmt: skip
        read_only_fields = fields


class ConditionFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="sign_off__property", queryset=Property.objects.all()
    )
    inspection = filters.ModelChoiceFilter(
        field_name="sign_off__inspection", queryset=Inspection.objects.all()
    )
    superseded = filters.BooleanFilter(
        field_name="sign_off__superseded_by", lookup_expr="isnull", exclude=True,
        label="Of a sign-off that was corrected since: such a one no longer counts.",
    )  # fmt: skip

    class Meta:
        model = Condition
        fields = {
            "sign_off": ["exact"], "blocks": ["exact"], "due_on": ["gte", "lte", "isnull"],
            "cleared_at": ["gte", "lte", "isnull"],
        }  # fmt: skip


class ConditionViewSet(ReadViewSet[Condition]):
    """What was asked for when something was accepted with conditions.

    An open condition keeps the tasks it blocks waiting like a hold point. Conditions come with
    their sign-off; whether one is met is for those who asked for it to judge.
    """

    queryset = Condition.objects.select_related(
        "sign_off__inspection", "cleared_by"
    ).prefetch_related("blocks")
    serializer_class = ConditionSerializer
    filterset_class = ConditionFilter
    search_fields = ["text", "cleared_note"]
    ordering_fields = ["id", "due_on", "cleared_at"]

    @extend_schema(request=ClearBody, responses=ConditionSerializer)
    @action(detail=True, methods=["post"])
    def clear(self, request: Request, pk: str) -> Response:
        """Record that it is met, and how. Undone by `open-again/`."""
        condition, body = self.get_object(), read_body(ClearBody, request)
        cleared = services.clear_condition(condition=condition, by=request.user, **body)
        return answer(self, cleared)

    @extend_schema(request=None, responses=ConditionSerializer)
    @action(detail=True, methods=["post"], url_path="open-again")
    def open_again(self, request: Request, pk: str) -> Response:
        """Undo a clearing: what was asked for is still to be done."""
        return answer(self, services.open_condition_again(condition=self.get_object()))
