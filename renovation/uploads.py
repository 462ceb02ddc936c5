"""One file in a multipart body, streamed to the data folder and never larger than allowed."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from http import HTTPStatus
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest, HttpResponse
from django.http.multipartparser import MultiPartParser, MultiPartParserError
from django.utils.datastructures import MultiValueDict
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser, DataAndFiles

from renovation.errors import Problem
from renovation.problems import plain_response


def incoming() -> Path:
    """Where files lie until they are whole: beside the kept ones, so that a rename will do."""
    folder = Path(settings.EVIDENCE_DIR) / "incoming"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class OneFileHandler(FileUploadHandler):
    """Writes the body's one file to a temporary file, which is gone once it is closed."""

    def __init__(self, most_bytes: int) -> None:
        super().__init__()
        self.most_bytes = most_bytes
        self.file: UploadedFile[Any] | None = None

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        if self.file is not None:
            raise ParseError("Send one file at a time.")
        self.file = UploadedFile(
            file=tempfile.NamedTemporaryFile(dir=incoming()),  # noqa: SIM115 (closed with it)
            name=self.file_name,
            content_type=self.content_type,
        )

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        if start + len(raw_data) > self.most_bytes:
            raise too_large(self.most_bytes)
        if self.file is not None:
            self.file.write(raw_data)

    def file_complete(self, file_size: int) -> UploadedFile[Any] | None:
        if self.file is not None:
            self.file.seek(0)
            self.file.size = file_size
        return self.file

    def upload_interrupted(self) -> None:
        """The body ended within the file: it is in no request that would close it."""
        self.close()

    def close(self) -> None:
        if self.file is not None:
            self.file.close()


class OneFileParser(BaseParser):
    """`multipart/form-data` with texts and one file, each field once.

    Raises:
        Problem: `too-large`, 413, as soon as the file is larger than `most_bytes`.
    """

    media_type = "multipart/form-data"

    def most_bytes(self) -> int:
        return settings.UPLOAD_MAX_BYTES

    def parse(
        self,
        stream: Any,
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> DataAndFiles[Any, Any]:
        context = parser_context or {}
        meta = {**context["request"].META, "CONTENT_TYPE": media_type or ""}
        length = str(meta.get("CONTENT_LENGTH") or 0)
        most_bytes = self.most_bytes()
        if length.isdigit() and int(length) > most_bytes + settings.UPLOAD_ROOM_BYTES:
            raise too_large(most_bytes)
        handler = OneFileHandler(most_bytes)
        try:
            data, files = MultiPartParser(meta, stream, [handler], "utf-8").parse()
            refuse_repeated(data, files)
        except RequestDataTooBig:
            handler.close()
            raise
        except (MultiPartParserError, SuspiciousOperation) as exc:
            handler.close()
            raise ParseError(f"This is no form with a file: {exc}") from exc
        except BaseException:
            handler.close()
            raise
        return DataAndFiles(data, files)


class BoundedBodies:
    """Middleware: refuse a body by the length it announces, before anybody reads it.

    Forms of pages are read by Django, which would keep files of any size on the disk first. A
    body without a length is read as empty.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        form = settings.UPLOAD_MAX_BYTES + settings.UPLOAD_ROOM_BYTES
        most = settings.BODY_MAX_BYTES if request.path.startswith("/api/") else form
        most = settings.LARGE_BODIES.get(request.path, most)
        length = str(request.META.get("CONTENT_LENGTH") or 0)
        if length.isdigit() and int(length) <= most:
            return self.get_response(request)
        sentence = "What was sent is larger than this accepts; nothing was changed."
        return plain_response("too-large", sentence, HTTPStatus.REQUEST_ENTITY_TOO_LARGE)


def refuse_repeated(data: MultiValueDict[str, Any], files: MultiValueDict[str, Any]) -> None:
    """A field that is there twice would be half ignored."""
    for name, values in [*data.lists(), *files.lists()]:
        if len(values) > 1 or (name in data and name in files):
            raise ParseError(f"The field {name[:40]!r} is there more than once.")


def too_large(most_bytes: int) -> Problem:
    detail = f"The file is larger than the {most_bytes // 1024**2} MiB this accepts."
    errors = [{"pointer": "/file", "detail": detail}]
    return Problem("too-large", detail, status_code=413, errors=errors)
