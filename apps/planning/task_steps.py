"""Starting and finishing tasks that touch boards: nothing unseen is covered, nothing held is
fixed, and the boards a task lifted or fixed are noted as moved in the same breath."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from apps.floors import selectors as floors
from apps.floors import services as floor_services
from apps.floors.models import Board
from apps.inspections import services as inspection_services
from apps.inspections.models import SIGNED_OFF, Inspection
from apps.inspections.services import Override
from apps.planning.ground import touched_by
from apps.planning.services import refuse_if_held
from apps.trades import services as trade_services
from apps.work.models import Task

FLOOR_MOVES = {Task.FloorAction.LIFT: Board.State.UP, Task.FloorAction.FIX: Board.State.FIXED}


@transaction.atomic
def start_task(*, task: Task, at: datetime, override: Override | None = None) -> Task:
    """Begin a task.

    Raises:
        Problem: `hold-point-open` when it would cover what an inspection has yet to see and no
            owner decides otherwise.
    """
    return inspection_services.start_task(
        task=task, at=at, covers=covered_by(task), override=override
    )


@transaction.atomic
def finish_task(
    *,
    task: Task,
    at: datetime,
    minutes: int | None = None,
    noted_by: Any,
    override: Override | None = None,
) -> Task:
    """End a task; what it lifted is up from then on, what it fixed is fixed.

    Boards under a partition are left as they are: they did not come up whole. Undo the move
    with the board log; reopening the task does not put boards back.

    Raises:
        Problem: `hold-point-open`, or `board-held` when it fixes what someone needs open.
    """
    done = trade_services.finish_task(
        task=task,
        at=at,
        minutes=minutes,
        noted_by=noted_by,
        covers=covered_by(task),
        override=override,
    )
    boards, to_state = boards_moved_by(done)
    if boards:
        refuse_if_held(boards=boards, to_state=to_state, forced_reason="")
        floor_services.move_boards(
            boards=boards,
            to_state=to_state,
            moved_at=at,
            note=f"{task} was finished.",
            moved_by=noted_by,
        )
    return done


def boards_moved_by(task: Task) -> tuple[list[Board], str]:
    """The boards that a task's end puts into another state, and which."""
    to_state = FLOOR_MOVES.get(Task.FloorAction(task.floor_action))
    if to_state is None or task.floor is None:
        return [], ""
    boards = list(task.floor.boards.select_related("floor__property"))
    touched = touched_by(boards, [(task.pk, task)])[task.pk]
    stay = {to_state, Board.State.MISSING} if to_state == Board.State.UP else {to_state}
    caught = floors.trapped_ids(task.floor) if to_state == Board.State.UP else frozenset()
    return [
        board
        for board in boards
        if board.pk in touched and board.state not in stay and board.pk not in caught
    ], to_state


def covered_by(task: Task) -> list[Inspection]:
    """The inspections under whose area a fixing task closes boards. One that looks at the task's
    own result is not covered by it."""
    if task.floor_action != Task.FloorAction.FIX or task.floor is None:
        return []
    rows = list(
        Inspection.objects.filter(floor=task.floor, area__isnull=False)
        .filter(~Q(state__in=SIGNED_OFF) | ~Q(required_evidence=[]))
        .exclude(looks_at=task)
        .order_by("pk")
    )
    if not rows:
        return []
    places: list[tuple[int, Any]] = [(0, task), *((row.pk, row) for row in rows)]
    touched = touched_by(task.floor.boards.all(), places)
    return [row for row in rows if touched[row.pk] & touched[0]]
