"""A sheet of tasks taken into the record: all of it or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from apps.property.models import Property
from apps.work import task_csv
from apps.work.models import LONGEST_TASK_MINUTES, Link, Task, WorkPackage
from apps.work.ready import usual_low_and_high
from apps.work.sheet_names import HouseNames, NotKnown, error, wrong
from apps.work.sheet_order import Order, Taken, refuse_older
from apps.work.sheet_problems import of_row
from apps.work.sheets import CellError, SheetRow, plain
from apps.work.task_csv import TaskAsRow
from renovation.errors import Problem

OWN_JOBS = "Jobs"
"""The package of tasks that name none."""
NEEDED = {
    "title": "Say what is to be done.",
    "likely_minutes": "Say how long it takes, such as 90, 2h or 1:30.",
}
NO_STATUS = "A sheet changes no status: start, finish or drop it on its page."
NAMED = ("room", "floor", "trade")
ABOUT_THE_ROW = frozenset({"id", "version", "after"})
ROWS = ("package", "room", "floor", "trade")
NO_COLUMNS = {"id", "version", "package", "package_kind", "status", "after", "tools"}

MOST_ERRORS = 100

Refuse = Callable[[Task, Mapping[str, Any]], None]


@dataclass(slots=True)
class TaskImport:
    """What came of a sheet: nothing was kept when there are errors or it was only tried."""

    dry_run: bool
    taken: list[Taken] = field(default_factory=list)
    packages: list[str] = field(default_factory=list)
    errors: list[CellError] = field(default_factory=list)

    def created(self) -> list[Taken]:
        return [one for one in self.taken if one.new]

    def changed(self) -> list[Taken]:
        return [one for one in self.taken if one.columns and not one.new]

    def unchanged(self) -> list[Taken]:
        return [one for one in self.taken if not one.columns and not one.new]


def as_rows(tasks: Iterable[Task]) -> list[TaskAsRow]:
    """The tasks as a sheet knows them, each with those that end before it starts."""
    rows = list(tasks)
    ties = Link.objects.filter(after__in=rows, kind=Link.Kind.FS).values_list("after", "before")
    before: dict[int, list[int]] = {}
    for after, first in ties:
        before.setdefault(after, []).append(first)
    return [as_row(task, before.get(task.pk, ())) for task in rows]


def as_row(task: Task, before: Iterable[int] = ()) -> TaskAsRow:
    plain_columns = {
        name: getattr(task, name) for name in task_csv.COLUMNS if name not in {*ROWS, *NO_COLUMNS}
    }
    named: dict[str, Any] = {
        name: "" if (row := getattr(task, name)) is None else str(row) for name in ROWS
    }
    return TaskAsRow(
        **plain_columns,
        **named,
        id=task.pk,
        version=task.version,
        package_kind=task.package.kind,
        status=task.status,
        tools=tuple(str(tool) for tool in task.tools.all()),
        after=tuple(before),
    )


def sheet_of(tasks: QuerySet[Task], *, house: Property) -> str:
    """The sheet of these tasks of a house."""
    whole = tasks.select_related("package", "room", "floor", "trade").prefetch_related("tools")
    titles = dict(Task.objects.filter(package__property=house).values_list("pk", "title"))
    zone = ZoneInfo(house.timezone)
    return task_csv.write_tasks(as_rows(whole), titles=titles, zone=zone)


def let_all(task: Task, wanted: Mapping[str, Any]) -> None:
    """No further rule stands against a change."""


def bring_in(
    *, house: Property, rows: Sequence[SheetRow], dry_run: bool, refuse: Refuse = let_all
) -> TaskImport:
    """Add and change tasks as a sheet says.

    A row with an id changes that task of the house, in the cells that differ; one without adds a
    task. The `errors` of what is returned name what is wrong: then nothing was changed.

    Args:
        refuse: raises `Problem` for a change that a rule above this app stands against.
    """
    with transaction.atomic():
        # Two sheets at once could each be harmless and close a circle together.
        Property.objects.select_for_update().get(pk=house.pk)
        bringing = Bringing(house, TaskImport(dry_run), refuse)
        bringing.take(rows)
        transaction.set_rollback(dry_run or bool(bringing.found.errors))
    bringing.found.errors.sort(key=lambda error: error.row)
    return bringing.found


class Bringing:
    """One import under way: what the house has, and what came of the rows so far."""

    def __init__(self, house: Property, found: TaskImport, refuse: Refuse) -> None:
        self.found, self.refuse = found, refuse
        self.house = house
        self.zone = ZoneInfo(house.timezone)
        self.names = HouseNames(house)
        rows = Task.objects.filter(package__property=house)
        rows = rows.select_related("package", "room", "floor", "trade").prefetch_related("tools")
        self.there = {task.pk: task for task in rows}
        self.ties = list(Link.objects.filter(before__package__property=house))

    def take(self, rows: Sequence[SheetRow]) -> None:
        by_row: dict[int, Taken] = {}
        for row in rows:
            if len(self.found.errors) >= MOST_ERRORS:
                rest = "From here on nothing was looked at: mend the rows above first."
                self.found.errors.append(CellError(row.number, "", rest))
                return
            self.found.errors += row.errors
            try:
                if row.errors:
                    # What else is wrong with it is told at once, not one after the other.
                    self.columns_of(*self.said_of(row))
                else:
                    by_row[row.number] = self.take_row(row, by_row.values())
            except (Problem, ValidationError) as exc:
                self.found.errors += of_row(row.number, exc)
        self.found.taken = list(by_row.values())
        order = Order(rows, by_row, self.there, self.ties)
        self.found.errors += order.read()
        if not self.found.errors:
            order.write()

    def take_row(self, row: SheetRow, before: Iterable[Taken]) -> Taken:
        """Write one row's own columns.

        Raises:
            Problem, ValidationError: what is wrong with it, by column.
        """
        said, task = self.said_of(row)
        if task is None:
            return self.add(row, said)
        if twice := next((one for one in before if one.task is task), None):
            raise wrong("id", f"The task {task.pk} is in row {twice.row} already.")
        columns = self.columns_of(said, task)
        if columns:
            refuse_older(row, task)
            self.refuse(task, columns)
            tools = columns.pop("tools", None)
            self.write(task, columns)
            if tools is not None:
                task.tools.set(tools)
                columns["tools"] = tools
        return Taken(row.number, task, new=False, columns=list(columns))

    def said_of(self, row: SheetRow) -> tuple[dict[str, Any], Task | None]:
        """What a row says, and the task that it says it of: None for a new one.

        Raises:
            Problem: `invalid` at `/id`.
        """
        said = {name: value for name, value in row.values.items() if name not in ABOUT_THE_ROW}
        key = row.values.get("id")
        if key is None:
            return said, None
        task = self.there.get(key)
        if task is None:
            raise wrong("id", f"No task of this house has the id {key}; a new one has none.")
        shown = task_csv.as_cells(as_row(task), self.zone)
        return {name: said[name] for name in said if row.cells[name] != plain(shown[name])}, task

    def add(self, row: SheetRow, said: dict[str, Any]) -> Taken:
        likely = said.get("likely_minutes", 1)
        low, high = usual_low_and_high(likely)
        usual = {"low_minutes": low, "high_minutes": min(high, LONGEST_TASK_MINUTES)}
        missing = [error(name, sentence) for name, sentence in NEEDED.items() if not said.get(name)]
        columns = {**usual, **self.columns_of({"package": OWN_JOBS, **said}, None, missing)}
        tools = columns.pop("tools", ())
        task = Task()
        self.write(task, columns, new=True)
        if tools:
            task.tools.set(tools)
        return Taken(row.number, task, new=True)

    def columns_of(
        self, said: Mapping[str, Any], task: Task | None, errors: Sequence[dict[str, str]] = ()
    ) -> dict[str, Any]:
        """What a row says as columns of a task, with the rows that it names.

        Args:
            errors: what is known to be wrong with it.

        Raises:
            Problem: `invalid`, with all that is wrong.
        """
        columns = {name: value for name, value in said.items() if name not in NO_COLUMNS}
        told = list(errors)
        status = Task.Status.TO_DO if task is None else task.status
        if said.get("status", status) != status:
            told.append(error("status", NO_STATUS))
        looks: list[tuple[str, Callable[..., Any], tuple[Any, ...]]] = [
            (name, self.names.one, (name, said[name])) for name in NAMED if name in said
        ]
        if "tools" in said:
            looks.append(("tools", self.names.tools, (said["tools"],)))
        if "package" in said or "package_kind" in said:
            looks.append(("package", self.package_of, (said, task)))
        for name, look, asked in looks:
            try:
                columns[name] = look(*asked)
            except NotKnown as exc:
                told.append(error(exc.column or name, str(exc)))
        if told:
            raise Problem("invalid", told[0]["detail"], status_code=400, errors=told)
        if task is not None and columns.get("package") == task.package:
            del columns["package"]
        return columns

    def package_of(self, said: Mapping[str, Any], task: Task | None) -> WorkPackage:
        """The package that a row names; one that is not there is added.

        Raises:
            NotKnown: with a sentence, and the column it is about.
        """
        title, kind = said.get("package"), said.get("package_kind")
        if kind is not None and kind not in WorkPackage.Kind.values:
            kinds = ", ".join(WorkPackage.Kind.values)
            raise NotKnown(f"This is one of {kinds}.", "package_kind")
        package = self.names.package(title) if title else None
        if package is None and title is None and task is not None:
            package = task.package
        if package is not None:
            if kind not in {None, package.kind}:
                raise NotKnown(
                    f"“{package}” is {package.kind} already; a sheet does not change that.",
                    "package_kind",
                )
            return package
        package = WorkPackage(
            property=self.house, title=title or OWN_JOBS, kind=kind or WorkPackage.Kind.FLOOR
        )
        try:
            package.clean_fields(exclude=["property"])
        except ValidationError as exc:
            raise NotKnown(" ".join(exc.messages)) from exc
        package.save()
        self.names.add_package(package)
        self.found.packages.append(package.title)
        return package

    def write(self, task: Task, columns: Mapping[str, Any], *, new: bool = False) -> None:
        """Write the columns. The record's own rules are asked for words only once the database
        refused: asking them of every row first takes a minute for a sheet.

        Raises:
            ValidationError: what they say.
        """
        for name, value in columns.items():
            setattr(task, name, value)
        others = [one.name for one in Task._meta.fields if one.name not in columns]
        task.clean_fields(exclude=[*others, *ROWS])
        task.clean()
        try:
            with transaction.atomic():
                if new:
                    task.save()
                else:
                    task.change(**columns)
        except IntegrityError:
            task.validate_constraints()
            raise
