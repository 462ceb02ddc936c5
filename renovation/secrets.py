"""Secrets made on first start and kept beside the database; secret parts of addresses."""

from __future__ import annotations

import hashlib
import os
import secrets
from pathlib import Path


def kept_secret(path: Path) -> str:
    """Read the secret at `path`, or make it: readable by its owner only.

    Two processes starting at once agree on one secret, because only one of them can create
    the file.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}-{os.getpid()}")
    if not path.exists():
        descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            file.write(secrets.token_urlsafe(50))
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    return path.read_text().strip()


def fresh_part() -> str:
    """The part of an address that nobody guesses: 32 random bytes, 43 letters and signs."""
    return secrets.token_urlsafe(32)


def digest_of(part: str) -> str:
    """What is kept of such a part, in 64 hexadecimal digits; it leads back to nothing."""
    return hashlib.sha256(part.encode()).hexdigest()
