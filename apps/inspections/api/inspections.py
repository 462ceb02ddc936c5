"""Inspections over HTTP."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from apps.inspections import services
from apps.inspections.api.plain import PlainTextRenderer
from apps.inspections.models import Inspection
from apps.inspections.notice_words import notice_for
from apps.work.api.bodies import AtBody, TimesBody, answer, read_body
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class InspectionSerializer(CheckedSerializer[Inspection]):
    """`state` and its times only change by actions and sign-offs; nothing once it was signed."""

    class Meta:
        model = Inspection
        fields = [
            "id", "version", "property", "title", "by", "state", "floor", "area", "rooms",
            "looks_at", "blocks", "minutes", "notice_working_days", "visiting_from",
            "visiting_to", "visiting_days", "required_evidence", "notified_at", "booked_starts",
            "booked_ends", "reference", "note", "source",
        ]  # fmt: skip
        read_only_fields = ["version", "state", "notified_at", "booked_starts", "booked_ends"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        if self.instance is not None:
            services.refuse_changing_what_was_seen(inspection=self.instance, wanted=attrs)
        blocked = attrs.get("blocks", self.instance.blocks.all() if self.instance else [])
        looked = attrs.get("looks_at", self.instance.looks_at.all() if self.instance else [])
        if both := [task.title for task in blocked if task in looked]:
            raise serializers.ValidationError(
                {"blocks": [f"{both[0]} cannot wait for the look at its own result."]}
            )
        return attrs


class NoticeSerializer(serializers.Serializer[Any]):
    text = serializers.CharField()
    earliest_on = serializers.DateField(help_text="The first day for a look, on notice today.")


class InspectionViewSet(RecordViewSet[Inspection]):
    """Looks at the work that tasks have to wait for (hold points).

    What must be seen, when and on what notice is for the local building control body or the
    approved inspector to say; the values here are what you were told.
    """

    queryset = Inspection.objects.select_related("floor").prefetch_related(
        "rooms", "looks_at", "blocks"
    )
    serializer_class = InspectionSerializer
    filterset_fields = {
        "property": ["exact"], "by": ["exact", "in"], "state": ["exact", "in"],
        "floor": ["exact", "isnull"], "rooms": ["exact"], "looks_at": ["exact"],
        "blocks": ["exact"], "notified_at": ["gte", "lte", "isnull"],
        "booked_starts": ["gte", "lte", "isnull"], "booked_ends": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "reference", "note"]
    ordering_fields = ["id", "title", "state", "notified_at", "booked_starts"]

    @extend_schema(request=AtBody, responses=InspectionSerializer)
    @action(detail=True, methods=["post"])
    def notify(self, request: Request, pk: str) -> Response:
        """Record that notice was given. Undone by `withdraw-notice/`."""
        inspection, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.notify_inspection(inspection=inspection, **body))

    @extend_schema(request=None, responses=InspectionSerializer)
    @action(detail=True, methods=["post"], url_path="withdraw-notice")
    def withdraw_notice(self, request: Request, pk: str) -> Response:
        """Undo a notice that was not given after all."""
        return answer(self, services.withdraw_notice(inspection=self.get_object()))

    @extend_schema(request=TimesBody, responses=InspectionSerializer)
    @action(detail=True, methods=["post"])
    def book(self, request: Request, pk: str) -> Response:
        """Record the agreed time, or move it. Undone by `unbook/`."""
        inspection, body = self.get_object(), read_body(TimesBody, request)
        return answer(self, services.book_inspection(inspection=inspection, **body))

    @extend_schema(request=None, responses=InspectionSerializer)
    @action(detail=True, methods=["post"])
    def unbook(self, request: Request, pk: str) -> Response:
        """Undo a booking: back to notified, or to due when no notice was given."""
        return answer(self, services.unbook_inspection(inspection=self.get_object()))

    @extend_schema(
        responses={(200, "application/json"): NoticeSerializer, (200, "text/plain"): str}
    )
    @action(detail=True, methods=["get"], renderer_classes=[JSONRenderer, PlainTextRenderer])
    def notice(self, request: Request, pk: str) -> Response:
        """A ready notice, as if given today: as `text`, or all of it with `Accept: text/plain`.

        Nothing is sent and nothing is recorded: send it yourself, then `notify/`.
        """
        inspection = self.get_object()
        now: datetime = timezone.now()
        today = now.astimezone(ZoneInfo(inspection.property.timezone)).date()
        text, earliest_on = notice_for(inspection, by=request.user, today=today)
        return Response(NoticeSerializer({"text": text, "earliest_on": earliest_on}).data)
