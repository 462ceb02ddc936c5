"""The odds of a plan and the crew's pace: their shapes, and the pace of a house."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from apps.planning.api.answers import ChanceSerializer, ReferenceSerializer
from apps.planning.api.house import PROPERTY, HouseView


class PaceSerializer(serializers.Serializer[Any]):
    """How one kind of the crew's work goes against its estimates."""

    kind = serializers.CharField()
    factor = serializers.FloatField(help_text="Above 1: it takes longer than estimated.")
    low = serializers.FloatField(help_text="One in ten that the factor is below.")
    high = serializers.FloatField(help_text="One in ten that the factor is above.")
    tasks = serializers.IntegerField(help_text="Finished tasks it rests on.")
    minutes = serializers.IntegerField(help_text="Worked on them.")
    expected_minutes = serializers.IntegerField(help_text="Expected for them.")
    sentence = serializers.CharField()


class CorrectedSerializer(serializers.Serializer[Any]):
    """A task's likely minutes left, and what they are by the crew's own pace."""

    about = ReferenceSerializer()
    likely_minutes = serializers.IntegerField()
    corrected_minutes = serializers.IntegerField()


class OddsSerializer(serializers.Serializer[Any]):
    """The odds of a plan, from sampled runs of it."""

    runs = serializers.IntegerField()
    visits = ChanceSerializer(many=True)
    inspections = ChanceSerializer(many=True)
    packages = ChanceSerializer(many=True)
    finish = ChanceSerializer(allow_null=True)
    pace = PaceSerializer(many=True)
    corrected = CorrectedSerializer(many=True)


class PaceViewSet(HouseView):
    """The crew's own record: how long its work takes against what it had estimated."""

    @extend_schema(parameters=[PROPERTY], responses=PaceSerializer(many=True))
    def list(self, request: Request) -> Response:
        """One row for each kind of work with a finished task that has time noted on it."""
        from apps.planning.loading.history import (  # noqa: PLC0415 (numpy, 0.1 s)
            house_paces,
            pace_dict,
        )

        house, _ = self.asked()
        return self.paged([pace_dict(pace) for pace in house_paces(house).values()], PaceSerializer)
