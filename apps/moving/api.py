"""Houses on their way over HTTP: put in a file and fetched, sent and brought in."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import transaction
from django.http import FileResponse, HttpRequest
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from apps.moving import arriving, kept, leaving
from apps.moving.models import UNFINISHED_STATES, HouseArrival, HouseFile
from apps.property.services import refuse_others_than_owners
from renovation.errors import Problem
from renovation.etags import etag, is_unchanged
from renovation.negotiation import AnyAnswer
from renovation.serializers import CheckedSerializer
from renovation.uploads import OneFileParser
from renovation.viewsets import ReadViewSet, Row

WHEN = {"requested_at": ["gte", "lte"], "finished_at": ["gte", "lte", "isnull"]}


class HouseFileSerializer(CheckedSerializer[HouseFile]):
    """A house's file and how far it is. `sha256` and `byte_size` are those of the file."""

    requested_by = serializers.SlugRelatedField[Any](
        slug_field="username", read_only=True, allow_null=True
    )
    kept_until = serializers.SerializerMethodField()

    class Meta:
        model = HouseFile
        fields = [
            "id", "version", "property", "state", "progress_pct", "requested_by", "requested_at",
            "finished_at", "failure", "sha256", "byte_size", "kept_until",
        ]  # fmt: skip
        read_only_fields = [
            "version", "state", "progress_pct", "requested_at", "finished_at", "failure", "sha256",
            "byte_size",
        ]  # fmt: skip

    def get_kept_until(self, row: HouseFile) -> datetime | None:
        """When the file is removed; null where there is none."""
        ready = row.state == HouseFile.State.READY and row.finished_at is not None
        return row.finished_at + kept.KEPT_FOR if ready and row.finished_at else None


class HouseArrivalSerializer(CheckedSerializer[HouseArrival]):
    """A house that comes in, how far it is, and once it is here its `property`."""

    class Meta:
        model = HouseArrival
        fields = [
            "id", "version", "file_name", "byte_size", "state", "progress_pct", "property",
            "requested_at", "finished_at", "failure",
        ]  # fmt: skip
        read_only_fields = [name for name in fields if name != "id"]


class SentHouseSerializer(serializers.Serializer[Any]):
    """What was made with `house-files/`, or by `manage.py export_house`."""

    file = serializers.FileField(
        error_messages={"required": "Send a file, as `multipart/form-data`."}
    )


class HouseFileParser(OneFileParser):
    """A house's file is larger than a photo."""

    def most_bytes(self) -> int:
        return int(settings.HOUSE_MAX_BYTES)


class AskedForViewSet(ReadViewSet[Row]):
    """What is asked for with `POST`, and answers after its commit."""

    action_map: dict[str, str]

    def writes_atomically(self, request: HttpRequest | Request) -> bool:
        # With in-process tasks it is ready by the time of the answer.
        asked = self.action_map.get(str(request.method).lower())
        return asked != "create" and super().writes_atomically(request)

    def answered(self, asked: Any) -> Response:
        """The row as it is now."""
        row: Any = self.get_queryset().get(pk=asked.pk)
        return Response(
            self.get_serializer(row).data,
            status=202 if row.state in UNFINISHED_STATES else 201,
            headers={"ETag": etag(row), "Location": f"/api/v1/{self.basename}/{row.pk}/"},
        )


