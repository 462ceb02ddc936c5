"""What the threads of one solve share: the best schedule, the bound, the clock."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from typing import Protocol

from .question import Question, keeps


class Stoppable(Protocol):
    limit: int

    def stop(self) -> None: ...


class Race:
    """Best and bound only ever improve; `over` says when there is nothing left to do."""

    def __init__(self, question: Question, seconds: float) -> None:
        self.question = question
        self.begun = time.perf_counter()
        self.seconds_given = seconds
        # Threads need a moment to notice and to be gathered in.
        self.deadline = self.begun + seconds - min(0.05, 0.02 * seconds)
        self.best: tuple[int, ...] | None = None
        self.end = question.horizon + 1  # of the best: what is to be beaten
        self.bound = 0
        self.impossible = False
        self.first_seconds: float | None = None
        self.proofs: list[Stoppable] = []
        self.lock = threading.Lock()

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self.begun

    @property
    def left(self) -> float:
        return self.deadline - time.perf_counter()

    @property
    def over(self) -> bool:
        return self.impossible or self.end <= self.bound or self.left <= 0

    def found(self, starts: Sequence[int], by: Stoppable | None = None) -> None:
        """Take a schedule if it is better and, by a second look, keeps every rule.

        Another proof that asks for no better is stopped.
        """
        lengths = self.question.durations
        end = max((s + d for s, d in zip(starts, lengths, strict=True)), default=0)
        if end >= self.end or not keeps(self.question, starts):
            return
        with self.lock:
            if end < self.end:
                self.best, self.end = tuple(starts), end
                if self.first_seconds is None:
                    self.first_seconds = self.seconds
        for proof in list(self.proofs):
            if proof is not by and proof.limit >= self.end:
                proof.stop()
        self._look()

    def bounded(self, bound: int) -> None:
        """No schedule ends before this."""
        with self.lock:
            self.bound = max(self.bound, bound)
        self._look()

    def nothing_by(self, limit: int) -> None:
        """No schedule at all ends by a limit; by the horizon itself: none exists."""
        if limit >= self.question.horizon:
            self.impossible = True
        self.bounded(limit + 1)

    def _look(self) -> None:
        if self.over:
            for proof in list(self.proofs):
                proof.stop()
