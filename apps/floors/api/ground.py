"""Air bricks, probes along joists and spot heights over HTTP."""

from __future__ import annotations

import math
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import models
from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    PolymorphicProxySerializer,
    extend_schema,
    extend_schema_field,
)
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.models import AirBrick, Floor, JoistProbe, SpotHeight
from apps.floors.services import CLOCKS_DIFFER
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet, Row

MOST_AT_ONCE = 500


def has_happened(value: datetime) -> None:
    """Refuse to record what is still to come."""
    if value > timezone.now() + CLOCKS_DIFFER:
        raise serializers.ValidationError("This has yet to happen; note it when it is done.")


class NumberField(serializers.FloatField):
    """A number; neither true nor "NaN" is one."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool):
            self.fail("invalid")
        value = super().to_internal_value(data)
        if not math.isfinite(value):
            self.fail("invalid")
        return value


@extend_schema_field(OpenApiTypes.DOUBLE)
class TenthsField(serializers.DecimalField):
    """Millimetres to a tenth, answered as a number."""

    def to_representation(self, value: Any) -> Any:
        return None if value is None else float(Decimal(value))


class MeasuredSerializer(CheckedSerializer[Row]):
    serializer_field_mapping = {
        **CheckedSerializer.serializer_field_mapping,
        models.FloatField: NumberField,
        models.DecimalField: TenthsField,
    }


class AirBrickSerializer(MeasuredSerializer[AirBrick]):
    class Meta:
        model = AirBrick
        fields = [
            "id", "version", "floor", "mark", "at", "free_area_mm2", "state", "through_solid",
            "above_ground_mm", "note",
        ]  # fmt: skip
        read_only_fields = ["version"]


class JoistProbeSerializer(MeasuredSerializer[JoistProbe]):
    class Meta:
        model = JoistProbe
        fields = [
            "id", "version", "joist", "at_mm", "face", "probe_mm", "moisture_pct", "fixing",
            "note", "probed_at",
        ]  # fmt: skip
        read_only_fields = ["version"]
        extra_kwargs = {"probed_at": {"validators": [has_happened]}}


class SpotHeightSerializer(MeasuredSerializer[SpotHeight]):
    class Meta:
        model = SpotHeight
        fields = [
            "id", "version", "floor", "joist", "at_mm", "bearing", "point", "height_mm", "datum",
            "measured_at",
        ]  # fmt: skip
        read_only_fields = ["version"]
        extra_kwargs = {"measured_at": {"validators": [has_happened]}}


def one_or_many(name: str, of: type[serializers.Serializer[Any]]) -> PolymorphicProxySerializer:
    """One row or a list of them, for the description of the API."""
    return PolymorphicProxySerializer(
        component_name=name,
        serializers=[of, of(many=True)],
        resource_type_field_name=None,
        many=False,
    )


class SeveralMixin(RecordViewSet[Row]):
    """`POST` takes one row or a list of up to 500: all of them, or none."""

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        if not isinstance(request.data, list):
            return super().create(request, *args, **kwargs)
        wanted = self.get_serializer(
            data=request.data, many=True, allow_empty=False, max_length=MOST_AT_ONCE
        )
        wanted.is_valid(raise_exception=True)
        wanted.save()
        return Response(wanted.data, status=201)


class AirBrickViewSet(RecordViewSet[AirBrick]):
    """Openings through the walls into the void under a floor."""

    queryset = AirBrick.objects.select_related("floor")
    serializer_class = AirBrickSerializer
    filterset_fields = {
        "floor": ["exact"], "state": ["exact", "in"], "through_solid": ["exact"],
    }  # fmt: skip
    search_fields = ["mark", "note"]
    ordering_fields = ["id", "mark", "free_area_mm2"]


class JoistProbeFilter(filters.FilterSet):
    floor = filters.ModelChoiceFilter(field_name="joist__floor", queryset=Floor.objects.all())

    class Meta:
        model = JoistProbe
        fields = {
            "joist": ["exact"], "fixing": ["exact", "in"], "face": ["exact"],
            "moisture_pct": ["gte", "lte"], "probe_mm": ["gte", "lte"],
            "probed_at": ["gte", "lte"],
        }  # fmt: skip


class JoistProbeViewSet(SeveralMixin[JoistProbe]):
    """Looks along joists: how soft, how damp, what the drawn fixing was like.

    The last probe of a place and face is the one that stands; `DELETE` takes a slip back.
    """

    queryset = JoistProbe.objects.select_related("joist__floor")
    serializer_class = JoistProbeSerializer
    filterset_class = JoistProbeFilter
    search_fields = ["note"]
    ordering_fields = ["id", "at_mm", "probed_at"]

    @extend_schema(
        request=one_or_many("OneOrManyProbes", JoistProbeSerializer),
        responses={201: one_or_many("NotedProbes", JoistProbeSerializer)},
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Note one probe, or a list of up to 500: all of them or none."""
        return super().create(request, *args, **kwargs)


class SpotHeightViewSet(SeveralMixin[SpotHeight]):
    """Heights read with a laser or a water level, along joists or at a place.

    The last height of a place is the one that stands; `DELETE` takes a slip back.
    """

    queryset = SpotHeight.objects.select_related("floor", "joist__floor")
    serializer_class = SpotHeightSerializer
    filterset_fields = {
        "floor": ["exact"], "joist": ["exact", "isnull"], "datum": ["exact"],
        "bearing": ["exact"], "measured_at": ["gte", "lte"],
    }  # fmt: skip
    search_fields = ["bearing", "datum"]
    ordering_fields = ["id", "height_mm", "measured_at"]

    @extend_schema(
        request=one_or_many("OneOrManyHeights", SpotHeightSerializer),
        responses={201: one_or_many("NotedHeights", SpotHeightSerializer)},
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Note one height, or a list of up to 500: all of them or none."""
        return super().create(request, *args, **kwargs)