class HouseFileViewSet(AskedForViewSet[HouseFile], mixins.DestroyModelMixin):
    """One house in a file, to be taken to another installation. Its owners ask for it and fetch it:
    it holds everything of the house, and the names of its people.
    """

    queryset = HouseFile.objects.select_related("requested_by", "property")
    serializer_class = HouseFileSerializer
    filterset_fields = {
        "property": ["exact"], "state": ["exact", "in"], "requested_by__username": ["exact"],
        **WHEN,
    }  # fmt: skip
    ordering_fields = ["id", "requested_at", "finished_at"]

    @extend_schema(responses={201: HouseFileSerializer, 202: HouseFileSerializer})
    def create(self, request: Request) -> Response:
        """Ask for one: 201 when it is made at once, 202 when it is queued.

        While one of the house is being made, this answers that one. Look at `state`: `failed` says
        why in `failure`.
        """
        with transaction.atomic():
            self.claim_key()
            wanted = self.get_serializer(data=request.data)
            wanted.is_valid(raise_exception=True)
            asked = leaving.request_house_file(
                house=wanted.validated_data["property"], requested_by=request.user
            )
            self.keep_answer(self.answered(asked))
        return self.answered(asked)

    def perform_destroy(self, instance: HouseFile) -> None:
        leaving.remove_house_file(row=instance, by=self.request.user)

    @extend_schema(request=None, responses=HouseFileSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop it: it is queued or being made. Nothing of it is kept."""
        row = self.get_object()
        leaving.cancel_house_file(row=row, by=request.user)
        return Response(self.get_serializer(row).data, headers={"ETag": etag(row)})

    @extend_schema(
        responses={
            (200, "application/zip"): OpenApiTypes.BINARY,
            409: OpenApiResponse(description="It is not made yet, or it failed."),
        }
    )
    @action(detail=True, content_negotiation_class=AnyAnswer)
    def file(self, request: Request, pk: str) -> HttpResponseBase:
        """The file itself. 409 while it is not ready."""
        row = self.get_object()
        refuse_others_than_owners(house=row.property, by=request.user)
        if row.state != HouseFile.State.READY:
            why = row.failure or f"It is {row.state}, {row.progress_pct} % done."
            raise Problem("house-file-not-ready", why, house_file=row.pk)
        headers = {
            "ETag": f'"{row.sha256}"',
            # Nothing of it stays in a browser's store: it is everything.
            "Cache-Control": "private, no-store",
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "sandbox; default-src 'none'",
        }
        if is_unchanged(request, headers["ETag"]):
            return Response(status=304, headers=headers)
        try:
            opened = kept.file_of(row).open("rb")
        except FileNotFoundError as exc:
            raise Problem(
                "file-missing",
                "This house file is not in the data folder any more; ask for a new one.",
                status_code=404,
            ) from exc
        return FileResponse(
            opened, as_attachment=True, filename=f"house-{row.property_id}-{row.pk}.house",
            content_type="application/zip", headers=headers,
        )  # fmt: skip


class HouseArrivalViewSet(AskedForViewSet[HouseArrival]):
    """Houses that you bring in from a file. Each becomes yours, with new ids for all its rows.

    `POST` takes `multipart/form-data` with one `file`. Nobody else sees these rows.
    """

    without_a_house = frozenset({"create"})
    queryset = HouseArrival.objects.all()
    serializer_class = HouseArrivalSerializer
    filterset_fields = {"state": ["exact", "in"], "property": ["exact", "isnull"], **WHEN}
    ordering_fields = ["id", "requested_at", "finished_at"]

    def get_parsers(self) -> list[BaseParser]:
        posted = getattr(self.request, "method", "") == "POST"
        return [*([HouseFileParser()] if posted else []), *super().get_parsers()]

    @extend_schema(
        request={"multipart/form-data": SentHouseSerializer},
        responses={201: HouseArrivalSerializer, 202: HouseArrivalSerializer},
    )
    def create(self, request: Request) -> Response:
        """Send one: 201 when it is brought in at once, 202 when it is queued.

        Look at `state`: `ready` names the house as `property`, `failed` says why in `failure`, and
        then nothing of it was added. One at a time: meanwhile 409 `house-arriving`.
        """
        # The body is read before the transaction: on a slow line that takes minutes.
        sent = SentHouseSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        with transaction.atomic():
            self.claim_key()
            asked = arriving.request_arrival(
                file=sent.validated_data["file"], requested_by=request.user
            )
            self.keep_answer(self.answered(asked))
        return self.answered(asked)

    @extend_schema(request=None, responses=HouseArrivalSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop it: it is queued or coming in. Nothing of it is kept."""
        row = self.get_object()
        arriving.cancel_arrival(row=row)
        return Response(self.get_serializer(row).data, headers={"ETag": etag(row)})


ROUTES: tuple[tuple[str, type], ...] = (
    ("house-files", HouseFileViewSet),
    ("house-arrivals", HouseArrivalViewSet),
)
