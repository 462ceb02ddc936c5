"""The shapes of what the planner answers: references, reasons, alerts, days, holds."""

from __future__ import annotations

from typing import Any, get_args

from rest_framework import serializers

from apps.planning.models import Stint
from apps.planning.problem import LevelName, ReasonCode
from apps.planning.remedies import RemedyKind

CODES = get_args(ReasonCode)
LEVELS = get_args(LevelName)


class ReferenceSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField()
    id = serializers.IntegerField()
    name = serializers.CharField()

    def to_representation(self, instance: dict[str, Any]) -> dict[str, Any]:
        # An alert may name thousands: field by field each takes twenty times as long.
        return {
            "kind": str(instance["kind"]), "id": int(instance["id"]), "name": str(instance["name"]),
        }  # fmt: skip


class ReasonSerializer(serializers.Serializer[Any]):
    code = serializers.ChoiceField(choices=CODES)
    sentence = serializers.CharField()
    by = ReferenceSerializer(many=True)


class StintSerializer(serializers.ModelSerializer[Stint]):
    why_not_sooner = ReasonSerializer()
    supposed = serializers.CharField(
        default=None, allow_null=True, help_text="Title of a task that is only supposed."
    )

    class Meta:
        model = Stint
        fields = [
            "id",
            "task",
            "visit",
            "inspection",
            "starts",
            "ends",
            "why_not_sooner",
            "firm",
            "supposed",
        ]


class AlertSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=["stop", "act", "watch"])
    sentence = serializers.CharField()
    about = ReferenceSerializer(many=True)
    figures = serializers.DictField()
    from_plan = serializers.IntegerField(allow_null=True)


class TakenSerializer(serializers.Serializer[Any]):
    """Other work in hours that were wanted."""

    about = ReferenceSerializer()
    minutes = serializers.IntegerField()


class TimeStretchSerializer(serializers.Serializer[Any]):
    starts = serializers.DateTimeField()
    ends = serializers.DateTimeField()


class EffectSerializer(serializers.Serializer[Any]):
    """What another solve shows; all but the first three are changes, below 0 for better."""

    short_before_minutes = serializers.IntegerField()
    short_after_minutes = serializers.IntegerField()
    moved_minutes = serializers.IntegerField()
    unplaced_minutes = serializers.IntegerField()
    unready_minutes = serializers.IntegerField()
    late_minutes = serializers.IntegerField()
    finish_minutes = serializers.IntegerField()


class RemedySerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=get_args(RemedyKind))
    about = ReferenceSerializer(allow_null=True)
    times = TimeStretchSerializer(many=True)
    sentence = serializers.CharField()
    price_minutes = serializers.IntegerField()
    effect = EffectSerializer()
    what_if = serializers.JSONField(allow_null=True)


class UnplacedSerializer(serializers.Serializer[Any]):
    about = ReferenceSerializer()
    code = serializers.ChoiceField(choices=CODES)
    sentence = serializers.CharField()
    short_minutes = serializers.IntegerField()
    by = ReferenceSerializer(many=True)
    # Plans of earlier releases have none.
    taken_by = TakenSerializer(many=True, default=list)
    remedies = RemedySerializer(many=True, default=list)


class BecauseSerializer(serializers.Serializer[Any]):
    sentence = serializers.CharField()
    by = ReferenceSerializer(many=True)


class ChangeSerializer(serializers.Serializer[Any]):
    about = ReferenceSerializer()
    was = serializers.DateTimeField(allow_null=True)
    was_until = serializers.DateTimeField(allow_null=True)
    now = serializers.DateTimeField(allow_null=True)
    now_until = serializers.DateTimeField(allow_null=True)
    sentence = serializers.CharField()
    because = BecauseSerializer()


class MovedSerializer(serializers.Serializer[Any]):
    """How much of the plan before stood."""

    stints = serializers.IntegerField(help_text="Of the plan before, still ahead.")
    moved = serializers.IntegerField(help_text="How many of them have other times.")
    share = serializers.FloatField()
    sentence = serializers.CharField()


class LevelSerializer(serializers.Serializer[Any]):
    level = serializers.ChoiceField(choices=LEVELS)
    value = serializers.IntegerField()
    bound = serializers.IntegerField(help_text="No plan can be better.")
    unit = serializers.ChoiceField(choices=["minutes", "tasks", "nights", "breaks"])


