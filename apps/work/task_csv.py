"""Tasks as a sheet: what its cells say, and a task as its cells.

Times of day are the house's own. The tasks that come before are named in the column `after`, by
title, by `row 3` of the same sheet or by `id 12`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from fractions import Fraction
from zoneinfo import ZoneInfo

from apps.work.sheets import (
    SheetKind,
    SheetRow,
    plain,
    read_sheet,
    read_yes_or_no,
    write_sheet,
    yes_or_no,
)

COLUMNS = (
    "id", "version", "package", "package_kind", "title", "note", "room", "floor", "trade",
    "low_minutes", "likely_minutes", "high_minutes", "people", "splittable",
    "shortest_stint_minutes", "set_up_minutes", "clear_up_minutes", "loud", "outdoors", "tools",
    "earliest_start", "due", "due_weight", "status", "after",
)  # fmt: skip
EMPTIED = {"note", "room", "floor", "trade", "tools", "earliest_start", "due", "after"}
ALSO_CALLED = {
    "work_package": "package",
    "low": "low_minutes",
    "likely": "likely_minutes",
    "high": "high_minutes",
    "shortest_stint": "shortest_stint_minutes",
    "set_up": "set_up_minutes",
    "clear_up": "clear_up_minutes",
}
MOST_BEFORE = 20
FIRST_YEAR, LAST_YEAR = 1900, 2200
LATEST = time(23, 59)

DURATIONS = (
    re.compile(r"(?P<minutes>\d{1,7})\s*(?:m|min|mins|minutes)?"),
    re.compile(r"(?P<hours>\d{1,5}):(?P<minutes>[0-5]\d)(?::00)?"),
    re.compile(
        r"(?P<hours>\d{1,5}(?:[.,]\d{1,4})?)\s*(?:h|hr|hrs|hour|hours)"
        r"(?:\s*(?P<minutes>\d{1,2})\s*(?:m|min|mins|minutes)?)?"
    ),
)
MOMENT = re.compile(
    r"(\d{4}-\d\d-\d\d)(?:[T ]+(\d\d?)(:\d\d(?::\d\d(?:\.\d{1,6})?)?)\s*(Z|[+-]\d\d:\d\d)?)?"
)
BEFORE = re.compile(r"(?:(row|id)\s*)?(\d{1,18})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Before:
    """A task that comes before: by its `row` of the sheet, its `id`, or its `title`."""

    how: str
    title: str
    number: int = 0


@dataclass(frozen=True, slots=True)
class TaskAsRow:
    """A task as the sheet knows it; `after` are the ids of those that end before it starts."""

    id: int
    version: int
    package: str
    package_kind: str
    title: str
    note: str
    room: str
    floor: str
    trade: str
    low_minutes: int
    likely_minutes: int
    high_minutes: int
    people: int
    splittable: bool
    shortest_stint_minutes: int
    set_up_minutes: int
    clear_up_minutes: int
    loud: bool
    outdoors: bool
    tools: tuple[str, ...]
    earliest_start: datetime | None
    due: datetime | None
    due_weight: int
    status: str
    after: tuple[int, ...]


def write_tasks(tasks: Sequence[TaskAsRow], *, titles: Mapping[int, str], zone: ZoneInfo) -> str:
    """The sheet of these tasks.

    Args:
        titles: of every task of the house by its id, as some that come before may be in no row;
            one without a title here is named by its id.
        zone: the house's.
    """
    rows = {task.id: number for number, task in enumerate(tasks, start=2)}
    here, everywhere = Counter(task.title for task in tasks), Counter(titles.values())
    cells = []
    for task in tasks:
        before = [
            named(key, titles[key], rows.get(key), here if key in rows else everywhere)
            if key in titles
            else f"id {key}"
            for key in task.after
        ]
        cells.append({**as_cells(task, zone), "after": "; ".join(before)})
    return write_sheet(COLUMNS, cells)


def named(key: int, title: str, row: int | None, known: Mapping[str, int]) -> str:
    """How one task names another: by its title while that can only be that one."""
    clear = known[title] == 1 and ";" not in title and title == plain(title)
    if clear and not BEFORE.fullmatch(title):
        return title
    return f"id {key}" if row is None else f"row {row}"


def as_cells(task: TaskAsRow, zone: ZoneInfo) -> dict[str, str]:
    """A task's cells, but for `after`, which depends on the rest of the sheet."""
    cells: dict[str, str] = {}
    for name in COLUMNS:
        value = getattr(task, name)
        if isinstance(value, bool):
            cells[name] = yes_or_no(value)
        elif isinstance(value, datetime):
            cells[name] = written_moment(value, zone)
        elif isinstance(value, tuple):
            cells[name] = "; ".join(map(str, value))
        else:
            cells[name] = "" if value is None else str(value)
    return cells


