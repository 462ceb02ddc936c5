"""Pages, style and scripts are sent compressed: a phone in a cellar has a thin line."""

from __future__ import annotations

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

# Compressing turns a strong ETag into a weak one, which `If-Match` may not name (RFC 9110,
# section 13.1.1); calendars and kept files have their own ways.
AS_THEY_ARE = ("/api/", "/feed/")


class CompressedPages(GZipMiddleware):
    """Django's own compression, which pads each answer at random against guessing by length."""

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        if request.path.startswith(AS_THEY_ARE):
            return response
        return super().process_response(request, response)
