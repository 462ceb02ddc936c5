"""Answers as plain text, for those who only want to copy them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from rest_framework.renderers import BaseRenderer


class PlainTextRenderer(BaseRenderer):
    """The `text` of an answer; a problem, which has none, stays JSON."""

    media_type = "text/plain"
    format = "txt"
    charset = "utf-8"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        whole = isinstance(data, Mapping) and "text" in data
        return (str(data["text"]) if whole else json.dumps(data)).encode()
