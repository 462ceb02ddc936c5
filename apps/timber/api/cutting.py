"""Cutting plans and their cuts over HTTP."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response

from apps.timber.api.cutting_answers import (
    BarSerializer,
    BuySerializer,
    ByNeedSerializer,
    CutLevelSerializer,
    CutSerializer,
    LeftSerializer,
    UnmetSerializer,
    by_need,
    left_over,
    to_buy,
)
from apps.timber.api.fields import MillimetresField, TimberSerializer
from apps.timber.loading_cuts import STILL_WANTED
from apps.timber.models import Cut, CuttingPlan, Need, Piece
from apps.timber.models.pieces import LONGEST_MM
from apps.timber.pieces_as_data import PieceState
from apps.timber.services import applying, cuts_made
from apps.timber.services import cutting as services
from apps.work.api.bodies import AtBody, answer, read_body
from renovation.etags import etag
from renovation.viewsets import ReadViewSet

State = CuttingPlan.State
WORKED_OUT = (State.READY, State.FAILED)
SETTINGS = (
    "seconds", "kerf_mm", "end_trim_mm", "nail_margin_mm", "decay_margin_mm", "least_offcut_mm",
    "short_by_mm", "ripping_pence_per_m",
)  # fmt: skip


class ApplyBody(AtBody):
    """When it was applied, and when the bought timber is expected."""

    expected_on = serializers.DateField(required=False)


class MadeBody(AtBody):
    """How long the part came out."""

    actual_mm = MillimetresField(min_value=1, max_value=LONGEST_MM)


class CuttingPlanSerializer(TimberSerializer[CuttingPlan]):
    """A cutting plan and, once it is ready, its answer."""

    seconds = serializers.FloatField(default=2.0, min_value=0.1, max_value=60)
    bars = BarSerializer(many=True, read_only=True)
    objective = CutLevelSerializer(many=True, read_only=True)
    unmet = UnmetSerializer(many=True, read_only=True)
    notes = serializers.ListField(child=serializers.CharField(), read_only=True)
    buy = serializers.SerializerMethodField()
    offcuts = serializers.SerializerMethodField()
    by_need = serializers.SerializerMethodField()

    class Meta:
        model = CuttingPlan
        fields = [
            "id", "version", "property", "as_of", *SETTINGS, "needs", "pieces", "replans", "state",
            "progress_pct", "superseded_by",
            "objective", "proven", "notes", "bars", "by_need", "buy", "offcuts", "unmet",
            "solve_seconds", "failure", "requested_at", "solved_at", "applied_at",
        ]  # fmt: skip
        read_only_fields = [
            "version", "as_of", "state", "progress_pct", "superseded_by", "proven",
            "solve_seconds", "failure", "requested_at", "solved_at", "applied_at",
        ]  # fmt: skip

    @extend_schema_field(BuySerializer(many=True))
    def get_buy(self, plan: CuttingPlan) -> list[dict[str, Any]]:
        return to_buy(plan.bars.all())

    @extend_schema_field(LeftSerializer(many=True))
    def get_offcuts(self, plan: CuttingPlan) -> list[dict[str, Any]]:
        return left_over(plan.bars.all())

    @extend_schema_field(ByNeedSerializer(many=True))
    def get_by_need(self, plan: CuttingPlan) -> list[dict[str, Any]]:
        return by_need(plan.bars.all())

    def validate_needs(self, needs: list[Need]) -> list[Need]:
        if done := next((need for need in needs if need.state not in STILL_WANTED), None):
            raise serializers.ValidationError(f"“{done}” is {done.state}; reopen it first.")
        return needs

    def validate_pieces(self, pieces: list[Piece]) -> list[Piece]:
        gone = {PieceState.USED, PieceState.SCRAPPED}
        if piece := next((piece for piece in pieces if piece.state in gone), None):
            raise serializers.ValidationError(f"{piece} is {piece.state}.")
        return pieces

    def validate_replans(self, plan: CuttingPlan | None) -> CuttingPlan | None:
        if plan is not None and plan.state not in {State.READY, State.APPLIED}:
            raise serializers.ValidationError(f"{plan} is {plan.state}: nothing of it stays.")
        return plan


class CuttingPlanListSerializer(CuttingPlanSerializer):
    """A plan without its bars, for lists."""

    class Meta(CuttingPlanSerializer.Meta):
        fields = [
            "id", "version", "property", "as_of", *SETTINGS, "replans", "state", "progress_pct",
            "superseded_by", "objective", "proven", "unmet", "solve_seconds", "failure",
            "requested_at", "solved_at", "applied_at",
        ]  # fmt: skip


class CuttingPlanViewSet(ReadViewSet[CuttingPlan]):
    """What to cut from which piece, what to buy, what is left, what cannot be met.

    In this order of importance: needs by priority and date; the cost of what is bought and
    ripped; how few pieces are opened; waste, one long offcut worth more than several short
    ones; strokes of the saw. Nothing is reserved before a plan is applied.
    """

    queryset = CuttingPlan.objects.select_related("replans").prefetch_related(
        "needs", "pieces", "bars__stock", "bars__cuts__bar", "bars__cuts__need",
        "bars__piece__property", "bars__piece__defects", "bars__piece__readings",
    )  # fmt: skip
    serializer_class = CuttingPlanSerializer
    filterset_fields = {
        "property": ["exact"], "state": ["exact", "in"], "replans": ["exact", "isnull"],
        "superseded_by": ["exact", "isnull"], "as_of": ["gte", "lte"],
        "requested_at": ["gte", "lte"], "solved_at": ["gte", "lte", "isnull"],
        "applied_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id", "requested_at"]

    def get_serializer_class(self) -> Any:
        return CuttingPlanListSerializer if self.action == "list" else CuttingPlanSerializer

    def get_queryset(self) -> Any:
        found = super().get_queryset()
        return found.prefetch_related(None) if self.action == "list" else found

    def writes_atomically(self, request: Any) -> bool:
        """A plan is answered after its commit: with in-process tasks it is ready by then."""
        return self.action_map.get("post") != "create" and super().writes_atomically(request)

    @extend_schema(responses={201: CuttingPlanSerializer, 202: CuttingPlanSerializer})
    def create(self, request: Request) -> Response:
        """Ask for a plan: 201 when it is worked out at once, 202 when it is queued.

        With `replans` the cuts of that plan that are made or pinned stay where they are, and
        all else is planned again; it takes that plan's place when it is applied.
        """
        with transaction.atomic():
            self.claim_key()
            wanted = self.get_serializer(data=request.data)
            wanted.is_valid(raise_exception=True)
            values = dict(wanted.validated_data)
            asked = services.request_cutting_plan(
                house=values.pop("property"), requested_by=request.user, **values
            )
            self.keep_answer(self.answered(asked))
        return self.answered(asked)

    def answered(self, asked: CuttingPlan) -> Response:
        """The plan as it is now: queued, or with in-process tasks worked out."""
        plan = self.get_queryset().get(pk=asked.pk)
        return Response(
            self.get_serializer(plan).data,
            status=201 if plan.state in WORKED_OUT else 202,
            headers={"ETag": etag(plan), "Location": f"/api/v1/cutting-plans/{plan.pk}/"},
        )

    @extend_schema(request=None, responses=CuttingPlanSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop it: it is queued or being worked out. Nothing was reserved by it."""
        return self.answer_fresh(services.cancel_plan(plan=self.get_object()))

    @extend_schema(request=ApplyBody, responses=CuttingPlanSerializer)
    @action(detail=True, methods=["post"])
    def apply(self, request: Request, pk: str) -> Response:
        """Reserve its pieces and note what is to be bought as supplies. Undone by `undo/`."""
        plan, body = self.get_object(), read_body(ApplyBody, request)
        return self.answer_fresh(applying.apply_plan(plan=plan, **body))

    @extend_schema(request=None, responses=CuttingPlanSerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: str) -> Response:
        """Take the application back; possible until a cut is recorded as made."""
        return self.answer_fresh(applying.undo_plan(plan=self.get_object()))

    def answer_fresh(self, plan: CuttingPlan) -> Response:
        """The plan with its bars as they are now, not as they were first read."""
        return answer(self, self.get_queryset().get(pk=plan.pk))


