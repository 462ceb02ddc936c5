"""Ids inside JSON columns, and how they are numbered anew when a house moves.

Each function takes a column's value and gives it back with other ids; what it does not know it
leaves as it is. Which column has which is said in `carried.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Renumber = Callable[[str, int], int]
"""From a kind ("task", "visit", …) and an id to the id that it has by now."""

LISTED = {"boards": "board", "open": "board", "tools": "tool"}
"""Facts of a plan's inputs that are lists of ids."""
SUPPOSED = {"package": "workpackage", "room": "room", "floor": "floor", "trade": "trade"}


def as_it_is(value: Any, _: Renumber) -> Any:
    """A column without ids."""
    return value


def told(value: Any, renumber: Renumber) -> Any:
    """Sentences and what they are about: `{kind, id, …}` at any depth, suppositions among them."""
    if isinstance(value, list):
        return [told(one, renumber) for one in value]
    if not isinstance(value, dict):
        return value
    found = {
        name: what_if(one, renumber) if name == "what_if" else told(one, renumber)
        for name, one in value.items()
    }
    if isinstance(found.get("kind"), str) and is_id(found.get("id")):
        found["id"] = renumber(found["kind"], found["id"])
    return found


def what_if(value: Any, renumber: Renumber) -> Any:
    """A supposition, as `planning/what_if.py` describes it. Added tasks keep their −1, −2, …"""
    if not isinstance(value, dict):
        return value
    found = dict(value)
    for name, kind, key in (
        ("visits", "visit", "id"), ("days_off", "person", "person"),
        ("more_hours", "person", "person"),
    ):  # fmt: skip
        if name in found:
            found[name] = [{**one, key: renumber(kind, one[key])} for one in found[name]]
    if "drop_tasks" in found:
        found["drop_tasks"] = ids(found["drop_tasks"], "task", renumber)
    if "add_tasks" in found:
        found["add_tasks"] = [supposed_task(one, renumber) for one in found["add_tasks"]]
    return found


def supposed_task(value: dict[str, Any], renumber: Renumber) -> dict[str, Any]:
    found = dict(value)
    for name, kind in SUPPOSED.items():
        if is_id(found.get(name)):
            found[name] = renumber(kind, found[name])
    for name, kind in (("tools", "tool"), ("after", "task"), ("before", "task")):
        if name in found:
            found[name] = ids(found[name], kind, renumber)
    return found


def inputs(value: Any, renumber: Renumber) -> Any:
    """What a plan was made from, as `planning/inputs.py` writes it."""
    if not isinstance(value, dict):
        return value
    return {key_of(key, renumber): facts(one, renumber) for key, one in value.items()}


def facts(value: dict[str, Any], renumber: Renumber) -> dict[str, Any]:
    found = dict(value)
    for name, kind in LISTED.items():
        if name in found:
            found[name] = sorted(ids(found[name], kind, renumber))
    if is_id(found.get("trade")):
        found["trade"] = renumber("trade", found["trade"])
    if "place" in found:
        action, *boards = found["place"]
        found["place"] = [action, *sorted(ids(boards, "board", renumber))]
    if "on" in found:
        # As `inputs.py` sorts them, so that the next plan sees no change.
        found["on"] = sorted(key_of(key, renumber) for key in found["on"])
    return found


def unmet(value: Any, renumber: Renumber) -> Any:
    """What a cutting plan does not meet, and the changes that would."""
    return [
        {
            **row,
            "need": renumber("need", row["need"]),
            "changes": [
                {**one, "figures": figures(one["figures"], renumber)} for one in row["changes"]
            ],
        }
        for row in value
    ]


def figures(value: dict[str, Any], renumber: Renumber) -> dict[str, Any]:
    found = dict(value)
    for name, kind in (("piece", "piece"), ("stock", "stocklength")):
        if is_id(found.get(name)):
            found[name] = renumber(kind, found[name])
    return found


def proposal(value: Any, renumber: Renumber) -> Any:
    """One way to repair a joist, as `repairs/answers.py` keeps it; another check as it is."""
    if not isinstance(value, dict) or "option" not in value:
        return value
    found = dict(value)
    for name in ("boards", "boards_down"):
        if name in found:
            found[name] = ids(found[name], "board", renumber)
    found["timber"] = [
        {
            **piece,
            "supply": {
                **piece["supply"],
                "pieces": [
                    {**one, "id": renumber("piece", one["id"])} for one in piece["supply"]["pieces"]
                ],
            },
        }
        for piece in found.get("timber", [])
    ]
    return found


def ids(values: list[Any], kind: str, renumber: Renumber) -> list[Any]:
    return [renumber(kind, one) if is_id(one) else one for one in values]


def key_of(key: str, renumber: Renumber) -> str:
    """A thing's key, "task:12"."""
    kind, _, pk = key.partition(":")
    return f"{kind}:{renumber(kind, int(pk))}" if pk.lstrip("-").isdigit() else key


def is_id(value: Any) -> bool:
    """Rows count from 1; what is below was only supposed, or has gone."""
    return type(value) is int and value > 0
