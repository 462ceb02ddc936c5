"""Slowing down whoever tries secrets: so many wrong ones from one address in one minute."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from django.core.cache import cache
from django.http import HttpRequest
from rest_framework.request import Request

from renovation.callers import address_of

MOST_WRONG = 30
WINDOW_SECONDS = 60


@dataclass(frozen=True, slots=True)
class Guesses:
    """Wrong secrets of one kind that came from one address."""

    key: str

    def seconds_to_wait(self) -> int:
        """How long nothing from there is looked at; 0 when it is."""
        wrong, until = self.counted()
        left = until - time.time()
        return math.ceil(left) if wrong >= MOST_WRONG and left > 0 else 0

    def count(self) -> None:
        """One more was wrong."""
        wrong, until = self.counted()
        now = time.time()
        if until <= now:
            wrong, until = 0, now + WINDOW_SECONDS
        cache.set(self.key, (wrong + 1, until), timeout=WINDOW_SECONDS)

    def counted(self) -> tuple[int, float]:
        """How many there were, and until when they count. A cache that is down knows of none."""
        found: tuple[int, float] = cache.get(self.key) or (0, 0.0)
        return found


def guesses(kind: str, request: HttpRequest | Request) -> Guesses:
    """Those of a kind, such as `token`, from where a request came from."""
    return Guesses(f"guesses:{kind}:{address_of(request)}")
