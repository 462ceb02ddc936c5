"""How a full disk shows itself, and what whoever types a command is told."""

from __future__ import annotations

import errno

from django.db import OperationalError

NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
# As SQLite and PostgreSQL say it.
DISK = ("disk is full", "disk I/O error", "No space left on device")


def is_full(exc: BaseException | None) -> bool:
    """Whether it is for want of room that something failed."""
    if isinstance(exc, OSError):
        return exc.errno in NO_ROOM
    return isinstance(exc, OperationalError) and any(word in str(exc) for word in DISK)


def in_a_sentence(exc: OSError | OperationalError) -> str | None:
    """What to say on the command line in the place of a traceback; None: nobody foresaw it."""
    if is_full(exc):
        return (
            "The disk is full, and the database needs some room even to be read. Nothing was kept: "
            "make room, then do it again."
        )
    if isinstance(exc, OperationalError):
        said = str(exc).strip().partition("\n")[0]
        return f"The database cannot be used: {said}. Nothing was kept."
    return None
