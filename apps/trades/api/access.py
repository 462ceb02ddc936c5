"""Access needs and temporary measures over HTTP."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.trades import services
from apps.trades.models import AccessNeed, TemporaryMeasure
from apps.trades.releases import refuse_what_has_happened
from apps.work.api.bodies import AtBody, NoteBody, answer, read_body
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet

END_FIELDS = ("until", "visit", "task", "inspection")


class AccessNeedSerializer(CheckedSerializer[AccessNeed]):
    """`released_at` follows from what `until` names, or from `release/`."""

    class Meta:
        model = AccessNeed
        fields = [
            "id", "version", "property", "floor", "purpose", "area", "route", "clearance_mm",
            "trade", "task", "inspection", "visit", "open_as", "until", "until_date",
            "released_at", "release_note",
        ]  # fmt: skip
        read_only_fields = ["version", "released_at", "release_note"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        need = self.instance
        end: dict[str, Any] = {
            name: attrs.get(name, getattr(need, name, None)) for name in END_FIELDS
        }
        if need is None or any(end[name] != getattr(need, name) for name in END_FIELDS):
            refuse_what_has_happened(**end)
        return attrs


class AccessNeedViewSet(RecordViewSet[AccessNeed]):
    """Who needs which part of a floor open, for what, and what releases it again.

    Only the visit done, the task done, the sign-off or the date that `until` names releases
    it, or a person who says why.
    """

    queryset = AccessNeed.objects.select_related("floor", "trade", "visit__trade")
    serializer_class = AccessNeedSerializer
    filterset_fields = {
        "property": ["exact"], "floor": ["exact"], "trade": ["exact", "isnull"],
        "task": ["exact", "isnull"], "inspection": ["exact", "isnull"],
        "visit": ["exact", "isnull"], "open_as": ["exact"], "until": ["exact", "in"],
        "until_date": ["gte", "lte", "isnull"], "released_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["purpose", "release_note"]
    ordering_fields = ["id", "purpose", "until", "until_date", "released_at"]

    @extend_schema(request=NoteBody, responses=AccessNeedSerializer)
    @action(detail=True, methods=["post"])
    def release(self, request: Request, pk: str) -> Response:
        """Release it by hand and say why. Undone by `hold-again/`."""
        need, body = self.get_object(), read_body(NoteBody, request)
        return answer(self, services.release_need(need=need, at=timezone.now(), **body))

    @extend_schema(request=None, responses=AccessNeedSerializer)
    @action(detail=True, methods=["post"], url_path="hold-again")
    def hold_again(self, request: Request, pk: str) -> Response:
        """Undo a release: the boards are held for it again."""
        return answer(self, services.hold_need_again(need=self.get_object()))


class TemporaryMeasureSerializer(CheckedSerializer[TemporaryMeasure]):
    """`last_checked_at` and `cleared_at` only change by actions."""

    class Meta:
        model = TemporaryMeasure
        fields = [
            "id", "version", "property", "kind", "where", "since", "check_every_hours",
            "last_checked_at", "clear_before_task", "cleared_at",
        ]  # fmt: skip
        read_only_fields = ["version", "last_checked_at", "cleared_at"]


class TemporaryMeasureViewSet(RecordViewSet[TemporaryMeasure]):
    """Props, isolated circuits, water and gas that are off, covers: made safe for a while, to
    be looked at and to come out again.

    A register, not a permit: what holds a floor up, and any work on gas or electricity, is for
    chartered, registered and licensed people.
    """

    queryset = TemporaryMeasure.objects.all()
    serializer_class = TemporaryMeasureSerializer
    filterset_fields = {
        "property": ["exact"], "kind": ["exact", "in"], "since": ["gte", "lte"],
        "last_checked_at": ["gte", "lte", "isnull"], "clear_before_task": ["exact", "isnull"],
        "cleared_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["where"]
    ordering_fields = ["id", "kind", "since", "last_checked_at", "cleared_at"]

    @extend_schema(request=AtBody, responses=TemporaryMeasureSerializer)
    @action(detail=True, methods=["post"])
    def check(self, request: Request, pk: str) -> Response:
        """Record that someone looked at it. Checking again puts a wrong time right."""
        measure, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.check_measure(measure=measure, **body))

    @extend_schema(request=AtBody, responses=TemporaryMeasureSerializer)
    @action(detail=True, methods=["post"])
    def clear(self, request: Request, pk: str) -> Response:
        """Record that it is out, or back on. Undone by `unclear/`."""
        measure, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.clear_measure(measure=measure, **body))

    @extend_schema(request=None, responses=TemporaryMeasureSerializer)
    @action(detail=True, methods=["post"])
    def unclear(self, request: Request, pk: str) -> Response:
        """Undo a clearing: it is still in place."""
        return answer(self, services.unclear_measure(measure=self.get_object()))
