"""Django system checks for settings that each are right and together are not."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core import checks

LOOPBACK = {"127.0.0.1", "localhost", "[::1]"}


@checks.register()
def settings_go_together(app_configs: Any, **kwargs: Any) -> list[checks.CheckMessage]:
    """The check as Django runs it, over the settings as they are."""
    return list(
        what_does_not_go_together(
            role=celery_role(sys.argv),
            redis=bool(settings.REDIS_URL),
            sqlite=str(settings.DATABASES["default"]["ENGINE"]).endswith("sqlite3"),
            debug=settings.DEBUG,
            hosts=settings.ALLOWED_HOSTS,
            https=settings.HTTPS,
        )
    )


def what_does_not_go_together(
    *, role: str, redis: bool, sqlite: bool, debug: bool, hosts: Collection[str], https: bool = True
) -> Iterator[checks.CheckMessage]:
    """Each clash with an id and what to do. `role` is what Celery was started as, or empty."""
    if role and not redis:
        yield checks.Error(
            f"A Celery {role} without REDIS_URL hears of no task.",
            hint="Set REDIS_URL here and for the web process, or start no worker: without "
            "it the web process makes the plans itself.",
            id="lifted_boards.E001",
        )
    if debug and not set(hosts) <= LOOPBACK:
        yield checks.Error(
            "LIFTED_BOARDS_DEBUG shows the inside of the program to every host it answers.",
            hint="Leave it out, or LIFTED_BOARDS_HOSTS.",
            id="lifted_boards.E002",
        )
    if not https and not set(hosts) <= LOOPBACK:
        yield checks.Warning(
            "Others are served without HTTPS: passwords and tokens can be read on the way.",
            hint="Leave LIFTED_BOARDS_HTTPS out, and put a proxy that speaks HTTPS in front.",
            id="lifted_boards.W002",
        )
    if redis and sqlite:
        yield checks.Warning(
            "With REDIS_URL the workers write too, but the database is one SQLite file.",
            hint="Set DATABASE_URL to a PostgreSQL database, or leave REDIS_URL out.",
            id="lifted_boards.W001",
        )


def celery_role(words: Sequence[str]) -> str:
    """`worker` or `beat` for a command line that starts one; else empty."""
    program = Path(words[0]) if words else Path()
    if program.name != "celery" and program.parts[-2:] != ("celery", "__main__.py"):
        return ""
    return next((word for word in words[1:] if word in {"worker", "beat"}), "")
