"""The pile over HTTP: pieces with their defects, what becomes of them, what they are good for."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.timber import matches, selectors
from apps.timber.api.answers import DryingSerializer, MatchesSerializer, SoundLengthsSerializer
from apps.timber.api.bodies import (
    LIMIT,
    ROLE,
    DefectsBody,
    ReasonBody,
    limit_asked,
    role_asked,
    rows_of,
    today_at,
)
from apps.timber.api.piece_rows import PieceSerializer
from apps.timber.api.pile import PileMixin
from apps.timber.models import Piece
from apps.timber.services import pieces as services
from apps.work.api.bodies import answer, read_body
from apps.work.api.tasks import TaskSerializer
from apps.work.models import WorkPackage
from renovation.filters import refuse_others
from renovation.related import RowField
from renovation.viewsets import RecordViewSet


class NailsTaskBody(serializers.Serializer[Any]):
    """Which package the task goes into."""

    package = RowField(queryset=WorkPackage.objects.all())

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        package: Any = fields["package"]
        package.queryset = rows_of(package.queryset, self.context["request"])
        return fields

    def validate_package(self, package: WorkPackage) -> WorkPackage:
        if package.property_id != self.context["piece"].property_id:
            raise serializers.ValidationError("This belongs to another house.")
        return package


class PieceViewSet(PileMixin, RecordViewSet[Piece]):
    """Pieces of timber, salvaged and bought, with what is wrong along each.

    A strength class of salvaged timber is assumed unless it is stamped or somebody graded it:
    `graded_by` says who assumes it and `grade_why` on what ground. `PATCH` with `defects`
    replaces the list: a defect with its `id` is changed, one without is added, those left out
    are removed.
    """

    queryset = Piece.objects.select_related("property").prefetch_related("defects")
    serializer_class = PieceSerializer
    filterset_fields = {
        "property": ["exact"], "mark": ["exact"], "stored": ["exact", "in"],
        "grade_basis": ["exact", "in"], "strength_class": ["exact"], "treated": ["exact"],
        "photo": ["exact", "isnull"], "source": ["exact", "in"], "cut_from": ["exact", "isnull"],
        "state": ["exact", "in"], "breadth_mm": ["exact", "gte", "lte"],
        "depth_mm": ["exact", "gte", "lte"], "length_mm": ["gte", "lte"],
    }  # fmt: skip
    search_fields = ["mark", "origin", "species", "note"]
    ordering_fields = ["id", "mark", "breadth_mm", "depth_mm", "length_mm", "state"]

    def perform_create(self, serializer: BaseSerializer[Piece]) -> None:
        serializer.instance = services.add_piece(**serializer.validated_data)

    def perform_update(self, serializer: BaseSerializer[Piece]) -> None:
        piece: Any = serializer.instance
        services.change_piece(piece=piece, **serializer.validated_data)

    def perform_destroy(self, instance: Piece) -> None:
        services.remove_piece(piece=instance)

    def answer_fresh(self, piece: Piece) -> Response:
        """A piece with its defects as they are now, not as they were first read."""
        return answer(self, self.get_queryset().get(pk=piece.pk))

    @extend_schema(request=ReasonBody, responses=PieceSerializer)
    @action(detail=True, methods=["post"])
    def scrap(self, request: Request, pk: str) -> Response:
        """Record that it is good for nothing, and why. Undone by `bring-back/`."""
        piece, body = self.get_object(), read_body(ReasonBody, request)
        return answer(self, services.scrap_piece(piece=piece, **body))

    @extend_schema(request=None, responses=PieceSerializer)
    @action(detail=True, methods=["post"], url_path="bring-back")
    def bring_back(self, request: Request, pk: str) -> Response:
        """Take a scrapped piece back onto the pile."""
        return answer(self, services.bring_back_piece(piece=self.get_object()))

    @extend_schema(request=DefectsBody, responses=PieceSerializer)
    @action(detail=True, methods=["post"], url_path="nails-drawn")
    def nails_drawn(self, request: Request, pk: str) -> Response:
        """Record that nails were drawn: they end no sound length any more. Undone by
        `nails-not-drawn/`."""
        piece, body = self.get_object(), read_body(DefectsBody, request)
        return self.answer_fresh(services.mark_nails(piece=piece, drawn=True, **body))

    @extend_schema(request=DefectsBody, responses=PieceSerializer)
    @action(detail=True, methods=["post"], url_path="nails-not-drawn")
    def nails_not_drawn(self, request: Request, pk: str) -> Response:
        """Undo `nails-drawn/`: they are still in."""
        piece, body = self.get_object(), read_body(DefectsBody, request)
        return self.answer_fresh(services.mark_nails(piece=piece, drawn=False, **body))

    @extend_schema(request=NailsTaskBody, responses={201: TaskSerializer})
    @action(detail=True, methods=["post"], url_path="draw-nails-task")
    def draw_nails_task(self, request: Request, pk: str) -> Response:
        """Add a task to draw the nails that are still in it. Wear eye protection and gloves;
        old paint may hold lead."""
        piece = self.get_object()
        context = {**self.get_serializer_context(), "piece": piece}
        wanted = NailsTaskBody(data=request.data, context=context)
        wanted.is_valid(raise_exception=True)
        task = services.add_nails_task(piece=piece, **wanted.validated_data)
        return Response(TaskSerializer(task, context=context).data, status=201)

    @extend_schema(parameters=[ROLE], responses=SoundLengthsSerializer)
    @action(detail=True, url_path="sound-lengths")
    def sound_lengths(self, request: Request, pk: str) -> Response:
        """What lies between the defects that matter for a role, less trims and margins."""
        found = selectors.sound_lengths(self.get_object(), role_asked(request))
        return Response(SoundLengthsSerializer(found).data)

    @extend_schema(parameters=[LIMIT], responses=DryingSerializer)
    @action(detail=True)
    def drying(self, request: Request, pk: str) -> Response:
        """When it will be no wetter than a limit where it is stored, with an 80 % band, or why
        that cannot be said."""
        piece = self.get_object()
        found = selectors.drying(
            piece, limit_pct=limit_asked(request), today=today_at(piece.property)
        )
        return Response(DryingSerializer(found).data)

    @extend_schema(responses=MatchesSerializer)
    @action(detail=True)
    def uses(self, request: Request, pk: str) -> Response:
        """What it would do for: a verdict with its reasons for every open need, the best first."""
        refuse_others(request, set())
        piece = self.get_object()
        found = matches.uses_of(piece, today=today_at(piece.property))
        return Response(MatchesSerializer(found).data)
