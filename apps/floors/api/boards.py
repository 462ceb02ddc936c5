"""Joists and boards over HTTP, with what is computed of each board."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import cached_property
from typing import Any, cast

from rest_framework import serializers

from apps.floors import selectors
from apps.floors.api.worked_out import JoistGroundMixin
from apps.floors.models import Board, Joist
from renovation.etags import etag
from renovation.models import Record
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class JoistSerializer(CheckedSerializer[Joist]):
    class Meta:
        model = Joist
        fields = [
            "id", "version", "floor", "mark", "line", "breadth_mm", "depth_mm",
            "strength_class", "condition", "bearings", "decayed", "cuts",
        ]  # fmt: skip
        read_only_fields = ["version"]


class JoistViewSet(JoistGroundMixin, RecordViewSet[Joist]):
    """Joists by their centre lines, with what was seen along them."""

    queryset = Joist.objects.select_related("floor")
    serializer_class = JoistSerializer
    filterset_fields = {
        "floor": ["exact"], "mark": ["exact"], "condition": ["exact", "in"],
    }  # fmt: skip
    search_fields = ["mark"]
    ordering_fields = ["id", "mark"]


class BoardSerializer(CheckedSerializer[Board]):
    """`state` only changes by a board move; `trapped` and `supported` are computed."""

    trapped = serializers.SerializerMethodField(help_text="A partition stands on it.")
    supported = serializers.SerializerMethodField(help_text="Sound joists carry it.")
    support = serializers.SerializerMethodField(help_text="What it rests on, in a sentence.")

    class Meta:
        model = Board
        fields = [
            "id", "version", "floor", "mark", "course", "outline", "state",
            "trapped", "supported", "support",
        ]  # fmt: skip
        read_only_fields = ["version", "state"]

    def get_trapped(self, board: Board) -> bool:
        return self.facts(board).trapped

    def get_supported(self, board: Board) -> bool:
        return self.facts(board).supported

    def get_support(self, board: Board) -> str:
        return self.facts(board).sentence

    def facts(self, board: Board) -> selectors.BoardFacts:
        """Computed for all floors of the answer at once, when the first board asks."""
        known: dict[int, selectors.BoardFacts] = self.context["board_facts"]
        page = self.parent.instance if self.parent is not None else [board]
        return facts_of(board, known, cast("Sequence[Board]", page))


def facts_of(
    board: Board, known: dict[int, selectors.BoardFacts], page: Sequence[Board]
) -> selectors.BoardFacts:
    if board.pk not in known:
        known |= selectors.board_facts({row.floor_id for row in page})
    return known[board.pk]


class BoardViewSet(RecordViewSet[Board]):
    """Boards where they lie, or lay. Their states change by `board-moves/` only.

    The ETag also changes when a joist or a room does that `supported` or `trapped` follow from.
    """

    queryset = Board.objects.select_related("floor")
    serializer_class = BoardSerializer
    filterset_fields = {
        "floor": ["exact"], "mark": ["exact"], "course": ["exact"], "state": ["exact", "in"],
    }  # fmt: skip
    search_fields = ["mark"]
    ordering_fields = ["id", "mark", "course", "state"]

    @cached_property
    def board_facts(self) -> dict[int, selectors.BoardFacts]:
        """What this answer computed so far; nothing is asked of it before the write is done."""
        return {}

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "board_facts": self.board_facts}

    def etag_of(self, record: Record) -> str:
        board = cast("Board", record)
        facts = facts_of(board, self.board_facts, [board])
        return etag(record, hashlib.sha256(repr(facts).encode()).hexdigest()[:12])
