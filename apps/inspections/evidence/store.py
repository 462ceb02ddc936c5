"""The folder of kept files: each under its digest, whole or not there at all.

`evidence/<first two of sha256>/<sha256>` is the file, with `.thumbnail` the small picture.
A file is written beside and renamed into place, so a reader never meets half of one.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from renovation.uploads import incoming

DIGEST = re.compile(r"[0-9a-f]{64}")
THUMBNAIL = ".thumbnail"


def path_of(sha256: str) -> Path:
    """Where the file of a digest is kept.

    Raises:
        ValueError: it is no digest, so that no text from outside ever becomes a path.
    """
    if not DIGEST.fullmatch(sha256):
        raise ValueError(f"{sha256[:80]!r} is no SHA-256 in small hexadecimal letters")
    return Path(settings.EVIDENCE_DIR) / sha256[:2] / sha256


def thumbnail_of(sha256: str) -> Path:
    """Where the small picture of a digest is kept; documents have none."""
    return path_of(sha256).with_name(sha256 + THUMBNAIL)


def place(sha256: str, content: bytes, thumbnail: bytes | None) -> None:
    """Put a file under its digest, and its small picture beside it."""
    path = path_of(sha256)
    path.parent.mkdir(parents=True, exist_ok=True)
    if thumbnail is not None:
        write(thumbnail_of(sha256), thumbnail)
    write(path, content)


def write(path: Path, content: bytes) -> None:
    descriptor, name = tempfile.mkstemp(dir=incoming())
    draft = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def remove(sha256: str) -> None:
    """Take a file and its small picture away, and the folder when it is empty by then."""
    path = path_of(sha256)
    for gone in (path, thumbnail_of(sha256)):
        gone.unlink(missing_ok=True)
    if path.parent.is_dir() and not any(path.parent.iterdir()):
        path.parent.rmdir()


def digests() -> Iterator[str]:
    """The digest of every file that is there."""
    found = {path.name.removesuffix(THUMBNAIL) for path in all_files()}
    yield from sorted(name for name in found if DIGEST.fullmatch(name))


def all_files() -> Iterator[Path]:
    root = Path(settings.EVIDENCE_DIR)
    return (path for path in root.glob("[0-9a-f][0-9a-f]/*") if path.is_file())


def remove_left_uploads(before: float) -> None:
    """Remove what uploads that were cut off left behind; `before` in seconds since 1970."""
    for path in incoming().iterdir():
        if path.stat().st_mtime < before:
            path.unlink(missing_ok=True)
