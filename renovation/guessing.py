"""Slowing down whoever tries secrets: so many wrong ones from one address in one minute.

All processes count together in the cache, and each also by itself: with Redis away an address has
so many tries with each web process, and not as many as it likes.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from django.core.cache import caches
from django.http import HttpRequest
from rest_framework.request import Request

from renovation.callers import address_of

MOST_WRONG = 30
WINDOW_SECONDS = 60
KEPT_IN = ("default", "process")
NONE = (0, 0.0)


@dataclass(frozen=True, slots=True)
class Guesses:
    """Wrong secrets of one kind that came from one address."""

    key: str

    def seconds_to_wait(self) -> int:
        """How long nothing from there is looked at; 0 when it is."""
        wrong, until = self.counted()
        return math.ceil(until - time.time()) if wrong >= MOST_WRONG else 0

    def count(self) -> None:
        """One more was wrong."""
        wrong, until = self.counted()
        until = until or time.time() + WINDOW_SECONDS
        for name in KEPT_IN:
            caches[name].set(self.key, (wrong + 1, until), timeout=WINDOW_SECONDS)

    def counted(self) -> tuple[int, float]:
        """How many there were, and until when they count; a cache that is down knows of none."""
        now = time.time()
        found: list[tuple[int, float]] = [caches[name].get(self.key) or NONE for name in KEPT_IN]
        counting = [one for one in found if one[1] > now] or [NONE]
        return max(wrong for wrong, _ in counting), max(until for _, until in counting)


def guesses(kind: str, request: HttpRequest | Request) -> Guesses:
    """Those of a kind, such as `token`, from where a request came from."""
    return Guesses(f"guesses:{kind}:{address_of(request)}")
