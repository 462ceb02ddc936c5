"""A file that is there whole or not at all."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from apps.moving.manifest import Refused


@contextmanager
def written_whole(path: Path) -> Iterator[IO[bytes]]:
    """A file to write to, which takes its name only once it is complete and on the disk.

    Raises:
        Refused: the disk is full, or the folder cannot be written to; nothing is left behind.
    """
    try:
        descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    except OSError as exc:
        raise Refused(in_words(exc, path)) from exc
    draft = Path(name)
    try:
        with os.fdopen(descriptor, "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
        sync_folder(path.parent)
    except OSError as exc:
        raise Refused(in_words(exc, path)) from exc
    finally:
        draft.unlink(missing_ok=True)


def in_words(exc: OSError, path: Path) -> str:
    if exc.errno in {errno.ENOSPC, errno.EDQUOT}:
        return f"The disk is full: {path.name} was not written, and no half of it is left."
    return f"{path} cannot be written ({exc.strerror or exc}): nothing was left behind."


def sync_folder(folder: Path) -> None:
    """Make renames in a folder last."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
