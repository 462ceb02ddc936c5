"""What takes long to work out, kept under a digest of everything it was worked out from.

A key is made of the very rows, shapes and dates that an answer depends on, and of this
program's own source. So what is found under a key is right, whoever changed what, in whichever
process, restored from whichever backup: nothing is ever thrown away by hand, and there is no
change that somebody could forget to tell of. What is kept is JSON; without the cache (a
server that is down) the answer is worked out again.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from functools import cache
from hashlib import blake2b
from typing import Any

from django.conf import settings
from django.core.cache import cache as store

log = logging.getLogger(__name__)

KEPT_SECONDS = 7 * 24 * 3600


def digest_of(*parts: object) -> str:
    """One digest of values whose `repr` says all of them: numbers, texts, dates, tuples."""
    return blake2b(repr(parts).encode(), digest_size=16).hexdigest()


def of_shapes(name: str, key: object, work_out: Callable[[], Any]) -> Any:
    """What a pure function makes of shapes; `key` holds all its arguments."""
    digest = digest_of(key)
    found = recall(name, digest)
    if found is None:
        found = through_json(work_out())
        remember(name, digest, found)
    return found


def recall(name: str, key: str) -> Any:
    """What was kept, or None."""
    try:
        found = store.get(address(name, key))
    except Exception:
        # A cache that is down makes answers slow, never wrong or missing.
        log.warning("what was kept cannot be read", exc_info=True)
        return None
    return None if found is None else json.loads(found)


def remember(name: str, key: str, value: Any) -> None:
    try:
        store.set(address(name, key), json.dumps(value), KEPT_SECONDS)
    except Exception:
        log.warning("nothing can be kept", exc_info=True)


def through_json(value: Any) -> Any:
    """As it will be when it is recalled, so that the first reader sees no other shape."""
    return json.loads(json.dumps(value))


def address(name: str, key: str) -> str:
    return f"{name}:{program()}:{key}"


@cache
def program() -> str:
    """A digest of the sources that work answers out: another release keeps its own."""
    digest = blake2b(digest_size=8)
    for path in sorted((settings.BASE_DIR / "apps").glob("*/*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()
