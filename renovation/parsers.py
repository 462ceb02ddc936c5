"""JSON bodies, bounded: no body can exhaust memory or the interpreter's stack."""

from __future__ import annotations

import codecs
import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import IO, Any, NoReturn

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer

from renovation.errors import Problem

# Deeper than any body of this API, and far from where the interpreter's stack ends.
DEEPEST = 30
# Escapes that may hide a character that no database column keeps.
SUSPICIOUS = re.compile(r"\\u(0000|[dD][89a-fA-F])")
UNKEEPABLE = re.compile("[\x00\ud800-\udfff]")


class BoundedJSONParser(BaseParser):
    """Reads at most `DATA_UPLOAD_MAX_MEMORY_SIZE` bytes of strict UTF-8 JSON.

    Strict: no NaN and no number beyond a double (RFC 8259 section 6), no NUL and no half of a
    surrogate pair in a text, at most `DEEPEST` lists and objects inside each other.
    """

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
            text = codecs.decode(raw, "utf-8")
            value = json.loads(text, parse_constant=refuse_constant, parse_float=finite)
        except RecursionError as exc:
            raise ParseError("The JSON is nested too deeply.") from exc
        except ValueError as exc:
            raise ParseError(f"This is not JSON: {exc}") from exc
        if is_too_deep(value):
            raise ParseError("The JSON is nested too deeply.")
        if SUSPICIOUS.search(text):
            refuse_unkeepable(value)
        return value


def refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a JSON number")


def finite(digits: str) -> float:
    number = float(digits)
    if math.isinf(number):
        raise ValueError(f"the number {digits[:20]} is too large")
    return number


def is_too_deep(value: Any) -> bool:
    """Layer by layer, so that the check itself needs no stack."""
    layer = [value]
    for _ in range(DEEPEST + 1):
        layer = [inner for item in layer for _, inner in parts(item)]
        if not layer:
            return False
    return True


def parts(value: Any) -> Iterator[tuple[str | int, Any]]:
    if isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, list):
        yield from enumerate(value)


def refuse_unkeepable(value: Any, pointer: str = "") -> None:
    """Refuse texts with a NUL or half a surrogate pair, pointing at the first one."""
    for key, inner in parts(value):
        if isinstance(key, str) and UNKEEPABLE.search(key):
            raise unkeepable(pointer)
        step = str(key).replace("~", "~0").replace("/", "~1")
        refuse_unkeepable(inner, f"{pointer}/{step}")
    if isinstance(value, str) and UNKEEPABLE.search(value):
        raise unkeepable(pointer)


def unkeepable(pointer: str) -> Problem:
    detail = "A text contains a character that cannot be kept (NUL, or half of a pair)."
    return Problem(
        "invalid", detail, status_code=400, errors=[{"pointer": pointer, "detail": detail}]
    )
