"""Reads that join the plan, the boards and the clock: holds, alerts, nights, the week."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from apps.floors.models import Board, BoardStay
from apps.planning import holding, holds, standing_alerts
from apps.planning.ground import HouseGround, read_ground, touched_by
from apps.planning.nights import Move, states_at
from apps.planning.services import current_plan
from apps.planning.spans import plan_spans, task_starts
from apps.property.models import Property
from apps.trades.models import AccessNeed, TemporaryMeasure
from apps.work.models import Finding, Task

NIGHT = time(22)


def board_holds(
    house: Property, *, now: datetime | None = None, board_ids: set[int] | None = None
) -> list[dict[str, Any]]:
    """Which boards are held open for whom, why, and until what."""

    now = now or timezone.now()
    zone = ZoneInfo(house.timezone)
    spans = plan_spans(current_plan(house))
    rows = list(
        AccessNeed.objects.filter(property=house)
        .select_related("trade", "task", "inspection__property", "visit__trade", "floor")
        .order_by("pk")
    )
    boards = list(
        Board.objects.filter(floor__property=house)
        .select_related("floor")
        .order_by("floor", "course", "pk")
    )
    lifts = list(
        Task.objects.filter(
            package__property=house,
            floor_action=Task.FloorAction.LIFT,
            status__in=["to_do", "doing"],
        )
    )
    ids = touched_by(
        boards,
        [
            *((("accessneed", row.pk), row) for row in rows),
            *((("task", task.pk), task) for task in lifts),
        ],
    )
    since = dict(
        BoardStay.objects.filter(board__floor__property=house, until__isnull=True).values_list(
            "board_id", "since"
        )
    )
    planned_lifts = [(t, spans[f"task:{t.pk}"][1]) for t in lifts if f"task:{t.pk}" in spans]
    found = holds.board_holds(
        holding.access_needs(rows, ids, spans, zone),
        holding.board_times(boards, since, planned_lifts, ids),
        as_of=now,
        zone=zone,
    )
    floor_of = {board.pk: board.floor for board in boards}
    return [
        {
            "board": hold.board_id,
            "mark": hold.mark,
            "floor": floor_of[hold.board_id].pk,
            "floor_name": floor_of[hold.board_id].name,
            "for": {"kind": hold.for_kind, "id": hold.for_id, "name": hold.for_name},
            "access_need": hold.need_id,
            "reason": hold.reason,
            "open_as": hold.open_as,
            "open_from": hold.open_from,
            "open_until": hold.open_until,
            "release": hold.release,
            "released": hold.released,
            "earliest_fix": hold.earliest_fix,
            "sentence": hold.sentence,
        }
        for hold in found
        if board_ids is None or hold.board_id in board_ids
    ]


def alerts(house: Property, *, now: datetime | None = None) -> list[dict[str, Any]]:
    """The current plan's alerts, and those that hold as things stand."""
    now = now or timezone.now()
    zone = ZoneInfo(house.timezone)
    plan = current_plan(house)
    ground = read_ground(house)
    starts = {pk: starts.astimezone(zone) for pk, starts in task_starts(plan).items()}
    measures = list(
        TemporaryMeasure.objects.filter(property=house, cleared_at__isnull=True)
        .select_related("clear_before_task")
        .order_by("pk")
    )
    undecided = list(Finding.objects.filter(property=house, decided_at=None).order_by("found_at"))
    standing = [
        *standing_alerts.unsupported_boards(ground),
        *standing_alerts.routes_cut(ground),
        *standing_alerts.measures(measures, now=now, planned_starts=starts),
        *standing_alerts.findings_undecided(undecided, now=now),
    ]
    planned = [{**alert, "from_plan": plan.pk} for alert in plan.alerts] if plan else []
    found = [
        *planned,
        *({**alert.as_dict(), "from_plan": None} for alert in standing),
    ]
    return sorted(found, key=lambda alert: ("stop", "act", "watch").index(alert["severity"]))


def nights(
    house: Property,
    *,
    first: date,
    days: int,
    now: datetime | None = None,
    ground: HouseGround | None = None,
    planned: bool = True,
) -> list[dict[str, Any]]:
    """Each household route on each night, with the boards as the plan leaves them.

    `planned` False: with the boards as they lie now, whatever is planned until then.
    `ground`: the house's, from whoever has read it already.

    Nights before today are left out. Equal nights are worked out once.
    """
    zone = ZoneInfo(house.timezone)
    now = now or timezone.now()
    ground = ground or read_ground(house)
    moves = planned_moves(house, ground) if planned else []
    states_now = {board.pk: board.state for board in ground.boards}
    known: dict[frozenset[tuple[int, str]], list[dict[str, Any]]] = {}
    found = []
    for on in (first + timedelta(days=n) for n in range(days)):
        if on < now.astimezone(zone).date():
            continue
        night = datetime.combine(on, NIGHT, zone)
        states = states_at(int(night.timestamp()), states_now, moves)  # type: ignore[arg-type]
        changed = frozenset(states.items())
        if changed not in known:
            known[changed] = [
                {
                    "route": {"kind": "householdroute", "id": r.route.pk, "name": str(r.route)},
                    "holds": r.holds,
                    "lay_loose": [ground.named(pk) for pk in r.bridge.lay_ids],
                    "deck_over": [ground.named(pk) for pk in r.bridge.deck_ids],
                    "sentence": r.bridge.sentence,
                }
                for r in ground.routes_at(states)
            ]
        found.append({"date": on, "routes": known[changed]})
    return found


def planned_moves(house: Property, ground: HouseGround) -> list[Move]:
    """Changes of boards that the current plan makes, at the seconds they happen."""
    plan = current_plan(house)
    if plan is None:
        return []
    stints = plan.stints.filter(task__floor_action__in=["lift", "fix"]).select_related("task")
    spans: dict[int, tuple[Task, datetime, datetime]] = {}
    for stint in stints:
        if stint.task is not None:
            _, starts, ends = spans.get(stint.task.pk, (None, stint.starts, stint.ends))
            spans[stint.task.pk] = (stint.task, min(starts, stint.starts), max(ends, stint.ends))
    boards = touched_by(ground.boards, [(pk, task) for pk, (task, _, _) in spans.items()])
    return [
        # The careful reading: boards may be up from the first stint of the lifting on, and
        # are down only after the last of the fixing.
        Move(int(starts.timestamp()), "up", boards[pk])
        if task.floor_action == Task.FloorAction.LIFT
        else Move(int(ends.timestamp()), "fixed", boards[pk])
        for pk, (task, starts, ends) in spans.items()
        if pk in boards
    ]


def local_today(house: Property, now: datetime) -> date:
    return now.astimezone(ZoneInfo(house.timezone)).date()
