"""The boards as they will lie on each night of a plan.

Counts only what is planned: a lifting task that has ended by night leaves its boards up
(also those of a lifting task that is half done: the careful reading), a fixing task that has
ended leaves them fixed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

State = Literal["fixed", "loose", "up", "missing"]


@dataclass(frozen=True, slots=True)
class Move:
    """A planned change of boards: from `at` on they are in `state`."""

    at: int
    state: State
    boards: frozenset[int]


def states_at(quarter: int, now: Mapping[int, State], moves: Sequence[Move]) -> dict[int, State]:
    """State of every board at a quarter-hour, from the states now and the moves until then.

    A missing board stays missing until it is fixed: lifting what is not there changes nothing.
    """
    states = dict(now)
    for move in sorted(moves, key=lambda move: move.at):
        if move.at > quarter:
            break
        for board in move.boards:
            if not (states.get(board) == "missing" and move.state == "up"):
                states[board] = move.state
    return states
