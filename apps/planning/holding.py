"""From rows and planned times to board holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from apps.floors.models import Board
from apps.inspections.models import Inspection
from apps.planning.holds import BoardTimes, ForKind, OpenNeed, Until
from apps.trades.models import AccessNeed, Visit
from apps.work.models import Task, Trade

Span = tuple[datetime, datetime]
Touched = Mapping[tuple[str, int], frozenset[int]]


def access_needs(
    rows: Sequence[AccessNeed], touched: Touched, spans: Mapping[str, Span], zone: ZoneInfo
) -> list[OpenNeed]:
    """Every need with the boards it touches and the planned time of what releases it.

    Args:
        spans: planned start and end of `visit:…`, `task:…`, `inspection:…`.
    """
    return [
        open_need(row, touched.get(("accessneed", row.pk), frozenset()), spans, zone)
        for row in rows
    ]


def who_of(row: AccessNeed) -> tuple[ForKind, Trade | Task | Inspection]:
    """Who needs it; the database holds that it is exactly one."""
    if row.trade is not None:
        return "trade", row.trade
    if row.task is not None:
        return "task", row.task
    assert row.inspection is not None  # nosec B101 # it narrows a type
    return "inspection", row.inspection


def open_need(
    row: AccessNeed, boards: frozenset[int], spans: Mapping[str, Span], zone: ZoneInfo
) -> OpenNeed:
    kind, who = who_of(row)
    until: Until = row.until  # type: ignore[assignment]
    releasing = {
        "visit_done": (f"visit:{row.visit_id}", row.visit),
        "task_done": (f"task:{row.task_id}", row.task),
        "signed_off": (f"inspection:{row.inspection_id}", row.inspection),
        "date": (f"visit:{row.visit_id}", row.visit),
    }[until]
    starts, ends = spans.get(releasing[0]) or agreed(row.visit)
    over_at = None
    if until == "date" and row.until_date is not None:
        over_at = datetime.combine(row.until_date + timedelta(days=1), time(0), zone)
    return OpenNeed(
        id=row.pk,
        for_kind=kind,
        for_id=who.pk,
        for_name=str(who),
        purpose=row.purpose,
        board_ids=tuple(sorted(boards)),
        open_as="up" if row.open_as == AccessNeed.OpenAs.UP else "unfixed",
        until=until,
        until_name=str(releasing[1] or ""),
        until_at=None if over_at is None else over_at.astimezone(UTC),
        released_at=row.released_at,
        starts=starts,
        ends=ends,
        floor=str(row.floor),
    )


def agreed(visit: Visit | None) -> tuple[datetime | None, datetime | None]:
    """A visit's own times, for when there is no plan."""
    return (visit.starts, visit.ends) if visit else (None, None)


def work_needs(
    tasks: Sequence[Task], touched: Touched, spans: Mapping[str, Span]
) -> list[OpenNeed]:
    """The crew's own work in the open floor, which needs its boards up like anyone's."""
    found = []
    for task in tasks:
        boards = touched.get(("task", task.pk), frozenset())
        if task.floor_action == Task.FloorAction.WORK_OPEN and boards:
            starts, ends = spans.get(f"task:{task.pk}", (None, None))
            found.append(
                OpenNeed(
                    id=0,
                    for_kind="task",
                    for_id=task.pk,
                    for_name=task.title,
                    purpose=task.title,
                    board_ids=tuple(sorted(boards)),
                    open_as="up",
                    until="task_done",
                    until_name=task.title,
                    starts=starts,
                    ends=ends,
                    floor=str(task.floor or ""),
                )
            )
    return found


def board_times(
    boards: Sequence[Board],
    since: Mapping[int, datetime],
    lifts: Sequence[tuple[Task, datetime]],
    touched: Touched,
) -> dict[int, BoardTimes]:
    """Each board's state, since when, and when the plan lifts it next.

    Args:
        lifts: tasks that lift, each with the planned end of its lifting.
    """
    lifted: dict[int, datetime] = {}
    for task, at in lifts:
        for board in touched.get(("task", task.pk), frozenset()):
            lifted[board] = min(at, lifted.get(board, at))
    return {
        board.pk: BoardTimes(
            board_id=board.pk,
            mark=board.mark,
            state=board.state,  # type: ignore[arg-type]
            since=since.get(board.pk),
            lifted_at=lifted.get(board.pk),
        )
        for board in boards
    }
