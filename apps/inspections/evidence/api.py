"""Evidence over HTTP: uploaded once, described and linked at any time, shown to members only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.http import FileResponse
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.inspections.evidence import services, store
from apps.inspections.models import Evidence
from renovation.errors import Problem
from renovation.etags import is_unchanged
from renovation.negotiation import AnyAnswer
from renovation.serializers import CheckedSerializer
from renovation.uploads import OneFileParser
from renovation.viewsets import RecordViewSet

LINKS = ("inspection", "condition", "deviation", "certificate", "finding")


class EvidenceSerializer(CheckedSerializer[Evidence]):
    """What is told of the file comes from the file; a change is of the caption and links."""

    uploaded_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)

    class Meta:
        model = Evidence
        fields = [
            "id", "version", "property", "title", "kind", "content_type", "byte_size", "sha256",
            "file_name", "original_name", "taken_at", "width_px", "height_px", "uploaded_by",
            "uploaded_at", "requirement", *LINKS,
        ]  # fmt: skip
        read_only_fields = [
            "version", "kind", "content_type", "byte_size", "sha256", "file_name",
            "original_name", "taken_at", "width_px", "height_px", "uploaded_at",
        ]  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        named = {"inspection", "requirement"} & set(attrs)
        kept: Any = self.instance
        inspection = attrs.get("inspection", getattr(kept, "inspection", None))
        requirement = attrs.get("requirement", getattr(kept, "requirement", ""))
        if named and inspection and requirement:
            asked = [item["key"] for item in inspection.required_evidence]
            if requirement not in asked:
                keys = ", ".join(asked) or "nothing in particular"
                raise serializers.ValidationError(
                    {"requirement": [f"“{inspection}” asks for {keys}."]}
                )
        return attrs

    def candidate(self) -> Any:
        """A row before its file is looked into stands for any good one."""
        found = super().candidate()
        if self.instance is None:
            found.kind, found.byte_size, found.sha256 = "document", 1, "0" * 64
        return found


class UploadSerializer(EvidenceSerializer):
    file = serializers.FileField(
        write_only=True,
        error_messages={"required": "Send a file, as `multipart/form-data`."},
    )

    class Meta(EvidenceSerializer.Meta):
        fields = [*EvidenceSerializer.Meta.fields, "file"]


class EvidenceViewSet(RecordViewSet[Evidence]):
    """Photos and documents that show what cannot be seen any more.

    `POST` takes `multipart/form-data` with one `file` of at most 25 MiB: a JPEG, PNG or HEIC
    photo or a PDF, told by its content. Of a photo only the upright picture and the time it was
    taken are kept; where it was taken and all else is removed. `sha256` is of the file as kept.
    """

    queryset = Evidence.objects.select_related("uploaded_by")
    serializer_class = EvidenceSerializer
    filterset_fields = {
        "property": ["exact"], "kind": ["exact", "in"], "content_type": ["exact"],
        "sha256": ["exact"], "requirement": ["exact"], "uploaded_by__username": ["exact"],
        "taken_at": ["gte", "lte", "isnull"], "uploaded_at": ["gte", "lte"],
        **{link: ["exact", "isnull"] for link in LINKS},
    }  # fmt: skip
    search_fields = ["title", "original_name"]
    ordering_fields = ["id", "title", "taken_at", "uploaded_at", "byte_size"]

    def get_parsers(self) -> list[BaseParser]:
        posted = getattr(self.request, "method", "") == "POST"
        # A JSON body without its file is told of all that is wrong with it, like any other.
        return [*([OneFileParser()] if posted else []), *super().get_parsers()]

    def get_serializer_class(self) -> Any:
        return UploadSerializer if self.action == "create" else EvidenceSerializer

    def writes_atomically(self, request: Any) -> bool:
        """An upload is read and looked into before its transaction begins: decoding a photo
        would hold up every other writer.
        """
        return request.method != "POST" and super().writes_atomically(request)

    @extend_schema(
        request={"multipart/form-data": UploadSerializer}, responses={201: EvidenceSerializer}
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        wanted = self.get_serializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        values: dict[str, Any] = dict(wanted.validated_data)
        file, house = values.pop("file"), values.pop("property")
        looked = services.look_into(content=file.read(), house=house)
        with services.all_or_nothing(looked.sha256):
            self.claim_key()
            made = services.keep_evidence(
                looked=looked, house=house, original_name=file.name[:255],
                uploaded_by=request.user, **values,
            )  # fmt: skip
            response = Response(
                EvidenceSerializer(made, context=self.get_serializer_context()).data,
                status=201,
                headers={"ETag": self.etag_of(made), "Location": f"{request.path}{made.pk}/"},
            )
            self.keep_answer(response)
        return response

    def perform_update(self, serializer: BaseSerializer[Evidence]) -> None:
        row: Any = serializer.instance
        services.relink_evidence(evidence=row, **serializer.validated_data)

    def perform_destroy(self, instance: Evidence) -> None:
        services.remove_evidence(evidence=instance)

    @extend_schema(
        responses={
            (200, "image/jpeg"): OpenApiTypes.BINARY,
            (200, "image/png"): OpenApiTypes.BINARY,
            (200, "application/pdf"): OpenApiTypes.BINARY,
        }
    )
    @action(detail=True, content_negotiation_class=AnyAnswer)
    def file(self, request: Request, pk: str) -> HttpResponseBase:
        """The file as it is kept; `sha256` is its digest."""
        row = self.get_object()
        return serve(request, row, store.path_of(row.sha256), row.content_type, f'"{row.sha256}"')

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, content_negotiation_class=AnyAnswer)
    def thumbnail(self, request: Request, pk: str) -> HttpResponseBase:
        """A JPEG of at most 480 pixels a side. Documents have none: 404."""
        row = self.get_object()
        if row.width_px is None:
            raise Problem("not-found", f"“{row}” is a document; open its file.", status_code=404)
        path = store.thumbnail_of(row.sha256)
        return serve(request, row, path, "image/jpeg", f'"{row.sha256}-480"')


def serve(
    request: Request, row: Evidence, path: Path, content_type: str, tag: str
) -> HttpResponseBase:
    """A kept file with headers that let a browser show it and do nothing else with it.

    Raises:
        Problem: `file-missing`, 404, when the data folder has lost it.
    """
    headers = {
        "ETag": tag,
        # Asked for anew each time: who is no member any more sees nothing.
        "Cache-Control": "private, no-cache",
        "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": "sandbox; default-src 'none'",
    }
    if is_unchanged(request, tag):
        return Response(status=304, headers=headers)
    try:
        opened = path.open("rb")
    except FileNotFoundError as exc:
        raise Problem(
            "file-missing",
            f"The file of “{row}” is not in the data folder any more; look in your backup.",
            status_code=404,
        ) from exc
    return FileResponse(
        opened,
        as_attachment=content_type == "application/pdf",
        filename=row.file_name,
        content_type=content_type,
        headers=headers,
    )


ROUTES: tuple[tuple[str, type], ...] = (("evidence", EvidenceViewSet),)
