"""Inspections and sign-offs over HTTP.

The address of `sign-offs/` is given to it above, where it is known what a sign-off releases.
"""

from __future__ import annotations

from typing import Any

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.inspections import services
from apps.inspections.models import Inspection, SignOff
from apps.property.models import Property
from apps.work.api.bodies import AtBody, TimesBody, answer, not_in_the_future, read_body
from renovation.serializers import CheckedSerializer
from renovation.viewsets import LogViewSet, RecordViewSet


class InspectionSerializer(CheckedSerializer[Inspection]):
    """`state` and its times only change by actions and sign-offs."""

    class Meta:
        model = Inspection
        fields = [
            "id", "version", "property", "title", "by", "state", "floor", "area", "rooms",
            "looks_at", "blocks", "minutes", "notice_working_days", "visiting_from",
            "visiting_to", "notified_at", "booked_starts", "booked_ends", "reference", "note",
        ]  # fmt: skip
        read_only_fields = ["version", "state", "notified_at", "booked_starts", "booked_ends"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        blocked = attrs.get("blocks", self.instance.blocks.all() if self.instance else [])
        looked = attrs.get("looks_at", self.instance.looks_at.all() if self.instance else [])
        if both := [task.title for task in blocked if task in looked]:
            raise serializers.ValidationError(
                {"blocks": [f"{both[0]} cannot wait for the look at its own result."]}
            )
        return attrs


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


class SignOffSerializer(CheckedSerializer[SignOff]):
    recorded_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)

    class Meta:
        model = SignOff
        fields = [
            "id", "version", "inspection", "result", "seen_by", "seen_at", "note", "recorded_by",
            "recorded_at",
        ]  # fmt: skip
        read_only_fields = ["version", "recorded_at"]
        extra_kwargs = {"seen_at": {"validators": [not_in_the_future]}}


class SignOffFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="inspection__property", queryset=Property.objects.all()
    )

    class Meta:
        model = SignOff
        fields = {
            "inspection": ["exact"], "result": ["exact", "in"],
            "recorded_by__username": ["exact"], "seen_at": ["gte", "lte"],
            "recorded_at": ["gte", "lte"],
        }  # fmt: skip


class SignOffViewSet(LogViewSet[SignOff]):
    """What those who looked said. Only ever added to: a correction is a further sign-off, and
    the latest look decides the inspection's state.
    """

    queryset = SignOff.objects.select_related("inspection", "recorded_by")
    serializer_class = SignOffSerializer
    filterset_class = SignOffFilter
    search_fields = ["seen_by", "note", "inspection__title"]
    ordering_fields = ["id", "seen_at", "recorded_at", "result"]

    def sign_off(self, **wanted: Any) -> SignOff:
        """Override where more is known of what a sign-off releases."""
        return services.sign_off(**wanted)

    def perform_create(self, serializer: BaseSerializer[SignOff]) -> None:
        serializer.instance = self.sign_off(
            recorded_by=self.request.user, **serializer.validated_data
        )


ROUTES: tuple[tuple[str, type], ...] = (("inspections", InspectionViewSet),)
