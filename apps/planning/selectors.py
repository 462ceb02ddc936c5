"""Reads that join the plan, the boards and the clock: holds, alerts, nights, the week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from apps.floors.models import Board, BoardStay
from apps.planning import holding, holds, kept, standing_alerts
from apps.planning.ground import HouseGround, read_ground, touched_by, touched_in
from apps.planning.models import Plan
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
    lifts = list(
        Task.objects.filter(
            package__property=house,
            floor_action=Task.FloorAction.LIFT,
            status__in=["to_do", "doing"],
        )
    )
    ids = touched_in(
        house,
        [
            *((("accessneed", row.pk), row) for row in rows),
            *((("task", task.pk), task) for task in lifts),
        ],
    )
    wanted = frozenset[int]().union(*(ids.get(("accessneed", row.pk), ()) for row in rows))
    boards = list(
        Board.objects.filter(pk__in=wanted)
        .only("mark", "course", "state", "floor__name")
        .select_related("floor")
        .order_by("floor", "course", "pk")
    )
    since = dict(
        BoardStay.objects.filter(board__in=wanted, until__isnull=True).values_list(
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
    measures = list(
        TemporaryMeasure.objects.filter(property=house, cleared_at__isnull=True)
        .select_related("clear_before_task")
        .order_by("pk")
    )
    # All of a long plan's stints, read for measures alone.
    starts = task_starts(plan) if measures else {}
    starts = {pk: starts.astimezone(zone) for pk, starts in starts.items()}
    undecided = list(Finding.objects.filter(property=house, decided_at=None).order_by("found_at"))
    standing = [
        *standing_alerts.measures(measures, now=now, planned_starts=starts),
        *standing_alerts.findings_undecided(undecided, now=now),
    ]
    planned = [{**alert, "from_plan": plan.pk} for alert in plan.alerts] if plan else []
    found = [
        *planned,
        *({**alert, "from_plan": None} for alert in of_the_ground(house)),
        *({**alert.as_dict(), "from_plan": None} for alert in standing),
    ]
    return sorted(found, key=lambda alert: ("stop", "act", "watch").index(alert["severity"]))


def of_the_ground(house: Property) -> list[dict[str, Any]]:
    """Alerts of boards not to be stepped on and of ways that are cut now."""

    def work_out() -> list[dict[str, Any]]:
        ground = read_ground(house)
        return [
            alert.as_dict()
            for alert in (
                *standing_alerts.unsupported_boards(ground),
                *standing_alerts.routes_cut(ground),
            )
        ]

    found: list[dict[str, Any]] = kept.of_house(house, "ground-alerts", (), work_out)
    return found


def nights(
    house: Property,
    *,
    first: date,
    days: int,
    now: datetime | None = None,
    planned: bool = True,
    plan: Plan | None = None,
    lie: str | None = None,
) -> list[dict[str, Any]]:
    """Each household route on each night, with the boards as the plan leaves them.

    `planned` False: with the boards as they lie now, whatever is planned until then.
    `plan`, `lie`: the house's, from whoever has read them already.

    Nights before today are left out.
    """
    zone = ZoneInfo(house.timezone)
    now = now or timezone.now()
    today = now.astimezone(zone).date()
    dates = [on for on in (first + timedelta(days=n) for n in range(days)) if on >= today]
    if not dates:
        return []
    changes = planned_changes(plan or current_plan(house)) if planned else []
    about = (house.timezone, dates, [change.about for change in changes])
    found = kept.of_house(
        house, "nights", about, lambda: night_by_night(house, dates, zone, changes), lie=lie
    )
    return [{"date": on, "routes": routes} for on, routes in zip(dates, found, strict=True)]


def night_by_night(
    house: Property, dates: list[date], zone: ZoneInfo, changes: list[PlannedChange]
) -> list[list[dict[str, Any]]]:
    """The household routes of each night. Equal nights are worked out once."""
    ground = read_ground(house)
    moves = moves_of(ground, changes)
    states_now = {board.pk: board.state for board in ground.boards}
    known: dict[frozenset[tuple[int, str]], list[dict[str, Any]]] = {}
    found = []
    for on in dates:
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
        found.append(known[changed])
    return found


@dataclass(frozen=True)
class PlannedChange:
    """A lifting or fixing task as the plan places it."""

    task: Task
    starts: datetime
    ends: datetime

    @property
    def about(self) -> tuple[object, ...]:
        """All of it that says which boards change, how and when."""
        task = self.task
        return (
            task.pk, task.floor_action, task.floor_id, task.area, task.route, task.clearance_mm,
            self.starts, self.ends,
        )  # fmt: skip


def planned_changes(plan: Plan | None) -> list[PlannedChange]:
    """The current plan's lifting and fixing tasks, each from its first stint to its last."""
    if plan is None:
        return []
    stints = plan.stints.filter(task__floor_action__in=["lift", "fix"]).select_related("task")
    spans: dict[int, PlannedChange] = {}
    for stint in stints.order_by("pk"):
        if stint.task is not None:
            known = spans.get(stint.task.pk, PlannedChange(stint.task, stint.starts, stint.ends))
            spans[stint.task.pk] = PlannedChange(
                stint.task, min(known.starts, stint.starts), max(known.ends, stint.ends)
            )
    return list(spans.values())


def planned_moves(house: Property, ground: HouseGround) -> list[Move]:
    """Changes of boards that the current plan makes, at the seconds they happen."""
    return moves_of(ground, planned_changes(current_plan(house)))


def moves_of(ground: HouseGround, changes: list[PlannedChange]) -> list[Move]:
    boards = touched_by(ground.boards, [(change.task.pk, change.task) for change in changes])
    return [
        # The careful reading: boards may be up from the first stint of the lifting on, and
        # are down only after the last of the fixing.
        Move(int(change.starts.timestamp()), "up", boards[change.task.pk])
        if change.task.floor_action == Task.FloorAction.LIFT
        else Move(int(change.ends.timestamp()), "fixed", boards[change.task.pk])
        for change in changes
        if change.task.pk in boards
    ]


def local_today(house: Property, now: datetime) -> date:
    return now.astimezone(ZoneInfo(house.timezone)).date()
