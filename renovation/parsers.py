"""JSON bodies, bounded: no body can exhaust memory or the interpreter's stack."""

from __future__ import annotations

import codecs
import json
from collections.abc import Mapping
from typing import IO, Any, NoReturn

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer

from renovation.errors import Problem


class BoundedJSONParser(BaseParser):
    """Reads at most `DATA_UPLOAD_MAX_MEMORY_SIZE` bytes of strict UTF-8 JSON (no NaN)."""

    media_type = "application/json"
    renderer_class = JSONRenderer

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        raw = stream.read(limit + 1)
        if len(raw) > limit:
            raise Problem(
                "too-large",
                f"The request is larger than the {limit // 1024} KiB this accepts.",
                status_code=413,
            )
        try:
            return json.loads(codecs.decode(raw, "utf-8"), parse_constant=refuse_constant)
        except RecursionError as exc:
            raise ParseError("The JSON is nested too deeply.") from exc
        except ValueError as exc:
            raise ParseError(f"This is not JSON: {exc}") from exc


def refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a JSON number")
