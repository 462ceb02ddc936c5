"""Board moves over HTTP. The address is given to it above, where it is known who holds boards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.floors import services
from apps.floors.models import Board, BoardMove
from renovation.errors import Problem
from renovation.related import RowField, RowsField
from renovation.scope import may_change, visible
from renovation.serializers import AwareDateTimeField
from renovation.viewsets import LogViewSet


@extend_schema_field({"type": "array", "items": {"type": "integer"}})
class MovedBoardsField(RowsField):
    """The boards of a move by their ids."""

    default_error_messages = {"twice": "Name each board once."}

    def to_internal_value(self, data: Any) -> list[Board]:
        boards = super().to_internal_value(data)
        if len(boards) < len(data):
            self.fail("twice")
        return boards

    def get_attribute(self, instance: BoardMove) -> list[int]:
        return [stay.board_id for stay in instance.stays.all()]

    def to_representation(self, value: Iterable[int]) -> list[int]:
        return list(value)


class BoardMoveSerializer(serializers.ModelSerializer[BoardMove]):
    """Boards of one floor that came into a state, and when; now when left out."""

    boards = MovedBoardsField(
        child_relation=RowField(queryset=Board.objects.select_related("floor")), allow_empty=False
    )
    moved_at = AwareDateTimeField(default=timezone.now)
    force_reason = serializers.CharField(
        source="forced_reason", required=False, default="", allow_blank=True, max_length=1000,
        help_text="Why it was done although the board is held or a partition stands on it.",
    )  # fmt: skip
    moved_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)

    class Meta:
        model = BoardMove
        fields = [
            "id", "version", "floor", "boards", "to_state", "moved_at", "note", "force_reason",
            "moved_by", "recorded_at",
        ]  # fmt: skip
        read_only_fields = ["version", "floor", "recorded_at"]

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        moved: Any = fields["boards"]
        rows = moved.child_relation.queryset
        moved.child_relation.queryset = visible(rows, self.context["request"].user)
        return fields

    def validate_boards(self, boards: list[Board]) -> list[Board]:
        houses = {board.floor.property_id for board in boards}
        if not all(may_change(self.context["request"].user, house) for house in houses):
            raise Problem(
                "not-allowed", "You may look at this house but not change it.", status_code=403
            )
        return boards


class UndoSerializer(serializers.Serializer[Any]):
    force_reason = serializers.CharField(
        source="forced_reason", default="", allow_blank=True, max_length=1000
    )


class BoardMoveFilter(filters.FilterSet):
    board = filters.ModelChoiceFilter(field_name="stays__board", queryset=Board.objects.all())

    class Meta:
        model = BoardMove
        fields = {
            "floor": ["exact"], "to_state": ["exact", "in"],
            "moved_at": ["gte", "lte"], "recorded_at": ["gte", "lte"],
        }  # fmt: skip


class BoardMoveViewSet(LogViewSet[BoardMove]):
    """The log of every board that was lifted, laid loose, fixed or found missing.

    Only ever added to: a slip is taken back by `undo/`, which moves the boards back.
    """

    queryset = BoardMove.objects.select_related("moved_by").prefetch_related("stays")
    serializer_class = BoardMoveSerializer
    filterset_class = BoardMoveFilter
    search_fields = ["note"]
    ordering_fields = ["id", "moved_at", "recorded_at"]

    def refuse(
        self, *, boards: Sequence[Board], to_state: str, moved_at: datetime, forced_reason: str
    ) -> None:
        """Raise a Problem against a move for reasons that lie above this app (override)."""

    def perform_create(self, serializer: BaseSerializer[BoardMove]) -> None:
        wanted = dict(serializer.validated_data)
        note = wanted.pop("note", "")
        self.refuse(**wanted)
        serializer.instance = services.move_boards(note=note, moved_by=self.request.user, **wanted)

    @extend_schema(
        request=UndoSerializer, responses={201: BoardMoveSerializer(many=True)}, filters=False
    )
    @action(detail=True, methods=["post"], pagination_class=None)
    def undo(self, request: Request, pk: str) -> Response:
        """Take back the last move of some boards: each goes back to the state it came from.

        Answers the moves that were added, one for each state that boards went back to.
        """
        move = self.get_object()
        wanted = UndoSerializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        for state, boards in services.states_before(move).items():
            self.refuse(
                boards=boards, to_state=state, moved_at=timezone.now(), **wanted.validated_data
            )
        moves = services.undo_move(move=move, moved_by=request.user, **wanted.validated_data)
        return Response(self.get_serializer(moves, many=True).data, status=201)
