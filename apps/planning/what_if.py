"""Suppositions as they are asked: what may be supposed, and every refusal with its place.

`{"visits": [{id, starts, ends}], "days_off": [{person, date}],
"more_hours": [{person, date, starts, ends}], "drop_tasks": [id], "add_tasks": [{title, package,
likely_minutes, …}]}`. Added tasks are numbered -1, -2, … as they are listed; `after` and
`before` of one may name another by that number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime, time
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.utils import timezone

from apps.floors.models import Floor
from apps.planning.models import Person
from apps.property.models import Property, Room
from apps.trades.models import Visit
from apps.work.models import Task, Tool, Trade, WorkPackage
from renovation.errors import field_problem

Day = TypeVar("Day", bound=date)
Read = Callable[[Any, str], Any]
MOST_SUPPOSED = 50
PLAIN = (
    "title", "low_minutes", "likely_minutes", "high_minutes", "people", "splittable",
    "shortest_stint_minutes", "set_up_minutes", "clear_up_minutes", "loud", "outdoors",
    "due_weight", "floor_action", "area", "route", "clearance_mm",
)  # fmt: skip
NAMED = ("package", "room", "floor", "trade")
INSTANTS = ("earliest_start", "due")
WIDEST_ID = 2_147_483_647
FIRST_YEAR, LAST_YEAR = 2000, 2099


def read_what_if(value: Any) -> dict[str, Any]:
    """Check the shape of a supposition, and give it back.

    Raises:
        Problem: 400 with a pointer into `/what_if`.
    """
    if not isinstance(value, dict) or not value or not set(value) <= set(LISTS):
        raise field_problem("/what_if", f"Suppose one or more of {', '.join(LISTS)}.")
    for name, items in value.items():
        LISTS[name](items, f"/what_if/{name}")
    return value


def refuse_unknown(house: Property, what_if: Mapping[str, Any]) -> None:
    """Refuse a supposition about rows that the house has not, and tasks that could not be.

    Raises:
        Problem: 400 with a pointer into `/what_if`.
    """
    known = {
        name: set(
            model.objects.filter(**{f"{model.scope_path}": house}).values_list("pk", flat=True)
        )
        for name, model in ROWS.items()
        if any(name == of for of, _, _ in ids_named(what_if))
    }
    for name, pk, pointer in ids_named(what_if):
        if pk not in known[name]:
            raise field_problem(pointer, f"There is no such {WORDS[name]} in this house.")
    for index, item in enumerate(what_if.get("add_tasks", [])):
        refuse_impossible(item, index)


def ids_named(what_if: Mapping[str, Any]) -> Iterator[tuple[str, int, str]]:
    """Every id in a supposition, with the kind of row and the place where it stands."""
    for index, item in enumerate(what_if.get("visits", [])):
        yield "visit", item["id"], f"/what_if/visits/{index}/id"
    for name in ("days_off", "more_hours"):
        for index, item in enumerate(what_if.get(name, [])):
            yield "person", item["person"], f"/what_if/{name}/{index}/person"
    for index, pk in enumerate(what_if.get("drop_tasks", [])):
        yield "task", pk, f"/what_if/drop_tasks/{index}"
    added = what_if.get("add_tasks", [])
    for index, item in enumerate(added):
        at = f"/what_if/add_tasks/{index}"
        for name in ("package", "room", "floor", "trade"):
            if item.get(name) is not None:
                yield name, item[name], f"{at}/{name}"
        for n, pk in enumerate(item.get("tools", [])):
            yield "tool", pk, f"{at}/tools/{n}"
        for name in ("after", "before"):
            for n, pk in enumerate(item.get(name, [])):
                if not -len(added) <= pk < 0 or pk == -1 - index:
                    yield "task", pk, f"{at}/{name}/{n}"


def refuse_impossible(item: Mapping[str, Any], index: int) -> None:
    """Ask the task's own rules."""
    try:
        supposed_task(item, index).full_clean(exclude=["package", "room", "floor", "trade"])
    except ValidationError as exc:
        field, sentences = next(iter(exc.message_dict.items()))
        at = f"/what_if/add_tasks/{index}"
        raise field_problem(at if field == "__all__" else f"{at}/{field}", sentences[0]) from exc


def supposed_task(item: Mapping[str, Any], index: int) -> Task:
    """A task that is in no table, numbered -1, -2, … in the order supposed."""
    likely = item["likely_minutes"]
    values = {
        "low_minutes": likely,
        "high_minutes": likely,
        **{name: item[name] for name in PLAIN if name in item},
        **{f"{name}_id": item[name] for name in NAMED if name in item},
        **{name: datetime.fromisoformat(item[name]) for name in INSTANTS if name in item},
    }
    return Task(pk=-1 - index, **values)


# Readers: each takes a value and its pointer, and refuses what it cannot be.


def listed(read: Read, what: str) -> Read:
    def read_list(value: Any, pointer: str) -> list[Any]:
        if not isinstance(value, list) or len(value) > MOST_SUPPOSED:
            raise field_problem(pointer, f"Give a list of {what}, at most {MOST_SUPPOSED}.")
        return [read(item, f"{pointer}/{index}") for index, item in enumerate(value)]

    return read_list


