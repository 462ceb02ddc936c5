"""Moisture readings over HTTP: one, or a list of them at once."""

from __future__ import annotations

from typing import Any

from django_filters import rest_framework as filters
from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from apps.property.models import Property
from apps.timber.api.fields import TimberSerializer
from apps.timber.loading import reading_data
from apps.timber.models import MoistureReading
from apps.timber.moisture import corrected_pct
from apps.work.api.bodies import not_in_the_future
from renovation.viewsets import LogViewSet

MOST_READINGS = 500


class MoistureReadingSerializer(TimberSerializer[MoistureReading]):
    corrected_pct = serializers.SerializerMethodField(
        help_text="Put right for the wood's temperature and species [%]."
    )

    class Meta:
        model = MoistureReading
        fields = [
            "id", "version", "piece", "at_mm", "measured_pct", "wood_temperature_c",
            "species_correction_pct", "corrected_pct", "instrument", "read_at",
        ]  # fmt: skip
        read_only_fields = ["version"]
        extra_kwargs = {"read_at": {"validators": [not_in_the_future]}}

    def get_corrected_pct(self, reading: MoistureReading) -> float:
        return round(corrected_pct(reading_data(reading)), 2)


class MoistureReadingFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="piece__property", queryset=Property.objects.all()
    )

    class Meta:
        model = MoistureReading
        fields = {
            "piece": ["exact"], "read_at": ["gte", "lte"], "measured_pct": ["gte", "lte"],
        }  # fmt: skip


def one_or_many(name: str) -> PolymorphicProxySerializer:
    """A reading or a list of them, for the description of the API."""
    return PolymorphicProxySerializer(
        component_name=name,
        serializers=[MoistureReadingSerializer, MoistureReadingSerializer(many=True)],
        resource_type_field_name=None,
        many=False,
    )


class MoistureReadingViewSet(mixins.DestroyModelMixin, LogViewSet[MoistureReading]):
    """What a moisture meter said. Never altered: a slip is removed and read again.

    `POST` takes one reading or a list of up to 500, all or none of them.
    """

    queryset = MoistureReading.objects.select_related("piece__property")
    serializer_class = MoistureReadingSerializer
    filterset_class = MoistureReadingFilter
    search_fields = ["instrument"]
    ordering_fields = ["id", "read_at", "measured_pct", "at_mm"]

    @extend_schema(request=one_or_many("OneOrManyReadings"), responses={201: one_or_many("Noted")})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        if not isinstance(request.data, list):
            return super().create(request, *args, **kwargs)
        wanted = self.get_serializer(
            data=request.data, many=True, allow_empty=False, max_length=MOST_READINGS
        )
        wanted.is_valid(raise_exception=True)
        wanted.save()
        return Response(wanted.data, status=201)
