"""The shape of two plans side by side."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from apps.planning.api.answers import BecauseSerializer, ReferenceSerializer

SIDES = ["plan", "against", "neither"]


class TimesSerializer(serializers.Serializer[Any]):
    starts = serializers.DateTimeField()
    ends = serializers.DateTimeField()


class VisitTimesSerializer(TimesSerializer):
    ready = serializers.BooleanField()


class BothLevelsSerializer(serializers.Serializer[Any]):
    level = serializers.CharField()
    plan = serializers.IntegerField()
    against = serializers.IntegerField()
    difference = serializers.IntegerField(help_text="Below 0: this plan is better.")
    better = serializers.ChoiceField(choices=SIDES)


class BothFinishesSerializer(serializers.Serializer[Any]):
    plan = serializers.DateTimeField(allow_null=True)
    against = serializers.DateTimeField(allow_null=True)


class BothVisitsSerializer(serializers.Serializer[Any]):
    about = ReferenceSerializer()
    plan = VisitTimesSerializer(allow_null=True)
    against = VisitTimesSerializer(allow_null=True)
    sentence = serializers.CharField()


class BothTimesSerializer(serializers.Serializer[Any]):
    about = ReferenceSerializer()
    plan = TimesSerializer(allow_null=True)
    against = TimesSerializer(allow_null=True)
    sentence = serializers.CharField()


class OnlyUnplacedSerializer(serializers.Serializer[Any]):
    only_plan = ReferenceSerializer(many=True)
    only_against = ReferenceSerializer(many=True)


class ComparisonSerializer(serializers.Serializer[Any]):
    plan = serializers.IntegerField()
    against = serializers.IntegerField()
    better = serializers.ChoiceField(choices=SIDES)
    sentences = serializers.ListField(child=serializers.CharField())
    objective = BothLevelsSerializer(many=True)
    finish = BothFinishesSerializer()
    visits = BothVisitsSerializer(many=True)
    unplaced = OnlyUnplacedSerializer()
    moved = BothTimesSerializer(many=True)
    made_from = BecauseSerializer(many=True)