class ChanceSerializer(serializers.Serializer[Any]):
    """How likely one thing is ready in time."""

    about = ReferenceSerializer()
    by = serializers.DateTimeField(
        allow_null=True, help_text="When it should be; null: part of it has no place in the plan."
    )
    chance = serializers.FloatField(help_text="0 to 1.")
    words = serializers.CharField()
    by_80 = serializers.DateTimeField(
        allow_null=True, help_text="Four in five that it is ready by then."
    )
    sentence = serializers.CharField()


class OutsiderSerializer(serializers.Serializer[Any]):
    """Somebody's coming: when it is or is planned, and why not sooner."""

    title = serializers.CharField()
    state = serializers.CharField()
    starts = serializers.DateTimeField()
    ends = serializers.DateTimeField()
    why_not_sooner = ReasonSerializer(allow_null=True)
    odds = ChanceSerializer(allow_null=True)


class PlannedVisitSerializer(OutsiderSerializer):
    visit = serializers.IntegerField()
    trade = serializers.CharField()


class PlannedInspectionSerializer(OutsiderSerializer):
    inspection = serializers.IntegerField()
    by = serializers.CharField()


class PlannedStintSerializer(serializers.Serializer[Any]):
    task = serializers.IntegerField()
    title = serializers.CharField()
    package = serializers.CharField()
    place = serializers.CharField()
    trade = serializers.IntegerField(allow_null=True)
    starts = serializers.DateTimeField()
    ends = serializers.DateTimeField()
    why_not_sooner = ReasonSerializer()
    watch = serializers.ListField(child=serializers.CharField())


class NamedBoardSerializer(serializers.Serializer[Any]):
    """A board with its floor: marks count anew on each."""

    board = serializers.IntegerField()
    mark = serializers.CharField()
    floor = serializers.IntegerField()
    floor_name = serializers.CharField()


class BoardsOfTaskSerializer(serializers.Serializer[Any]):
    task = serializers.IntegerField()
    floor = serializers.IntegerField()
    boards = NamedBoardSerializer(many=True)


class BoardChangesSerializer(serializers.Serializer[Any]):
    lift = BoardsOfTaskSerializer(many=True)
    fix = BoardsOfTaskSerializer(many=True)


class RouteNightSerializer(serializers.Serializer[Any]):
    route = ReferenceSerializer()
    holds = serializers.BooleanField()
    lay_loose = NamedBoardSerializer(many=True)
    deck_over = NamedBoardSerializer(many=True)
    sentence = serializers.CharField()


class HoursSerializer(serializers.Serializer[Any]):
    person = serializers.IntegerField()
    name = serializers.CharField()
    starts = serializers.DateTimeField()
    ends = serializers.DateTimeField()


class DeliverySerializer(serializers.Serializer[Any]):
    supply = serializers.IntegerField()
    title = serializers.CharField()
    expected_at = serializers.DateTimeField()


class DaySerializer(serializers.Serializer[Any]):
    date = serializers.DateField()
    working_times = HoursSerializer(many=True)
    stints = PlannedStintSerializer(many=True)
    visits = PlannedVisitSerializer(many=True)
    inspections = PlannedInspectionSerializer(many=True)
    deliveries = DeliverySerializer(many=True)
    boards = BoardChangesSerializer()
    tonight = RouteNightSerializer(many=True)


class PlanSummarySerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    as_of = serializers.DateTimeField()
    proven = serializers.BooleanField()
    gap = serializers.FloatField(allow_null=True)
    unplaced = UnplacedSerializer(many=True)


class WeekSerializer(serializers.Serializer[Any]):
    property = serializers.IntegerField()
    week = serializers.CharField(help_text="ISO 8601 week, e.g. 2026-W49.")
    plan = PlanSummarySerializer(allow_null=True)
    days = DaySerializer(many=True)


class BoardHoldSerializer(serializers.Serializer[Any]):
    board = serializers.IntegerField()
    mark = serializers.CharField()
    floor = serializers.IntegerField()
    floor_name = serializers.CharField()
    access_need = serializers.IntegerField()
    reason = serializers.CharField()
    open_as = serializers.ChoiceField(choices=["up", "unfixed"])
    open_from = serializers.DateTimeField(allow_null=True)
    open_until = serializers.DateTimeField(allow_null=True)
    release = serializers.CharField()
    released = serializers.BooleanField()
    earliest_fix = serializers.DateTimeField(allow_null=True)
    sentence = serializers.CharField()

    def get_fields(self) -> dict[str, Any]:
        # `for` is the contract's word and no Python name.
        return {**super().get_fields(), "for": ReferenceSerializer()}


class NightSerializer(serializers.Serializer[Any]):
    date = serializers.DateField()
    routes = RouteNightSerializer(many=True)
