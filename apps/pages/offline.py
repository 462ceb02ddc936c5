"""The service worker: a script at the root, so that it may answer for every page."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.views.decorators.http import require_safe

KEPT = (
    "pages/book.css",
    "pages/book.js",
    "pages/queue.js",
    "pages/mark.svg",
    "pages/pencil.svg",
    "django_htmx/htmx-2.min.js",
)
"""What every page needs to be read without a signal."""


@login_not_required
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """`static/pages/sw.js` with the digest of what it keeps, so that a new release is seen."""
    script = static_file("pages/sw.js").read_text(encoding="utf-8")
    files = json.dumps([static(name) for name in KEPT])
    body = script.replace("RELEASE", release()).replace("FILES", files)
    return HttpResponse(
        body, content_type="text/javascript; charset=utf-8", headers={"Cache-Control": "no-cache"}
    )


@login_not_required
@require_safe
def without_signal(request: HttpRequest) -> HttpResponse:
    """Shown in place of a page that was never seen before the signal went."""
    return render(request, "pages/without_signal.html")


@cache
def release() -> str:
    """A digest of the kept files: another release, another store."""
    digest = hashlib.sha256()
    for name in KEPT:
        digest.update(static_file(name).read_bytes())
    return digest.hexdigest()[:12]


def static_file(name: str) -> Path:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(name)
    return Path(found)
