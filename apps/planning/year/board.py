"""The best plan so far, shared by those who look for a better one."""

from __future__ import annotations

import threading
from collections.abc import Callable
from time import perf_counter

from apps.planning.year.tables import Ints


class Board:
    """Broken units, cost and places of the best plan; every method may be called at any time."""

    def __init__(self, started: float, seconds: float, on_first: Callable[[Ints], None]) -> None:
        self.started, self.deadline = started, started + seconds
        self.broken, self.cost = 1 << 62, 1 << 62
        self.at: Ints | None = None
        self.bound = 0
        self.first_seconds: float | None = None
        self._on_first = on_first
        self.begun = threading.Event()  # a first plan is there
        self._lock = threading.Lock()

    def post(self, broken: int, cost: int, at: Ints) -> None:
        """Here is a plan: keep it if it is better."""
        with self._lock:
            if (broken, cost) >= (self.broken, self.cost):
                return
            self.broken, self.cost, self.at = broken, cost, at.copy()
            first = broken == 0 and self.first_seconds is None
            if first:
                self.first_seconds = perf_counter() - self.started
        if first:
            self.begun.set()
            self._on_first(at)

    def best(self) -> tuple[int, int, Ints | None]:
        with self._lock:
            return self.broken, self.cost, self.at

    @property
    def left(self) -> float:
        """Seconds left; 0 when the best plan is known to be the best there is."""
        if self.broken == 0 and self.cost <= self.bound:
            return 0.0
        return max(0.0, self.deadline - perf_counter())
