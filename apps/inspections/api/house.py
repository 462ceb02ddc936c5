"""What a house's record can be asked and told about its inspections."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.api.floors import flag
from apps.inspections import services
from apps.inspections.completion.api import CompletionFileMixin
from apps.inspections.owed import owed
from apps.inspections.usual import DECIDES
from apps.property.api import PropertyViewSet as PlainPropertyViewSet
from apps.work.api.bodies import read_body
from apps.work.models import Trade

DRY_RUN = OpenApiParameter(
    "dry_run", OpenApiTypes.BOOL, description="1: answer what it would be and change nothing."
)


class UsualInspectionSerializer(serializers.Serializer[Any]):
    """A usual inspection; `id` is null when a preview would add it."""

    id = serializers.IntegerField(source="row.id", allow_null=True)
    added = serializers.BooleanField()
    title = serializers.CharField(source="row.title")
    by = serializers.CharField(source="row.by")
    notice_working_days = serializers.IntegerField(source="row.notice_working_days")
    required_evidence = serializers.JSONField(source="row.required_evidence")
    note = serializers.CharField(source="row.note")
    source: Any = serializers.CharField(source="row.source")


class UsualInspectionsSerializer(serializers.Serializer[Any]):
    decides = serializers.CharField(help_text="Who decides, in a sentence.")
    inspections = UsualInspectionSerializer(many=True)


class UsualCertificateSerializer(serializers.Serializer[Any]):
    """A usual certificate; `id` is null when a preview would add it."""

    id = serializers.IntegerField(source="row.id", allow_null=True)
    added = serializers.BooleanField()
    title = serializers.CharField(source="row.title")
    craft = serializers.CharField(source="row.craft")
    trade = serializers.IntegerField(source="row.trade_id", allow_null=True)
    source: Any = serializers.CharField(source="row.source")


class UsualCertificatesSerializer(serializers.Serializer[Any]):
    certificates = UsualCertificateSerializer(many=True)


class CraftsBody(serializers.Serializer[Any]):
    crafts = serializers.ListField(
        child=serializers.ChoiceField(choices=Trade.Craft.choices), required=False,
        help_text="Left out: those of the house's trades.",
    )  # fmt: skip


class OwedItemSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(
        choices=["hold_point", "condition", "evidence", "deviation", "certificate"]
    )
    id = serializers.IntegerField(help_text="The record's; for evidence, the inspection's.")
    sentence = serializers.CharField()


class OwedSerializer(serializers.Serializer[Any]):
    owed = OwedItemSerializer(many=True)


class PropertyViewSet(CompletionFileMixin, PlainPropertyViewSet):
    """The houses you are a member of. Who opens one becomes its owner."""

    @extend_schema(request=None, responses=UsualInspectionsSerializer, parameters=[DRY_RUN])
    @action(detail=True, methods=["post"], url_path="usual-inspections")
    def usual_inspections(self, request: Request, pk: str) -> Response:
        """Add the looks that are usual for a suspended floor in England, each with its source.

        What is there already is left as it is. The local authority or the approved inspector
        decides what must be seen.
        """
        house, dry_run = self.get_object(), flag(request, "dry_run")
        rows = services.load_usual_inspections(house=house, dry_run=dry_run)
        return Response(UsualInspectionsSerializer({"decides": DECIDES, "inspections": rows}).data)

    @extend_schema(request=CraftsBody, responses=UsualCertificatesSerializer, parameters=[DRY_RUN])
    @action(detail=True, methods=["post"], url_path="usual-certificates")
    def usual_certificates(self, request: Request, pk: str) -> Response:
        """Add the papers that are usual for the house's crafts in England, with their sources.

        What is there already is left as it is.
        """
        house, dry_run = self.get_object(), flag(request, "dry_run")
        body = read_body(CraftsBody, request)
        rows = services.load_usual_certificates(house=house, dry_run=dry_run, **body)
        return Response(UsualCertificatesSerializer({"certificates": rows}).data)

    @extend_schema(responses=OwedSerializer)
    @action(detail=True, methods=["get"])
    def owed(self, request: Request, pk: str) -> Response:
        """What is missing before sign-off, each with a sentence: hold points that are not signed
        off, open conditions, required evidence, undecided deviations, certificates."""
        return Response(OwedSerializer({"owed": owed(self.get_object())}).data)