def read_tasks(content: bytes, *, zone: ZoneInfo) -> list[SheetRow]:
    """The rows of a sheet of tasks.

    Raises:
        NoSheet, SheetTooLarge: as `read_sheet`.
    """
    return read_sheet(content, task_sheet(zone))


def task_sheet(zone: ZoneInfo) -> SheetKind:
    whole = dict.fromkeys(("id", "version", "people", "due_weight"), read_whole)
    minutes = {name: read_minutes for name in COLUMNS if name.endswith("_minutes")}
    switches = dict.fromkeys(("splittable", "loud", "outdoors"), read_yes_or_no)
    read: dict[str, Callable[[str], object]] = {
        **whole,
        **minutes,
        **switches,
        "package_kind": read_word,
        "status": read_word,
        "tools": read_names,
        "earliest_start": lambda cell: read_moment(cell, zone, alone=time.min),
        "due": lambda cell: read_moment(cell, zone, alone=LATEST),
        "after": read_before,
    }
    return SheetKind(
        things="tasks",
        columns=COLUMNS,
        needed=("title", "id"),
        not_said=frozenset(set(COLUMNS) - EMPTIED),
        read=read,
        also_called=ALSO_CALLED,
    )


def read_whole(cell: str) -> int:
    """Raises ValueError for what is no whole number."""
    if not re.fullmatch(r"\d{1,9}", cell, re.ASCII):
        raise ValueError("This is a whole number.")
    return int(cell)


def read_word(cell: str) -> str:
    """`First fix` as `first_fix`."""
    return "_".join(cell.lower().split())


def read_names(cell: str) -> tuple[str, ...]:
    """Names between semicolons."""
    return tuple(dict.fromkeys(name.strip() for name in cell.split(";") if name.strip()))


def read_minutes(cell: str) -> int:
    """`90`, `90 min`, `2h`, `1.5 h`, `1h30` or `1:30` in minutes, halves rounded up.

    Raises:
        ValueError: for what is no such length of time.
    """
    for how in DURATIONS:
        if found := how.fullmatch(cell.lower()):
            said = found.groupdict()
            hours = Fraction((said.get("hours") or "0").replace(",", "."))
            return int(hours * 60 + Fraction(said.get("minutes") or 0) + Fraction(1, 2))
    raise ValueError("Write a length of time like 90, 90 min, 2h or 1:30.")


def read_moment(cell: str, zone: ZoneInfo, *, alone: time) -> datetime | None:
    """`2026-11-30 18:30` in the house's zone; with `Z` or `+01:00` in that one.

    Args:
        alone: the time of day of a date by itself.

    Raises:
        ValueError: for what is no such time, and where the clocks leave out that hour.
    """
    if not cell:
        return None
    found = re.fullmatch(MOMENT, cell)
    how = "Write the time like 2026-11-30 18:30: year, month, day."
    if found is None:
        raise ValueError(how)
    day, hour, rest, offset = found.groups()
    clock = f"{hour:0>2}{rest}" if hour else alone.isoformat("minutes")
    try:
        moment = datetime.fromisoformat(f"{day}T{clock}{offset or ''}")
    except ValueError as exc:
        raise ValueError(f"There is no {cell}. {how}") from exc
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ValueError(f"The year is from {FIRST_YEAR} to {LAST_YEAR}.")
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    at = moment.replace(tzinfo=zone).astimezone(UTC)
    if at.astimezone(zone).replace(tzinfo=None) != moment:
        raise ValueError(f"The clocks go forward over {cell}: there is no such time that day.")
    return at


def written_moment(at: datetime, zone: ZoneInfo) -> str:
    """As `read_moment` reads it: the house's time, or with its offset where that is not enough."""
    local = f"{at.astimezone(zone):%Y-%m-%d %H:%M}"
    try:
        enough = read_moment(local, zone, alone=time.min) == at
    except ValueError:
        enough = False
    return local if enough else at.astimezone(UTC).isoformat()


def read_before(cell: str) -> tuple[Before, ...]:
    """`Lift the boards; row 3; id 12` as what each of them names. A number alone is a row.

    Raises:
        ValueError: for more than `MOST_BEFORE` of them.
    """
    names = read_names(cell)
    if len(names) > MOST_BEFORE:
        raise ValueError(f"Name at most {MOST_BEFORE} tasks that come before.")
    return tuple(before_of(name) for name in names)


def before_of(name: str) -> Before:
    if found := BEFORE.fullmatch(name):
        return Before((found[1] or "row").lower(), name, int(found[2]))
    return Before("title", name)


def titles_in(rows: Iterable[SheetRow]) -> dict[str, list[int]]:
    """The numbers of the rows that have a title, by the title."""
    found: dict[str, list[int]] = {}
    for row in rows:
        if title := row.values.get("title"):
            found.setdefault(title, []).append(row.number)
    return found
