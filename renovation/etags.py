"""ETag and If-Match over a record's `version`, RFC 9110 sections 8.8.3 and 13.1."""

from __future__ import annotations

from rest_framework.request import Request

from renovation.models import Record


def etag(record: Record, derived: str = "") -> str:
    """A strong validator: it changes whenever the record does.

    `derived` stands for what is answered beside the record's own columns and may change
    without it, such as whether a board's joists still carry it.
    """
    return f'"{record.version}-{derived}"' if derived else f'"{record.version}"'


def tags(header: str) -> set[str]:
    """The entity tags of an If-Match or If-None-Match header; `*` stands for itself."""
    return {tag.strip().removeprefix("W/") for tag in header.split(",") if tag.strip()}


def is_stale(request: Request, record: Record) -> bool:
    """Whether the request says it saw a version that is no longer the current one.

    Only the record's own version counts: nobody's write is lost when a joist elsewhere changed.
    """
    seen = {tag.strip('"').partition("-")[0] for tag in tags(request.headers.get("If-Match", ""))}
    return bool(seen) and "*" not in seen and str(record.version) not in seen


def is_unchanged(request: Request, tag: str) -> bool:
    """Whether the reader has this answer already (for a 304)."""
    return bool({"*", tag} & tags(request.headers.get("If-None-Match", "")))
