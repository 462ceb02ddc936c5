"""What the pile's computed answers look like."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers


class RunSerializer(serializers.Serializer[Any]):
    from_mm = serializers.IntegerField(help_text="From the marked end.")
    to_mm = serializers.IntegerField()
    length_mm = serializers.IntegerField()
    why_left = serializers.CharField(help_text="A kind of defect, or `end`.")
    why_right = serializers.CharField()


class SoundLengthsSerializer(serializers.Serializer[Any]):
    """Sound lengths from the marked end, with what ends each."""

    role = serializers.CharField()
    sentence = serializers.CharField()
    runs = RunSerializer(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class DryingPointSerializer(serializers.Serializer[Any]):
    on = serializers.DateField()
    likely_pct = serializers.FloatField()
    low_pct = serializers.FloatField()
    high_pct = serializers.FloatField()


class DryingSerializer(serializers.Serializer[Any]):
    """When a piece is no wetter than a limit, where it is stored."""

    outlook = serializers.CharField(help_text="`dry`, `date`, `never`, `too_wet`, `no_reading`.")
    sentence = serializers.CharField()
    limit_pct = serializers.FloatField()
    dry_on = serializers.DateField(allow_null=True)
    early_on = serializers.DateField(allow_null=True)
    late_on = serializers.DateField(allow_null=True)
    latest_pct = serializers.FloatField(allow_null=True, help_text="The latest reading, corrected.")
    latest_on = serializers.DateField(allow_null=True)
    settles_pct = serializers.FloatField(
        allow_null=True, help_text="What it would settle at where it is stored."
    )
    time_constant_days = serializers.FloatField(allow_null=True)
    readings = serializers.IntegerField(help_text="How many readings the curve goes by.")
    points = DryingPointSerializer(many=True)


class NamedNeedSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    title = serializers.CharField()


class NamedPieceSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    mark = serializers.CharField()


class MatchReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    phrase = serializers.CharField()
    figures = serializers.DictField()


class RipSerializer(serializers.Serializer[Any]):
    from_breadth_mm = serializers.IntegerField()
    from_depth_mm = serializers.IntegerField()
    to_breadth_mm = serializers.IntegerField()
    to_depth_mm = serializers.IntegerField()
    keeps_grade = serializers.BooleanField()
    cuts = serializers.IntegerField()


class MatchSerializer(serializers.Serializer[Any]):
    """A need and a piece: the governing verdict, all that is to be said, what goes with it."""

    need = NamedNeedSerializer()
    piece = NamedPieceSerializer()
    verdict = serializers.CharField()
    fits = serializers.BooleanField(help_text="As it is, or after what the verdict says.")
    sentence = serializers.CharField()
    reasons = MatchReasonSerializer(many=True, help_text="The governing one first.")
    run = RunSerializer(allow_null=True, help_text="The longest sound length for the role.")
    rip = RipSerializer(allow_null=True)
    packers_mm = serializers.ListField(child=serializers.IntegerField())
    wet_until = serializers.DateField(allow_null=True)
    counts_as = serializers.CharField(help_text="The strength class it may be given.")
    check = serializers.DictField(allow_null=True, help_text="The joist check, where it was asked.")
    deviation = serializers.DictField(
        allow_null=True, help_text="A body for `deviations/`, where one has to go with it."
    )
    cautions = serializers.ListField(child=serializers.CharField())


class MatchesSerializer(serializers.Serializer[Any]):
    """Matches, the best first."""

    sentence = serializers.CharField()
    matches = MatchSerializer(many=True)
