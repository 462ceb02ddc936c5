"""ETag and If-Match over a record's `version`, RFC 9110 sections 8.8.3 and 13.1."""

from __future__ import annotations

from rest_framework.request import Request

from renovation.models import Record


def etag(record: Record) -> str:
    """A strong validator: it changes whenever the record does."""
    return f'"{record.version}"'


def tags(header: str) -> set[str]:
    """The entity tags of an If-Match or If-None-Match header; `*` stands for itself."""
    return {tag.strip().removeprefix("W/") for tag in header.split(",") if tag.strip()}


def is_stale(request: Request, record: Record) -> bool:
    """Whether the request says it saw a version that is no longer the current one."""
    wanted = tags(request.headers.get("If-Match", ""))
    return bool(wanted) and "*" not in wanted and etag(record) not in wanted


def is_unchanged(request: Request, record: Record) -> bool:
    """Whether the reader already has this version (for a 304)."""
    return etag(record) in tags(request.headers.get("If-None-Match", ""))
