"""Where a request came from."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from rest_framework.request import Request


def address_of(request: HttpRequest | Request) -> str:
    """The network address of whoever asks.

    Behind a proxy (`LIFTED_BOARDS_BEHIND_PROXY`) the last entry of `X-Forwarded-For` is the one
    that the proxy wrote itself; those before it may be anybody's invention.
    """
    if settings.BEHIND_PROXY:
        last = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).rpartition(",")[2].strip()
        if last:
            return last[:45]
    return str(request.META.get("REMOTE_ADDR", ""))