class CutViewSet(ReadViewSet[Cut]):
    """The parts of cutting plans, in sawing order along each bar.

    A machine saw needs its guard and both hands clear of it, drawn nails and eye protection; a
    cut list is a proposal, measured again before each cut.
    """

    queryset = Cut.objects.select_related("bar__plan", "need")
    serializer_class = CutSerializer
    filterset_fields = {
        "bar": ["exact"], "bar__plan": ["exact"], "bar__piece": ["exact"],
        "need": ["exact", "isnull"], "pinned": ["exact"], "spoilt": ["exact"],
        "made_at": ["gte", "lte", "isnull"], "pushed_off_by": ["exact", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "bar__mark"]
    ordering_fields = ["id", "place", "made_at"]

    def get_object(self) -> Cut:
        """The plan is kept from changing before its cut is, as everywhere: nobody waits for
        somebody who waits for them."""
        if self.request.method not in SAFE_METHODS:
            asked = self.get_queryset().filter(pk=self.numbered(self.kwargs["pk"])).first()
            if asked is not None:
                cuts_made.lock_plan(asked)
        return super().get_object()

    @staticmethod
    def numbered(pk: str) -> int:
        return int(pk) if pk.isascii() and pk.isdecimal() and len(pk) < 19 else 0

    @extend_schema(request=MadeBody, responses=CutSerializer)
    @action(detail=True, methods=["post"])
    def made(self, request: Request, pk: str) -> Response:
        """Record that the part is sawn and how long it came out; `told` says what came of it.

        The rest of the bar moves along; with its last cut the offcuts go back on the pile.
        Undone by `take-back/`.
        """
        cut, body = self.get_object(), read_body(MadeBody, request)
        return answer(self, cuts_made.make_cut(cut=cut, **body))

    @extend_schema(request=None, responses=CutSerializer)
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, pk: str) -> Response:
        """Undo `made/`: for the last cut of its bar, while nobody touched the offcuts."""
        return answer(self, cuts_made.take_back_cut(cut=self.get_object()))

    @extend_schema(request=None, responses=CutSerializer)
    @action(detail=True, methods=["post"])
    def pin(self, request: Request, pk: str) -> Response:
        """Keep it on this bar when the plan is made again. Undone by `unpin/`."""
        return answer(self, cuts_made.pin_cut(cut=self.get_object(), pinned=True))

    @extend_schema(request=None, responses=CutSerializer)
    @action(detail=True, methods=["post"])
    def unpin(self, request: Request, pk: str) -> Response:
        """Let a pinned cut move again when the cutting is planned anew."""
        return answer(self, cuts_made.pin_cut(cut=self.get_object(), pinned=False))
