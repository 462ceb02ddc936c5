"""Plans over HTTP."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
)
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.planning import services
from apps.planning.api.answers import (
    AlertSerializer,
    ChangeSerializer,
    LevelSerializer,
    MovedSerializer,
    StintSerializer,
    UnplacedSerializer,
)
from apps.planning.api.comparing import ComparisonSerializer
from apps.planning.api.helping import ContradictionSerializer, UnreadySerializer
from apps.planning.api.odds import OddsSerializer
from apps.planning.models import LONGEST_HORIZON_DAYS, Plan, Stint
from apps.planning.side_by_side import compared
from apps.planning.what_if import read_what_if, refuse_unknown
from renovation.errors import Problem
from renovation.etags import etag
from renovation.serializers import AwareDateTimeField, CheckedSerializer
from renovation.viewsets import ReadViewSet

# Bank holidays are known for these years.
FIRST_YEAR, LAST_YEAR = 2000, 2099
# Digits of the longest id that both databases keep.
LONGEST_ID = 18
WORKED_OUT = (Plan.State.READY, Plan.State.FAILED)


class PlanSerializer(CheckedSerializer[Plan]):
    """A plan and, once it is ready, its answer."""

    as_of = AwareDateTimeField(
        required=False, help_text="Plan as if it were this instant; now when left out."
    )
    seconds = serializers.FloatField(default=5.0, min_value=0.1, max_value=120)
    horizon_days = serializers.IntegerField(default=28, min_value=1, max_value=LONGEST_HORIZON_DAYS)
    what_if = serializers.JSONField(required=False, allow_null=True)
    status = serializers.CharField(source="state", read_only=True)
    objective = LevelSerializer(many=True, read_only=True)
    stints = serializers.SerializerMethodField()
    unplaced = UnplacedSerializer(many=True, read_only=True)
    unready = UnreadySerializer(many=True, read_only=True)
    contradictions = ContradictionSerializer(many=True, read_only=True)
    alerts = serializers.SerializerMethodField()
    changes = ChangeSerializer(many=True, read_only=True)
    moved = MovedSerializer(read_only=True, allow_null=True)
    quick = serializers.BooleanField(
        default=False,
        help_text="Follow the day: a plan in a moment from the one before; `seconds` is not used.",
    )
    odds = OddsSerializer(read_only=True, allow_null=True)

    class Meta:
        model = Plan
        fields = [
            "id", "version", "property", "as_of", "horizon_days", "seconds", "quick", "what_if",
            "status", "progress_pct", "because", "superseded_by", "is_current", "objective",
            "proven", "gap", "first_plan_seconds",
            "solve_seconds", "stints", "unplaced", "unready", "contradictions", "alerts", "changes",
            "moved", "odds", "failure", "requested_at", "solved_at",
        ]  # fmt: skip
        read_only_fields = [
            "version", "progress_pct", "because", "superseded_by", "is_current", "proven", "gap",
            "first_plan_seconds", "solve_seconds", "failure", "requested_at", "solved_at",
        ]  # fmt: skip

    @extend_schema_field(AlertSerializer(many=True))
    def get_alerts(self, plan: Plan) -> list[dict[str, Any]]:
        return [{**alert, "from_plan": plan.pk} for alert in plan.alerts]

    @extend_schema_field(StintSerializer(many=True))
    def get_stints(self, plan: Plan) -> list[dict[str, Any]]:
        """The plan's stints, and in their place among them those of supposed tasks."""
        rows = [*plan.stints.all(), *map(supposed_stint, plan.supposed_stints)]
        return StintSerializer(sorted(rows, key=lambda row: row.starts), many=True).data  # type: ignore[return-value]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        if attrs.get("what_if") is not None:
            refuse_unknown(attrs["property"], attrs["what_if"])
        return attrs

    def validate_as_of(self, value: datetime) -> datetime:
        if not FIRST_YEAR <= value.year <= LAST_YEAR:
            raise serializers.ValidationError(f"Plan for a year from {FIRST_YEAR} to {LAST_YEAR}.")
        return value

    def validate_what_if(self, value: Any) -> Any:
        return None if value is None else read_what_if(value)


def supposed_stint(kept: dict[str, Any]) -> Stint:
    """A stint whose task is in no table, as a row to show."""
    values = {name: each for name, each in kept.items() if name not in {"task", "supposed"}}
    times = {name: datetime.fromisoformat(values.pop(name)) for name in ("starts", "ends")}
    row = Stint(**values, **times)
    row.supposed = kept["supposed"]  # type: ignore[attr-defined]
    return row