def item_of(what: str, needed: Mapping[str, Read], other: Mapping[str, Read] | None = None) -> Read:
    readers = {**needed, **(other or {})}

    def read_item(value: Any, pointer: str) -> dict[str, Any]:
        if not isinstance(value, dict) or not set(needed) <= set(value) <= set(readers):
            *first, last = needed
            more = f"; it may have {', '.join(other)}" if other else ""
            said = f"{', '.join(first)} and {last}{more}"
            raise field_problem(pointer, f"{what} has {said}.")
        found = {name: readers[name](each, f"{pointer}/{name}") for name, each in value.items()}
        starts, ends = found.get("starts"), found.get("ends")
        if starts is not None and starts >= ends:
            raise field_problem(pointer, f"{what} ends after it starts.")
        return found

    return read_item


def row_id(value: Any, pointer: str) -> int:
    if type(value) is not int or not -WIDEST_ID <= value <= WIDEST_ID:
        raise field_problem(pointer, "An id is a whole number.")
    return value


def row_ids(value: Any, pointer: str) -> list[int]:
    """A list of ids; one that is none is the list's fault."""
    if not isinstance(value, list) or len(value) > MOST_SUPPOSED:
        raise field_problem(pointer, f"Give a list of ids, at most {MOST_SUPPOSED}.")
    return [row_id(item, pointer) for item in value]


def whole(value: Any, pointer: str) -> int:
    if type(value) is not int or not 0 <= value <= WIDEST_ID:
        raise field_problem(pointer, "Give a whole number, not below 0.")
    return value


def yes_or_no(value: Any, pointer: str) -> bool:
    if not isinstance(value, bool):
        raise field_problem(pointer, "Say true or false.")
    return value


def text(value: Any, pointer: str) -> str:
    if not isinstance(value, str) or not value.strip() or "\x00" in value:
        raise field_problem(pointer, "Give a few words.")
    return value


def instant(value: Any, pointer: str) -> datetime:
    try:
        found = datetime.fromisoformat(value)
    except (TypeError, ValueError) as exc:
        raise field_problem(pointer, "Write instants as 2026-01-31T18:30:00+00:00.") from exc
    if timezone.is_naive(found):
        raise field_problem(pointer, "Say the time zone too.")
    return within(found, pointer)


def on_date(value: Any, pointer: str) -> date:
    try:
        return within(date.fromisoformat(value), pointer)
    except (TypeError, ValueError) as exc:
        raise field_problem(pointer, "Write dates as 2026-01-31.") from exc


def clock_time(value: Any, pointer: str) -> time:
    try:
        found = time.fromisoformat(value)
    except (TypeError, ValueError) as exc:
        raise field_problem(pointer, "Write times as 18:30.") from exc
    if found.tzinfo is not None:
        raise field_problem(pointer, "Write times as 18:30, on the house's own clock.")
    return found


def within(found: Day, pointer: str) -> Day:
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise field_problem(pointer, f"Suppose a year from {FIRST_YEAR} to {LAST_YEAR}.")
    return found


def place(value: Any, pointer: str) -> Any:
    """An area or a route: the task's own rules say what is wrong with it."""
    if not isinstance(value, list):
        raise field_problem(pointer, "Give a list of points [x, y] in mm.")
    return value


TASK_MAY_HAVE: Mapping[str, Read] = {
    "low_minutes": whole, "high_minutes": whole, "people": whole, "room": row_id,
    "floor": row_id, "trade": row_id, "splittable": yes_or_no,
    "shortest_stint_minutes": whole, "set_up_minutes": whole, "clear_up_minutes": whole,
    "loud": yes_or_no, "outdoors": yes_or_no, "tools": row_ids, "earliest_start": instant,
    "due": instant, "due_weight": whole, "floor_action": text, "area": place, "route": place,
    "clearance_mm": whole, "after": row_ids, "before": row_ids,
}  # fmt: skip
LISTS: Mapping[str, Read] = {
    "visits": listed(
        item_of("A supposed visit", {"id": row_id, "starts": instant, "ends": instant}), "visits"
    ),
    "days_off": listed(item_of("A day off", {"person": row_id, "date": on_date}), "days off"),
    "more_hours": listed(
        item_of(
            "A stretch of more hours",
            {"person": row_id, "date": on_date, "starts": clock_time, "ends": clock_time},
        ),
        "stretches of more hours",
    ),
    "drop_tasks": row_ids,
    "add_tasks": listed(
        item_of(
            "A supposed task", {"title": text, "package": row_id, "likely_minutes": whole},
            TASK_MAY_HAVE,
        ),
        "tasks",
    ),
}  # fmt: skip
ROWS: Mapping[str, Any] = {
    "visit": Visit, "person": Person, "task": Task, "package": WorkPackage, "room": Room,
    "floor": Floor, "trade": Trade, "tool": Tool,
}  # fmt: skip
WORDS = {**{name: name for name in ROWS}, "package": "work package"}
