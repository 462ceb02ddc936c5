"""The shape of a proposal, for the API's description."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers


class StretchSerializer(serializers.Serializer[Any]):
    from_mm = serializers.IntegerField()
    to_mm = serializers.IntegerField()
    sentence = serializers.CharField()


class EndCutSerializer(serializers.Serializer[Any]):
    end = serializers.ChoiceField(choices=["start", "far"])
    cut_mm = serializers.IntegerField()
    proven = serializers.BooleanField()
    sentence = serializers.CharField()


class DamageSerializer(serializers.Serializer[Any]):
    sentence = serializers.CharField()
    allowance = serializers.CharField()
    keep = serializers.ListField(child=serializers.IntegerField(), allow_null=True)
    cuts = EndCutSerializer(many=True)
    middle = serializers.ListField(child=serializers.DictField())
    probe_next = StretchSerializer(many=True)


class ProposedTimberSerializer(serializers.Serializer[Any]):
    key = serializers.CharField()
    role = serializers.CharField()
    title = serializers.CharField()
    quantity = serializers.IntegerField()
    length_mm = serializers.IntegerField()
    length_rule = serializers.CharField()
    breadth_mm = serializers.IntegerField()
    depth_mm = serializers.IntegerField()
    strength_class = serializers.CharField()
    treated = serializers.BooleanField()
    supply = serializers.DictField()


class ProposedCheckSerializer(serializers.Serializer[Any]):
    of = serializers.CharField()
    edition = serializers.CharField()
    passes = serializers.BooleanField(allow_null=True)
    governing = serializers.CharField(allow_null=True)
    sentence = serializers.CharField()
    checks = serializers.ListField(child=serializers.DictField())
    blocked = serializers.ListField(child=serializers.DictField())
    warnings = serializers.ListField(child=serializers.DictField())
    cautions = serializers.ListField(child=serializers.CharField())
    figures = serializers.DictField()


class ProposedTaskSerializer(serializers.Serializer[Any]):
    step = serializers.CharField()
    title = serializers.CharField()
    low_minutes = serializers.IntegerField()
    likely_minutes = serializers.IntegerField()
    high_minutes = serializers.IntegerField()
    people = serializers.IntegerField()
    floor_action = serializers.CharField()
    note = serializers.CharField()


class ProposedLinkSerializer(serializers.Serializer[Any]):
    before = serializers.CharField()
    after = serializers.CharField()
    min_lag_minutes = serializers.IntegerField()
    reason = serializers.CharField()


class OptionSerializer(serializers.Serializer[Any]):
    """One way to repair it. `minutes` are of one pair of hands; `cost_pence` null: not known."""

    rank = serializers.IntegerField()
    option = serializers.CharField()
    title = serializers.CharField()
    possible = serializers.BooleanField()
    passes = serializers.BooleanField(allow_null=True)
    why = serializers.CharField()
    cut_back = serializers.ListField(child=serializers.DictField())
    timber = ProposedTimberSerializer(many=True)
    fixings = serializers.ListField(child=serializers.DictField())
    checks = ProposedCheckSerializer(many=True)
    tasks = ProposedTaskSerializer(many=True)
    links = ProposedLinkSerializer(many=True)
    area = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))
    boards = serializers.ListField(child=serializers.IntegerField())
    boards_down = serializers.ListField(child=serializers.IntegerField())
    inspection = serializers.DictField(allow_null=True)
    deviation = serializers.DictField(allow_null=True)
    minutes = serializers.IntegerField()
    cost_pence = serializers.IntegerField(allow_null=True)
    from_pile = serializers.BooleanField()
    warnings = serializers.ListField(child=serializers.CharField())


class ProposalSerializer(serializers.Serializer[Any]):
    """All options for a joist, the best first. Nothing was written."""

    joist = serializers.IntegerField()
    mark = serializers.CharField()
    evidence = serializers.CharField()
    sentence = serializers.CharField()
    damage = DamageSerializer()
    options = OptionSerializer(many=True)
    propping = serializers.ListField(child=serializers.CharField())
    warnings = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())
