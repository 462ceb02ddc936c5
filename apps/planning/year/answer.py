"""What the year engine answers."""

from __future__ import annotations

from dataclasses import dataclass

from apps.planning.problem import Interval, Stint


@dataclass(frozen=True, slots=True)
class YearAnswer:
    """A year's plan, in the units of its problem.

    Attributes:
        spans: activity key → (start, end); the end is that of its last working unit. An
            activity of `unplaced` is missing.
        stints: `spans` cut at the breaks of each activity's own calendars, in order of time.
        cost: last end + Σ due_weight × units late, over what is placed.
        bound: a proven lower bound of that cost for a complete plan.
        feasible: True when every rule is kept and nothing is unplaced.
        seconds: wall clock of the whole call.
        first_seconds: when the first plan that keeps every rule was there; None: never.
        unplaced: keys of what finds no place before the horizon, in the problem's order.
    """

    spans: dict[str, Interval]
    stints: tuple[Stint, ...]
    cost: int
    bound: int
    feasible: bool
    seconds: float
    first_seconds: float | None
    unplaced: tuple[str, ...] = ()
