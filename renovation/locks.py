"""A lock that one process of a machine holds at a time, and that goes with it however it ended."""

from __future__ import annotations

import os
import sys
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def lock_now(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def lock_now(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


class FileLock:
    """The lock on a file, which is made and left there: it means nothing by itself."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.held: int | None = None

    def take(self) -> bool:
        """Whether it is ours now, or was before; nobody waits for it.

        Raises:
            OSError: the file cannot be made.
        """
        if self.held is not None:
            return True
        descriptor = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            lock_now(descriptor)
        except OSError:
            os.close(descriptor)
            return False
        self.held = descriptor
        return True

    def leave(self) -> None:
        if self.held is not None:
            os.close(self.held)
            self.held = None
