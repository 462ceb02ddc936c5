"""The shapes of what a plan does not manage and what cannot hold together."""

from __future__ import annotations

from typing import Any, get_args

from rest_framework import serializers

from apps.planning.api.answers import ReferenceSerializer, RemedySerializer, TakenSerializer
from apps.planning.complaints import ComplaintKind
from apps.planning.contradiction_rules import RuleKind

UNREADY = [kind for kind in get_args(ComplaintKind) if kind != "unplaced"]


class UnreadySerializer(serializers.Serializer[Any]):
    """An outsider who comes too soon, a wanted visit out of its window, a wait too long."""

    about = ReferenceSerializer()
    kind = serializers.ChoiceField(choices=UNREADY)
    short_minutes = serializers.IntegerField()
    short_working_minutes = serializers.IntegerField()
    sentence = serializers.CharField()
    by = ReferenceSerializer(many=True)
    taken_by = TakenSerializer(many=True)
    remedies = RemedySerializer(many=True)


class RuleSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=get_args(RuleKind))
    sentence = serializers.CharField()
    about = ReferenceSerializer(many=True)


class ContradictionSerializer(serializers.Serializer[Any]):
    """Rules that cannot all hold; without any one of them the rest can, if `smallest`."""

    sentence = serializers.CharField()
    smallest = serializers.BooleanField()
    needed_minutes = serializers.IntegerField(allow_null=True)
    available_minutes = serializers.IntegerField(allow_null=True)
    rules = RuleSerializer(many=True)
