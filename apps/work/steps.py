"""The records' states as tables: which step leads from which state to which."""

from __future__ import annotations

from collections.abc import Mapping

from renovation.errors import Problem
from renovation.models import Record

Steps = Mapping[str, Mapping[str, str]]


def next_state(steps: Steps, state: str, step: str, *, name: str) -> str:
    """The state that a step leads to.

    Raises:
        Problem: `wrong-step`, with `state` and the steps `allowed` from it.
    """
    ways = steps[state]
    if step in ways:
        return ways[step]
    say = state.replace("_", " ")
    possible = f"possible now: {', '.join(ways)}" if ways else "nothing can follow"
    raise Problem(
        "wrong-step",
        f"{name} is {say}, so “{step}” is not possible; {possible}.",
        state=state,
        allowed=list(ways),
    )


def lock(row: Record) -> None:
    """Read the row again and keep others from changing it until the transaction ends.

    Who decides on a row's state must see it as it is now, not as it was when the page opened.
    Rows that merely name it may come meanwhile (`no_key`): two who each hold a row that the
    other's new row names would wait for each other for ever.
    """
    rows = type(row)._default_manager.select_for_update(no_key=True)
    row.refresh_from_db(from_queryset=rows)
