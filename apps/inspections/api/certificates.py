"""Certificates over HTTP."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.inspections import services
from apps.inspections.models import Certificate, Evidence
from apps.work.api.bodies import answer
from renovation.related import RowField
from renovation.scope import visible
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class CertificateSerializer(CheckedSerializer[Certificate]):
    """`received_on` only changes by actions; `evidence` are the files that name it."""

    evidence = serializers.PrimaryKeyRelatedField[Any](many=True, read_only=True)

    class Meta:
        model = Certificate
        fields = [
            "id", "version", "property", "craft", "title", "trade", "due_on", "received_on",
            "evidence", "note", "source",
        ]  # fmt: skip
        read_only_fields = ["version", "received_on"]


def not_after_today(value: date) -> None:
    # The latest date on earth: the house's own zone may be ahead of UTC.
    if value > (timezone.now() + timedelta(hours=14)).date():
        raise serializers.ValidationError("That is still to come; say when it came.")


class ReceiveBody(serializers.Serializer[Any]):
    received_on = serializers.DateField(validators=[not_after_today])
    evidence = RowField(
        queryset=Evidence.objects.all(), required=False, help_text="The file that it is."
    )

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        if request := self.context.get("request"):
            field: Any = fields["evidence"]
            field.queryset = visible(field.queryset, request.user)
        return fields


class CertificateViewSet(RecordViewSet[Certificate]):
    """Papers that trades owe for what they did, due with the visit that names them or on a day.

    Which ones are owed is for the trade's scheme and the local authority to say. A paper says
    what was tested, not that a thing is safe.
    """

    queryset = Certificate.objects.select_related("trade").prefetch_related("evidence")
    serializer_class = CertificateSerializer
    filterset_fields = {
        "property": ["exact"], "craft": ["exact", "in"], "trade": ["exact", "isnull"],
        "due_on": ["gte", "lte", "isnull"], "received_on": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["title", "note"]
    ordering_fields = ["id", "title", "craft", "due_on", "received_on"]

    @extend_schema(request=ReceiveBody, responses=CertificateSerializer)
    @action(detail=True, methods=["post"])
    def receive(self, request: Request, pk: str) -> Response:
        """Record that it came, and which file it is. Undone by `not-received/`."""
        certificate = self.get_object()
        wanted = ReceiveBody(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        received = services.receive_certificate(certificate=certificate, **wanted.validated_data)
        return answer(self, received)

    @extend_schema(request=None, responses=CertificateSerializer)
    @action(detail=True, methods=["post"], url_path="not-received")
    def not_received(self, request: Request, pk: str) -> Response:
        """Undo: it is owed still."""
        return answer(self, services.certificate_not_received(certificate=self.get_object()))
