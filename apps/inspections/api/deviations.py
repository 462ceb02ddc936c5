"""Deviations over HTTP."""

from __future__ import annotations

from typing import Any, cast

from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.inspections import services
from apps.inspections.models import Deviation, Evidence, SignOff
from apps.inspections.offers import offered_deviations
from apps.property.models import Property
from apps.work.api.bodies import AtBody, answer, read_body
from renovation.errors import field_problem
from renovation.related import RowField
from renovation.scope import visible
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet

LARGEST_SNAPSHOT_KEYS = 200


class DeviationSerializer(CheckedSerializer[Deviation]):
    """`state` and what decided it only change by actions."""

    class Meta:
        model = Deviation
        fields = [
            "id", "version", "property", "floor", "joist", "specified", "built", "why",
            "check_result", "state", "put_at", "decided_at", "decided_by", "decided_letter",
        ]  # fmt: skip
        read_only_fields = [
            "version", "state", "put_at", "decided_at", "decided_by", "decided_letter",
        ]  # fmt: skip

    def validate_check_result(self, value: Any) -> Any:
        if value is not None and not (
            isinstance(value, dict) and len(value) <= LARGEST_SNAPSHOT_KEYS
        ):
            raise serializers.ValidationError("Give the check's whole answer, an object.")
        return value

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        kept = self.instance
        joist = attrs.get("joist", kept.joist if kept else None)
        floor = attrs.get("floor", kept.floor if kept else None)
        if joist and floor and joist.floor_id != floor.pk:
            raise serializers.ValidationError({"joist": [f"{joist} is not a joist of {floor}."]})
        return attrs


class DecideBody(AtBody):
    """When it was decided, and the sign-off or the letter that says so: one or both."""

    decided_by = RowField(queryset=SignOff.objects.all(), required=False)
    decided_letter = RowField(queryset=Evidence.objects.all(), required=False)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        if request := self.context.get("request"):
            for name in ("decided_by", "decided_letter"):
                field: Any = fields[name]
                field.queryset = visible(field.queryset, request.user)
        return fields


class OfferedSerializer(serializers.Serializer[Any]):
    """A body that may be posted to `deviations/` as it is."""

    property = serializers.IntegerField()
    floor = serializers.IntegerField()
    joist = serializers.IntegerField()
    specified = serializers.CharField()
    built = serializers.CharField()


class OfferedListSerializer(serializers.Serializer[Any]):
    results = OfferedSerializer(many=True)


class DeviationViewSet(RecordViewSet[Deviation]):
    """Where the house is built otherwise than specified: why, on what check, and who decided.

    Rewritten and removed only while drafted. Whether a deviation is good enough is for the
    inspector or the engineer to say, not for the check.
    """

    queryset = Deviation.objects.select_related("floor", "joist")
    serializer_class = DeviationSerializer
    filterset_fields = {
        "property": ["exact"], "floor": ["exact", "isnull"], "joist": ["exact", "isnull"],
        "state": ["exact", "in"], "decided_by": ["exact", "isnull"],
        "decided_letter": ["exact", "isnull"], "put_at": ["gte", "lte", "isnull"],
        "decided_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["specified", "built", "why"]
    ordering_fields = ["id", "state", "put_at", "decided_at"]

    def perform_update(self, serializer: BaseSerializer[Deviation]) -> None:
        services.refuse_unless_draft(cast("Deviation", serializer.instance))
        serializer.save()

    def perform_destroy(self, instance: Deviation) -> None:
        services.refuse_unless_draft(instance)
        instance.delete()

    @extend_schema(request=AtBody, responses=DeviationSerializer)
    @action(detail=True, methods=["post"], url_path="put")
    def put_forward(self, request: Request, pk: str) -> Response:
        """Record that it was put to the one who decides. Undone by `back-to-draft/`."""
        deviation, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.put_deviation(deviation=deviation, **body))

    @extend_schema(request=DecideBody, responses=DeviationSerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: str) -> Response:
        """Record that it was accepted, by which sign-off or letter. Undone by `back-to-draft/`."""
        return self.decide(request, "accept")

    @extend_schema(request=DecideBody, responses=DeviationSerializer)
    @action(detail=True, methods=["post"])
    def refuse(self, request: Request, pk: str) -> Response:
        """Record that it was refused, by which sign-off or letter. Undone by `back-to-draft/`."""
        return self.decide(request, "refuse")

    def decide(self, request: Request, step: str) -> Response:
        deviation = self.get_object()
        wanted = DecideBody(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        decided = services.decide_deviation(deviation=deviation, step=step, **wanted.validated_data)
        return answer(self, decided)

    @extend_schema(request=None, responses=DeviationSerializer)
    @action(detail=True, methods=["post"], url_path="back-to-draft")
    def back_to_draft(self, request: Request, pk: str) -> Response:
        """Undo: drafted again, put to nobody and decided by nothing."""
        return answer(self, services.back_to_draft(deviation=self.get_object()))

    @extend_schema(
        parameters=[OpenApiParameter("property", OpenApiTypes.INT, required=True)],
        responses=OfferedListSerializer,
        filters=False,
    )
    @action(detail=False, methods=["get"], pagination_class=None)
    def offered(self, request: Request) -> Response:
        """Joists whose section is not their floor's specified one and that no deviation is
        about: a ready body for each. Nothing is created."""
        asked = request.query_params.get("property", "")
        if not (asked.isascii() and asked.isdigit()) or set(request.query_params) != {"property"}:
            raise field_problem("/property", "Say which house, by its id, and nothing else.")
        house = visible(Property.objects.filter(pk=int(asked[:18])), request.user).first()
        if house is None:
            raise Http404
        return Response(OfferedListSerializer({"results": offered_deviations(house)}).data)
