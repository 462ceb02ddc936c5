"""What a browser may do with our answers: nothing from other hosts, nothing inline."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

NOTHING_ELSE = (
    "default-src 'none'; script-src 'self'; connect-src 'self'; worker-src 'self'; "
    "img-src 'self'; style-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
# The readable API description is a script of its own, served from here; it styles itself.
DOCS = (
    "default-src 'none'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; "
    "script-src 'self'; connect-src 'self'; font-src 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
DOCS_PATH = "/api/docs/"


class BrowserRules:
    """Middleware: Content-Security-Policy and Permissions-Policy on every answer.

    An answer may bring a stricter policy of its own, as kept files do.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        rules = DOCS if request.path == DOCS_PATH else NOTHING_ELSE
        response.headers.setdefault("Content-Security-Policy", rules)
        # Other sites may not put an answer of ours into a page of theirs.
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response["Permissions-Policy"] = "camera=(), geolocation=(), microphone=()"
        return response
