"""Answers that are files, whatever the request would rather have."""

from __future__ import annotations

from typing import Any

from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request


class AnyAnswer(BaseContentNegotiation):
    """A file is answered as what it is, whatever `Accept` says."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        return parsers[0]

    def select_renderer(self, request: Request, renderers: Any, format_suffix: Any = None) -> Any:
        return renderers[0], renderers[0].media_type
