"""Floor structures over HTTP: setting out, lifting and laying orders."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors import selectors, services
from apps.floors.api.joist_checks import JoistChecksMixin
from apps.floors.api.worked_out import FloorGroundMixin
from apps.floors.models import Board, Floor
from renovation.errors import field_problem
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet

LONGEST_MM = 100_000
BOARD_IDS = OpenApiParameter(
    "boards", OpenApiTypes.STR, description="Ids of boards of this floor: 12,13.", required=True
)
HELD_IDS = OpenApiParameter(
    "held", OpenApiTypes.STR, description="Ids of boards that stay up for someone: 14."
)
DRY_RUN = OpenApiParameter(
    "dry_run", OpenApiTypes.BOOL, description="1: answer what it would be and change nothing."
)


class FloorSerializer(CheckedSerializer[Floor]):
    class Meta:
        model = Floor
        fields = [
            "id", "version", "property", "storey", "name", "outline", "construction",
            "boards_run_deg", "board_cover_width_mm", "board_thickness_mm", "board_edge",
            "joist_centres_mm", "joist_breadth_mm", "joist_depth_mm", "strength_class",
            "void_depth_mm",
        ]  # fmt: skip
        read_only_fields = ["version"]


class SetOutRequestSerializer(serializers.Serializer[Any]):
    first_joist_mm = serializers.IntegerField(
        min_value=0, max_value=LONGEST_MM, default=50, help_text="From the corner to J1's centre."
    )
    first_board_mm = serializers.IntegerField(
        min_value=1, max_value=LONGEST_MM, default=None, allow_null=True,
        help_text="Width of the first course; the whole cover width when left out.",
    )  # fmt: skip
    max_board_length_mm = serializers.IntegerField(min_value=1, max_value=LONGEST_MM)


class SetJoistSerializer(serializers.Serializer[Any]):
    mark = serializers.CharField()
    line = serializers.JSONField()


class SetBoardSerializer(serializers.Serializer[Any]):
    mark = serializers.CharField()
    course = serializers.IntegerField()
    outline = serializers.JSONField()


class SetOutSerializer(serializers.Serializer[Any]):
    """A set-out; its marks count from `corner`."""

    corner = serializers.ListField(child=serializers.IntegerField())
    joists = SetJoistSerializer(many=True)
    boards = SetBoardSerializer(many=True)


class MarkedSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    mark = serializers.CharField()


class LiftingSerializer(serializers.Serializer[Any]):
    """Boards in the order they come up, and what has to come up beside the wanted ones."""

    order = MarkedSerializer(many=True)
    extra = MarkedSerializer(many=True)
    cut = MarkedSerializer(many=True)
    trapped = MarkedSerializer(many=True)
    sentence = serializers.CharField()


class WaitingSerializer(MarkedSerializer):
    waits_for = MarkedSerializer(many=True)


class LayingSerializer(serializers.Serializer[Any]):
    """Boards in the order they go down, and those that must wait for others."""

    order = MarkedSerializer(many=True)
    waiting = WaitingSerializer(many=True)


class FloorViewSet(FloorGroundMixin, JoistChecksMixin, RecordViewSet[Floor]):
    """Floor structures: what the boards lie on, under one room or several."""

    queryset = Floor.objects.select_related("storey")
    serializer_class = FloorSerializer
    filterset_fields = {
        "property": ["exact"], "storey": ["exact"], "construction": ["exact"],
        "board_edge": ["exact"],
    }  # fmt: skip
    search_fields = ["name"]
    ordering_fields = ["id", "name"]

    @extend_schema(
        request=SetOutRequestSerializer,
        responses={200: SetOutSerializer, 201: SetOutSerializer},
        parameters=[DRY_RUN],
    )
    @action(detail=True, methods=["post"], url_path="set-out")
    def set_out(self, request: Request, pk: str) -> Response:
        """Lay joists and boards over the outline, in place of those set out before.

        Refused with `floor-has-history` once a board has moved or something was noted on a
        joist: what was done and seen is never lost.
        """
        floor = self.get_object()
        dry_run = flag(request, "dry_run")
        wanted = SetOutRequestSerializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        laid = services.set_out_floor(floor=floor, dry_run=dry_run, **wanted.validated_data)
        headers = {} if dry_run else {"ETag": self.etag_of(floor)}
        return Response(
            SetOutSerializer(laid).data, status=200 if dry_run else 201, headers=headers
        )

    @extend_schema(responses=LiftingSerializer, parameters=[BOARD_IDS])
    @action(detail=True)
    def lifting(self, request: Request, pk: str) -> Response:
        """What comes up, in which order, so that some boards can come up."""
        floor = self.get_object()
        boards = {board.pk: board for board in floor.boards.all()}
        found = selectors.lifting(floor, ids_of(request, "boards", boards))
        return Response(
            {
                "order": marked(found.order, boards),
                "extra": marked(found.extra_ids, boards),
                "cut": marked(found.cut_ids, boards),
                "trapped": marked(found.trapped_ids, boards),
                "sentence": found.sentence,
            }
        )

    @extend_schema(responses=LayingSerializer, parameters=[BOARD_IDS, HELD_IDS])
    @action(detail=True)
    def laying(self, request: Request, pk: str) -> Response:
        """In which order some boards go down, and which must wait for which."""
        floor = self.get_object()
        boards = {board.pk: board for board in floor.boards.all()}
        held = ids_of(request, "held", boards) if "held" in request.query_params else []
        found = selectors.laying(floor, ids_of(request, "boards", boards), held=held)
        waiting = [
            {**marked([key], boards)[0], "waits_for": marked(others, boards)}
            for key, others in found.waiting.items()
        ]
        return Response({"order": marked(found.order, boards), "waiting": waiting})


def flag(request: Request, name: str) -> bool:
    """A query parameter that is 1 (or true) or 0 (or false); left out it is 0.

    Raises:
        Problem: `invalid` for anything else: `?dry_run=yes` must not change a floor.
    """
    value = request.query_params.get(name, "0").lower()
    if value not in {"0", "1", "true", "false"}:
        raise field_problem(f"/{name}", f"{name} is 1 or 0.")
    return value in {"1", "true"}


def ids_of(request: Request, name: str, boards: dict[int, Board]) -> list[int]:
    """The ids of a query parameter such as `?boards=12,13`.

    Raises:
        Problem: `invalid` when one is not a board of this floor.
    """
    words = [word.strip() for word in request.query_params.get(name, "").split(",")]
    by_word = {str(key): key for key in boards}
    if strange := [word for word in words if word not in by_word]:
        raise field_problem(f"/{name}", f"{strange[0][:40]!r} is no id of a board of this floor.")
    return [by_word[word] for word in words]


def marked(ids: Iterable[int], boards: dict[int, Board]) -> list[dict[str, Any]]:
    return [{"id": key, "mark": boards[key].mark} for key in ids]