class PlanListSerializer(PlanSerializer):
    """A plan without its stints, for lists."""

    class Meta(PlanSerializer.Meta):
        fields = [
            "id", "version", "property", "as_of", "horizon_days", "seconds", "quick", "what_if",
            "status", "progress_pct", "because", "superseded_by", "is_current", "objective",
            "proven", "gap", "failure", "requested_at", "solved_at",
        ]  # fmt: skip


LISTED = ["state" if name == "status" else name for name in PlanListSerializer.Meta.fields]


class PlanViewSet(ReadViewSet[Plan]):
    """Plans: ask for one, read its answer. The last good one stays current until a new one is.

    With `what_if` the plan is worked out the same way and never becomes current:
    `{"visits": [{"id", "starts", "ends"}], "days_off": [{"person", "date"}],
    "more_hours": [{"person", "date", "starts", "ends"}], "drop_tasks": [id],
    "add_tasks": [{"title", "package", "likely_minutes", …}]}`.
    """

    queryset = Plan.objects.defer("inputs")
    serializer_class = PlanSerializer
    filterset_fields = {
        "property": ["exact"], "state": ["exact", "in"], "is_current": ["exact"],
        "because": ["exact"], "superseded_by": ["exact", "isnull"],
        "as_of": ["gte", "lte"],
        "requested_at": ["gte", "lte"],
        "solved_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id", "as_of"]

    def get_queryset(self) -> QuerySet[Plan]:
        """For a list without the answers: they are most of a plan, and not shown."""
        rows = super().get_queryset()
        return rows.only(*LISTED) if self.action == "list" else rows.prefetch_related("stints")

    def writes_atomically(self, request: Any) -> bool:
        """A plan is answered after its commit: with in-process tasks it is ready by then."""
        return self.action_map.get("post") != "create" and super().writes_atomically(request)

    def get_serializer_class(self) -> Any:
        return PlanListSerializer if self.action == "list" else PlanSerializer

    @extend_schema(responses={201: PlanSerializer, 202: PlanSerializer})
    def create(self, request: Request) -> Response:
        """Ask for a plan: 201 when it is worked out at once, 202 when it is queued.

        Look at `status`: `failed` means that the planner stopped on an error (`failure` says
        so) and the last good plan is still current; `superseded`, that a newer request took its
        place before anybody worked on it.
        """
        with transaction.atomic():
            self.claim_key()
            wanted = self.get_serializer(data=request.data)
            wanted.is_valid(raise_exception=True)
            values = wanted.validated_data
            asked = services.request_plan(
                house=values["property"],
                as_of=values.get("as_of") or timezone.now(),
                horizon_days=values["horizon_days"],
                seconds=values["seconds"],
                quick=values["quick"],
                what_if=values.get("what_if"),
                requested_by=request.user,
            )
            self.keep_answer(self.answered(asked))
        return self.answered(asked)

    def answered(self, asked: Plan) -> Response:
        """The plan as it is now: queued, or with in-process tasks worked out."""
        plan = self.get_queryset().get(pk=asked.pk)
        return Response(
            self.get_serializer(plan).data,
            status=201 if plan.state in WORKED_OUT else 202,
            headers={"ETag": etag(plan), "Location": f"/api/v1/plans/{plan.pk}/"},
        )

    @extend_schema(request=None, responses=PlanSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop it: it is queued or being solved. The current plan stays as it is."""
        plan = services.cancel_plan(plan=self.get_object())
        return Response(self.get_serializer(plan).data, headers={"ETag": etag(plan)})

    @extend_schema(
        parameters=[OpenApiParameter("other", OpenApiTypes.INT, OpenApiParameter.PATH)],
        responses={
            200: ComparisonSerializer,
            409: OpenApiResponse(description="One of them is not ready."),
        },
    )
    @action(detail=True, url_path=r"against/(?P<other>\d+)")
    def against(self, request: Request, pk: str, other: str) -> Response:
        """This plan beside another of the same house. 409 unless both are ready."""
        plan = self.get_object()
        others = Plan.objects.filter(property=plan.property_id)
        found = others.filter(pk=int(other)).first() if len(other) <= LONGEST_ID else None
        if found is None:
            raise Problem("not-found", "This house has no such plan.", status_code=404)
        return Response(ComparisonSerializer(compared(plan, found)).data)
