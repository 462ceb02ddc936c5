"""What goes out and comes in as a spreadsheet: tasks and timber, each told the same way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from apps.pages.screens.house.kinds import keep_its_visits
from apps.pages.screens.house.writing import Sender
from apps.pages.visiting import Visiting
from apps.property.models import Property
from apps.timber.api.pile_rows import take_sheet
from apps.timber.models import Piece
from apps.timber.services import pile_csv
from apps.work import task_csv, task_sheets
from apps.work.models import Task, WorkPackage
from apps.work.sheets import CellError, SheetRow
from renovation.models import Record

MOST_KEPT = 200_000
"""Of what changed rows were before, this many characters are kept for their undoing."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A row of the sheet, what it is, and which columns it changes."""

    row: int
    words: str
    columns: str = ""


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a sheet.

    Attributes:
        beside: what is added beside the rows, in words.
        undo: the fields that take it back: ids with their versions, and the changed rows as
            they were.
    """

    created: list[SheetLine]
    changed: list[SheetLine]
    unchanged: int
    errors: list[CellError]
    beside: list[str]
    undo: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SheetOf:
    """One kind of sheet.

    Attributes:
        model: of the rows, a key of `KINDS` for the tasks.
        write: the house's sheet.
        take: of (visiting, content, dry run), what came of it. Raises NoSheet.
    """

    word: str
    one: str
    many: str
    model: type[Record]
    columns: tuple[str, ...]
    needed: str
    write: Callable[[Property], str]
    take: Callable[[Visiting, bytes, bool], Came]


def tasks_of(house: Property) -> str:
    return task_sheets.sheet_of(Task.objects.filter(package__property=house), house=house)


def pile_of(house: Property) -> str:
    return pile_csv.write_pile(Piece.objects.filter(property=house).prefetch_related("defects"))


def take_tasks(found: Visiting, content: bytes, dry_run: bool) -> Came:
    zone = ZoneInfo(found.house.timezone)
    rows = task_csv.read_tasks(content, zone=zone)
    named = Task.objects.filter(
        package__property=found.house, pk__in=[row.values.get("id") for row in rows]
    )
    before = {row.id: row for row in task_sheets.as_rows(named)}
    came = task_sheets.bring_in(
        house=found.house, rows=rows, dry_run=dry_run, refuse=keep_its_visits
    )
    changed = [one.task for one in came.changed() if one.task.pk in before]
    as_they_were = [replace(before[task.pk], version=task.version) for task in changed]
    packages = WorkPackage.objects.filter(property=found.house, title__in=came.packages)
    return Came(
        created=[SheetLine(one.row, one.task.title) for one in came.created()],
        changed=[
            SheetLine(one.row, one.task.title, in_words(one.columns)) for one in came.changed()
        ],
        unchanged=len(came.unchanged()),
        errors=came.errors,
        beside=[f"the package “{title}”" for title in came.packages],
        undo={
            "made": versions(one.task for one in came.created()),
            "seen": versions(changed),
            "packages": versions(packages if came.packages and not dry_run else ()),
            "before": kept(
                task_csv.write_tasks(as_they_were, titles={}, zone=zone) if changed else ""
            ),
        },
    )


def take_pile(found: Visiting, content: bytes, dry_run: bool) -> Came:
    rows = pile_csv.read_pile(content)
    marks = [row.values.get("mark") for row in rows]
    pile = Piece.objects.filter(property=found.house).prefetch_related("defects")
    before = {piece.mark: piece for piece in pile.filter(mark__in=marks)}
    as_they_were = {mark: pile_csv.as_cells(piece) for mark, piece in before.items()}
    came = take_sheet(
        house=found.house, rows=rows, dry_run=dry_run, context={"request": Sender(found.user)}
    )
    numbers = numbers_of(rows)
    changed = [row["mark"] for row in came.changed]
    now = {piece.mark: piece for piece in pile.filter(mark__in=[*came.created, *changed])}
    return Came(
        created=[SheetLine(numbers[mark], mark) for mark in came.created],
        changed=[
            SheetLine(numbers[row["mark"]], row["mark"], in_words(row["columns"]))
            for row in came.changed
        ],
        unchanged=len(came.unchanged),
        errors=came.errors,
        beside=[],
        undo={
            "made": versions(now[mark] for mark in came.created if mark in now),
            "seen": versions(now[mark] for mark in changed),
            "before": kept(
                pile_csv.write_cells(as_they_were[mark] for mark in changed) if changed else ""
            ),
        },
    )


def numbers_of(rows: Iterable[SheetRow]) -> dict[str, int]:
    """The first row of each mark."""
    return {row.values["mark"]: row.number for row in reversed([*rows]) if "mark" in row.values}


def versions(rows: Iterable[Record]) -> str:
    """Rows by id and version: `12:1,13:1`."""
    return ",".join(f"{row.pk}:{row.version}" for row in rows)


def kept(sheet: str) -> str:
    """What is kept of changed rows; nothing when that is too much for a form."""
    return sheet if len(sheet) <= MOST_KEPT else ""


def in_words(columns: Iterable[Any]) -> str:
    return ", ".join(str(name).replace("_", " ") for name in columns)


SHEETS: Mapping[str, SheetOf] = {
    "tasks": SheetOf(
        "Tasks", "task", "tasks", Task, task_csv.COLUMNS, "a title and likely minutes",
        tasks_of, take_tasks,
    ),
    "timber": SheetOf(
        "Timber", "piece", "pieces", Piece, pile_csv.COLUMNS, "a mark and its three sizes",
        pile_of, take_pile,
    ),
}  # fmt: skip
