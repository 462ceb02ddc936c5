"""Completion files over HTTP: asked for on the house, then read and fetched."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.http import FileResponse, HttpRequest
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.inspections.completion import services
from apps.inspections.models.completion import UNFINISHED_STATES, CompletionFile
from apps.property.models import Property
from renovation.errors import Problem
from renovation.etags import etag, is_unchanged
from renovation.negotiation import AnyAnswer
from renovation.serializers import CheckedSerializer
from renovation.viewsets import ContractView, ReadViewSet


class CompletionFileSerializer(CheckedSerializer[CompletionFile]):
    """A completion file and how far it is. `sha256` and `byte_size` are those of the ZIP."""

    requested_by = serializers.SlugRelatedField[Any](
        slug_field="username", read_only=True, allow_null=True
    )

    class Meta:
        model = CompletionFile
        fields = [
            "id", "version", "property", "state", "progress_pct", "requested_by", "requested_at",
            "finished_at", "failure", "sha256", "byte_size",
        ]  # fmt: skip
        read_only_fields = [name for name in fields if name not in {"id", "requested_by"}]


class CompletionFileViewSet(ReadViewSet[CompletionFile]):
    """The house's record in one ZIP: sheets to read (PDF), record.json, evidence, digests.

    Ask for one with `POST properties/{id}/completion-file/`.
    """

    queryset = CompletionFile.objects.select_related("requested_by")
    serializer_class = CompletionFileSerializer
    filterset_fields = {
        "property": ["exact"], "state": ["exact", "in"],
        "requested_by__username": ["exact"],
        "requested_at": ["gte", "lte"], "finished_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id", "requested_at", "finished_at"]

    @extend_schema(request=None, responses=CompletionFileSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop it: it is queued or being made. Nothing of it is kept."""
        row = services.cancel_completion_file(row=self.get_object())
        return Response(self.get_serializer(row).data, headers={"ETag": etag(row)})

    @extend_schema(
        responses={
            (200, "application/zip"): OpenApiTypes.BINARY,
            409: OpenApiResponse(description="It is not made yet, or it failed."),
        }
    )
    @action(detail=True, content_negotiation_class=AnyAnswer)
    def file(self, request: Request, pk: str) -> HttpResponseBase:
        """The ZIP. 409 while it is not ready."""
        row = self.get_object()
        if row.state != CompletionFile.State.READY:
            why = row.failure or f"It is {row.state}, {row.progress_pct} % done."
            raise Problem("completion-file-not-ready", why, completion_file=row.pk)
        headers = {
            "ETag": f'"{row.sha256}"',
            # Asked for anew each time: who is no member any more gets nothing.
            "Cache-Control": "private, no-cache",
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "sandbox; default-src 'none'",
        }
        if is_unchanged(request, headers["ETag"]):
            return Response(status=304, headers=headers)
        try:
            opened = services.file_of(row).open("rb")
        except FileNotFoundError as exc:
            raise Problem(
                "file-missing",
                "This completion file is not in the data folder any more; ask for a new one.",
                status_code=404,
            ) from exc
        return FileResponse(
            opened,
            as_attachment=True,
            filename=f"completion-file-{row.pk}.zip",
            content_type="application/zip",
            headers=headers,
        )


class CompletionFileMixin(ContractView[Property]):
    """Lets a house be asked for its completion file."""

    action_map: dict[str, str]

    def writes_atomically(self, request: HttpRequest | Request) -> bool:
        # The answer comes after the commit: with in-process tasks the file is ready by then.
        asked = self.action_map.get(str(request.method).lower())
        return asked != "completion_file" and super().writes_atomically(request)

    @extend_schema(
        request=None, responses={201: CompletionFileSerializer, 202: CompletionFileSerializer}
    )
    @action(detail=True, methods=["post"], url_path="completion-file")
    def completion_file(self, request: Request, pk: str) -> Response:
        """Ask for the completion file: 201 when it is made at once, 202 when it is queued.

        While one is being made, this answers that one. Look at `state`: `failed` says why in
        `failure`.
        """
        with transaction.atomic():
            self.claim_key()
            asked = services.request_completion_file(
                house=self.get_object(), requested_by=request.user
            )
            self.keep_answer(self.answered(asked))
        return self.answered(asked)

    def answered(self, asked: CompletionFile) -> Response:
        """The file as it is now: queued, or with in-process tasks made."""
        row = CompletionFile.objects.select_related("requested_by").get(pk=asked.pk)
        return Response(
            CompletionFileSerializer(row, context=self.get_serializer_context()).data,
            status=202 if row.state in UNFINISHED_STATES else 201,
            headers={"ETag": etag(row), "Location": f"/api/v1/completion-files/{row.pk}/"},
        )


ROUTES: tuple[tuple[str, type], ...] = (("completion-files", CompletionFileViewSet),)
