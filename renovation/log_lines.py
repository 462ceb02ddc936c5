"""Log lines: plain for one person, JSON for a server, and never a secret in either."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from django.conf import settings
from pythonjsonlogger.json import JsonFormatter

from renovation.request_ids import request_now, task_now

LEFT_OUT = "…"
NAMES = "sessionid|csrftoken|csrfmiddlewaretoken|password|secret|ticket"
# Each leaves its first group. What is masked without need is missed by nobody.
SECRETS = tuple(
    re.compile(pattern)
    for pattern in (
        r"(/(?:feed|visit|sign-in)/)[^\s/\"'<>]{16,}",
        r"(?i)\b((?:token|bearer|basic)\s+)[\w.=:+/~-]{8,}",
        r"(://[^\s:/@\"']*:)[^\s@/\"']+(?=@)",
        rf"(?i)((?:{NAMES})[\"']?\s*[=:]\s*[\"']?)[^\s\"'&;,)}}]+",
        # 32 random bytes as we write them, and as hexadecimal digits.
        r"()(?<![\w-])[\w-]{43}(?![\w-])",
        r"()\b[0-9a-fA-F]{40,}\b",
    )
)
SHORTEST = 8
"""Shorter passwords are words, and would mask half of a sentence."""
TOLD = {
    "time", "level", "logger", "message", "exc_info", "request_id", "task_id",
    "method", "route", "status", "milliseconds",
}  # fmt: skip


def masked(text: str) -> str:
    """A text without what looks like a secret, and without those we know."""
    for secret in known_secrets():
        text = text.replace(secret, LEFT_OUT)
    for pattern in SECRETS:
        text = pattern.sub(rf"\g<1>{LEFT_OUT}", text)
    return text


@cache
def known_secrets() -> tuple[str, ...]:
    return tuple(value for value in secrets_set() if len(value) >= SHORTEST)


def secrets_set() -> Iterator[str]:
    """The secrets of this installation, from its settings."""
    yield settings.SECRET_KEY
    yield settings.METRICS_TOKEN
    yield str(getattr(settings, "EMAIL_HOST_PASSWORD", "") or "")
    for database in settings.DATABASES.values():
        yield str(database.get("PASSWORD") or "")


class WithIds(logging.Filter):
    """Gives each record the ids of the request and task it was written in."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = request_now.get()
        record.task_id = task_now.get()
        return True


class PlainLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


class JsonLines(JsonFormatter):
    """One JSON object a line, with the fields of `TOLD` only."""

    def __init__(self) -> None:
        super().__init__(
            "%(levelname)s %(name)s %(message)s",
            rename_fields={"levelname": "level", "name": "logger"},
            timestamp="time",
            json_ensure_ascii=False,
        )

    def process_log_record(self, log_data: dict[str, Any]) -> dict[str, Any]:
        return {
            name: masked(value) if isinstance(value, str) else value
            for name, value in log_data.items()
            if name in TOLD and value not in ("", None)
        }
