"""Alerts that hold as things stand, plan or no plan: what is unsafe, unlooked-at or left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from apps.floors.models import Board
from apps.planning.alerts import Alert
from apps.planning.clock import say
from apps.planning.floor_order import say_marks
from apps.planning.ground import HouseGround
from apps.planning.loading.house import ref
from apps.planning.problem import Ref
from apps.trades.models import TemporaryMeasure
from apps.work.models import Finding, Task

KEEP_OUT = frozenset({Finding.Kind.ASBESTOS_SUSPECTED, Finding.Kind.GAS})
WHO_DECIDES = {
    Finding.Kind.ASBESTOS_SUSPECTED: "keep out, and have it sampled by a competent person",
    Finding.Kind.GAS: "keep out, and ring a registered gas engineer",
    Finding.Kind.ELECTRICAL: "leave it alone, and ask a registered electrician",
}
CLEAR_SOON = timedelta(days=2)


def unsupported_boards(ground: HouseGround) -> Iterator[Alert]:
    """Boards that are down and rest on fewer than two sound joists, or tip."""
    by_floor: dict[int, list[Board]] = defaultdict(list)
    for board in ground.boards:
        if board.state in {"fixed", "loose"} and not ground.support[board.pk].supported:
            by_floor[board.floor_id].append(board)
    for floor in ground.floors:
        if boards := by_floor.get(floor.pk):
            named = say_marks([b.pk for b in boards], {b.pk: b.mark for b in boards})
            first = ground.support[boards[0].pk].sentence
            yield Alert(
                "unsupported_boards", "stop",
                f"Do not step on {named} in {floor}: {first}",
                (ref(floor), *(ref(board) for board in boards)), {"boards": len(boards)},
            )  # fmt: skip


def routes_cut(ground: HouseGround) -> Iterator[Alert]:
    """Household routes that do not hold with the boards that are up now."""
    for night in ground.routes_at({}):
        if not night.holds:
            restorable = night.bridge.possible and not night.bridge.deck_ids
            laid = (*night.bridge.lay_ids, *night.bridge.deck_ids)
            boards = [board for board in ground.boards if board.pk in laid]
            yield Alert(
                "route_cut", "act" if restorable else "stop",
                f"{night.route}: {night.bridge.sentence}",
                (ref(night.route), *(ref(board) for board in boards)),
                {"lay": len(night.bridge.lay_ids), "deck": len(night.bridge.deck_ids)},
            )  # fmt: skip


def boards_trapped(ground: HouseGround, wanted: Mapping[Ref, frozenset[int]]) -> Iterator[Alert]:
    """Boards that someone wants to lift and that a partition stands on."""
    marks = {board.pk: board.mark for board in ground.boards}
    for about, boards in wanted.items():
        if caught := boards & ground.trapped:
            yield Alert(
                "board_trapped", "act",
                f"“{about.name}”: under a partition and not to be had up whole: "
                f"{say_marks(caught, marks)}. Cut back over a joist beside it.",
                (about,), {"boards": len(caught)},
            )  # fmt: skip


def measures(
    rows: list[TemporaryMeasure], *, now: datetime, planned_starts: Mapping[int, datetime]
) -> Iterator[Alert]:
    """Temporary measures nobody looked at in time, or still in place when they must be out."""
    for row in rows:
        if row.check_every_hours is not None:
            seen = row.last_checked_at or row.since
            overdue = now - seen - timedelta(hours=row.check_every_hours)
            if overdue > timedelta(0):
                hours = int(overdue / timedelta(hours=1))
                yield Alert(
                    "measure_unchecked", "act",
                    f"{row} is to be looked at every {row.check_every_hours} h and was last "
                    f"seen {ago(now - seen)} ago.",
                    (ref(row),), {"overdue_hours": hours},
                )  # fmt: skip
        task = row.clear_before_task
        if task is None:
            continue
        starts = planned_starts.get(task.pk)
        if task.status in {Task.Status.DOING, Task.Status.DONE}:
            yield Alert(
                "measure_left", "stop",
                f"{row} is still in place, though “{task}” has begun: clear it before anyone "
                "relies on what it keeps off or holds up.",
                (ref(row), ref(task)), {},
            )  # fmt: skip
        elif starts is not None and starts - now <= CLEAR_SOON:
            yield Alert(
                "measure_left", "act", f"Clear {row} before “{task}” ({say(starts)}).",
                (ref(row), ref(task)), {},
            )  # fmt: skip


def findings_undecided(rows: list[Finding], *, now: datetime) -> Iterator[Alert]:
    """What the house showed and nobody has decided on yet."""
    for row in rows:
        since = max(timedelta(0), now - row.found_at)
        kind = Finding.Kind(row.kind)
        what_now = WHO_DECIDES.get(kind, "decide what is done about it, and say so")
        yield Alert(
            "finding_undecided", "stop" if kind in KEEP_OUT else "act",
            f"“{row}” was found {ago(since)} ago and nothing is decided: {what_now}.",
            (ref(row),), {"days": since.days},
        )  # fmt: skip


def ago(span: timedelta) -> str:
    """ "5 h", "5 days": as long as someone would say it."""
    return f"{span.days} days" if span.days > 1 else f"{int(span / timedelta(hours=1))} h"
