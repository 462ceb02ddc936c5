"""Which tasks a sheet says come before which, once every row has its task."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from apps.work import links, task_csv
from apps.work.models import Link, Task
from apps.work.sheet_names import NotKnown, wrong
from apps.work.sheet_problems import of_row
from apps.work.sheets import CellError, SheetRow
from apps.work.task_csv import Before
from renovation.errors import Problem

MOST_CIRCLES = 10


@dataclass(frozen=True, slots=True)
class Taken:
    """A row of the sheet and the task that it is, with the columns it changed."""

    row: int
    task: Task
    new: bool
    columns: list[str] = field(default_factory=list)


class Order:
    """What the column `after` of a sheet changes: links from finish to start.

    Args:
        by_row: the rows that have their task.
        there: the tasks that the house had before, by id.
        ties: all links of the house.
    """

    def __init__(
        self,
        rows: Sequence[SheetRow],
        by_row: Mapping[int, Taken],
        there: Mapping[int, Task],
        ties: Sequence[Link],
    ) -> None:
        self.rows, self.by_row, self.there, self.ties = rows, by_row, there, ties
        self.titles = task_csv.titles_in(rows)
        self.numbers = {row.number for row in rows}
        self.added: dict[links.Tie, int] = {}
        self.dropped: set[int] = set()

    def read(self) -> list[CellError]:
        """Find what changes, note it at the rows, and tell what is wrong."""
        kept: dict[int, dict[int, int]] = {}
        for tie in self.ties:
            if tie.kind == Link.Kind.FS:
                kept.setdefault(tie.after_id, {})[tie.before_id] = tie.pk
        errors: list[CellError] = []
        for row in self.rows:
            taken = self.by_row.get(row.number)
            if taken is not None and "after" in row.values:
                errors += self.read_row(row, taken, kept.get(taken.task.pk, {}))
        return errors or list(self.circles())

    def read_row(self, row: SheetRow, taken: Taken, kept: Mapping[int, int]) -> Iterator[CellError]:
        wanted: set[int] = set()
        for name in row.values["after"]:
            try:
                before = self.before(name)
            except NotKnown as exc:
                yield CellError(row.number, "after", str(exc))
                continue
            if before == taken.task.pk:
                yield CellError(row.number, "after", "A task cannot wait for itself.")
            elif before is not None:
                wanted.add(before)
        if wanted == set(kept):
            return
        if not taken.new and not taken.columns:
            try:
                refuse_older(row, taken.task)
            except Problem as exc:
                yield from of_row(row.number, exc)
        taken.columns.append("after")
        self.dropped |= {kept[key] for key in set(kept) - wanted}
        for key in sorted(wanted - set(kept)):
            self.added[links.Tie(key, taken.task.pk)] = row.number

    def write(self) -> None:
        Link.objects.filter(pk__in=self.dropped).delete()
        Link.objects.bulk_create(
            Link(before_id=tie.before, after_id=tie.after) for tie in self.added
        )

    def before(self, name: Before) -> int | None:
        """The id of a task that is named; None for a row that has errors of its own.

        Raises:
            NotKnown: with a sentence.
        """
        if name.how == "id":
            if name.number not in self.there:
                raise NotKnown(f"No task of this house has the id {name.number}.")
            return name.number
        row = name.number
        if name.how == "title":
            found = self.rows_called(name.title)
            if not found:
                return self.task_called(name.title)
            if len(found) > 1:
                named = ", ".join(f"row {number}" for number in found[:5])
                raise NotKnown(f"More than one row is called “{name.title}”; say which: {named}.")
            row = found[0]
        if row not in self.numbers:
            raise NotKnown(f"There is no row {row} with a task in this sheet.")
        return self.by_row[row].task.pk if row in self.by_row else None

    def rows_called(self, title: str) -> list[int]:
        if title in self.titles:
            return self.titles[title]
        folded = title.casefold()
        return [n for one, rows in self.titles.items() if one.casefold() == folded for n in rows]

    def task_called(self, title: str) -> int:
        exact = [key for key, task in self.there.items() if task.title == title]
        folded = title.casefold()
        found = exact or [k for k, task in self.there.items() if task.title.casefold() == folded]
        if not found:
            raise NotKnown(f"No task is called “{title}”.")
        if len(found) > 1:
            named = ", ".join(f"id {key}" for key in found[:5])
            raise NotKnown(f"More than one task is called “{title}”; say which: {named}.")
        return found[0]

    def circles(self) -> Iterator[CellError]:
        kept = [
            links.Tie(tie.before_id, tie.after_id, tie.kind)
            for tie in self.ties
            if tie.pk not in self.dropped
        ]
        titles = {task.pk: task.title for task in self.there.values()}
        titles |= {one.task.pk: one.task.title for one in self.by_row.values()}
        for tie, circle in islice(links.circles_closed_by(self.added, kept), MOST_CIRCLES):
            way = " → ".join(titles[key] for key in (*circle, circle[0]))
            yield CellError(self.added[tie], "after", f"These would wait for each other: {way}.")


def refuse_older(row: SheetRow, task: Task) -> None:
    """Refuse a row that was written when the task was another."""
    seen = row.values.get("version")
    if seen is not None and seen != task.version:
        raise wrong(
            "version",
            f"“{task}” changed since the sheet was made (version {task.version} now); look at it "
            "again, or leave this cell empty.",
        )
