"""The record's parts, read from the database as plain values."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db.models import Model, Sum

from apps.floors.models import Board, BoardStay, Floor, Joist
from apps.inspections.completion.record import name_in_bundle
from apps.inspections.entries import entry_of
from apps.inspections.models import (
    Certificate,
    Condition,
    Deviation,
    Evidence,
    Inspection,
    SignOff,
)
from apps.property.models import Property, Room, Storey
from apps.work.models import Finding, Task, TimeEntry, Trade, WorkPackage

HOUSE = ("id", "name", "address", "built_year", "timezone", "country", "subdivision")
FLOOR = (
    "id", "name", "outline", "construction", "boards_run_deg", "board_cover_width_mm",
    "board_thickness_mm", "board_edge", "joist_centres_mm", "joist_breadth_mm",
    "joist_depth_mm", "strength_class", "void_depth_mm",
)  # fmt: skip
JOIST = (
    "id", "mark", "line", "breadth_mm", "depth_mm", "strength_class", "condition", "bearings",
    "decayed", "cuts",
)  # fmt: skip
TASK = (
    "id", "title", "note", "status", "room_id", "floor_id", "trade_id", "floor_action", "area",
    "route", "started_at", "finished_at",
)  # fmt: skip
FINDING = (
    "id",
    "kind",
    "title",
    "note",
    "room_id",
    "floor_id",
    "found_at",
    "decision",
    "decided_at",
)
INSPECTION = (
    "id", "title", "by", "state", "floor_id", "area", "notice_working_days", "notified_at",
    "booked_starts", "booked_ends", "reference", "note", "source", "required_evidence",
)  # fmt: skip
CONDITION = ("id", "sign_off_id", "text", "due_on", "cleared_at", "cleared_note")
DEVIATION = (
    "id", "floor_id", "joist_id", "specified", "built", "why", "check_result", "state",
    "put_at", "decided_at", "decided_by_id", "decided_letter_id",
)  # fmt: skip
CERTIFICATE = ("id", "craft", "title", "trade_id", "due_on", "received_on", "note", "source")
EVIDENCE = (
    "id", "title", "kind", "content_type", "byte_size", "sha256", "taken_at", "width_px",
    "height_px", "uploaded_at", "requirement", "inspection_id", "condition_id", "deviation_id",
    "certificate_id", "finding_id",
)  # fmt: skip


def plain(value: Any) -> Any:
    """A value as JSON has it; instants in UTC to the microsecond, as they were stored."""
    return value.isoformat() if isinstance(value, date | datetime) else value


def columns(row: Model, names: Iterable[str]) -> dict[str, Any]:
    """Some columns of a row; a foreign key loses its `_id`, as in the API."""
    return {
        name.removesuffix("_id") if name != "id" else name: plain(getattr(row, name))
        for name in names
    }


def read_parts(house: Property) -> dict[str, Any]:
    """What the database tells of a house: the record but for what is worked out from it."""
    return {
        "house": columns(house, HOUSE),
        "members": [
            {"name": member.user.get_full_name() or member.user.get_username(),
             "role": member.role}
            for member in house.members.select_related("user").order_by("pk")
        ],
        "trades": [
            columns(trade, ("id", "craft", "name"))
            for trade in Trade.objects.filter(property=house).order_by("pk")
        ],
        "storeys": [
            columns(storey, ("id", "name", "level"))
            for storey in Storey.objects.filter(property=house).order_by("level", "pk")
        ],
        "rooms": [
            columns(room, ("id", "storey_id", "name", "use", "outline"))
            for room in Room.objects.filter(property=house).order_by("storey__level", "pk")
        ],
        "floors": read_floors(house),
        "board_moves": read_moves(house),
        "packages": read_packages(house),
        "findings": [
            columns(finding, FINDING)
            for finding in Finding.objects.filter(property=house).order_by("found_at", "pk")
        ],
        "inspections": read_inspections(house),
        "sign_offs": [
            # The entry is what was hashed, so that anyone can hash it again.
            {"id": row.pk, "entry": entry_of(row), "digest": row.digest}
            for row in SignOff.objects.filter(property=house)
            .select_related("supersedes")
            .order_by("number")
        ],
        "conditions": read_conditions(house),
        "deviations": read_deviations(house),
        "certificates": [
            columns(row, CERTIFICATE)
            for row in Certificate.objects.filter(property=house).order_by("pk")
        ],
        "evidence": [
            {
                **columns(row, EVIDENCE),
                "uploaded_by": row.uploaded_by.get_username(),
                "file": name_in_bundle(row.pk, row.sha256, row.content_type),
            }
            for row in Evidence.objects.filter(property=house)
            .select_related("uploaded_by")
            .order_by("pk")
        ],
    }  # fmt: skip


def read_floors(house: Property) -> list[dict[str, Any]]:
    joists: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for joist in Joist.objects.filter(floor__property=house).order_by("pk"):
        joists[joist.floor_id].append(columns(joist, JOIST))
    lifted = set(
        BoardStay.objects.filter(
            board__floor__property=house, move__to_state=Board.State.UP
        ).values_list("board_id", flat=True)
    )
    boards: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for board in Board.objects.filter(floor__property=house).order_by("course", "pk"):
        boards[board.floor_id].append(
            {
                **columns(board, ("id", "mark", "course", "outline", "state")),
                "was_lifted": board.pk in lifted,
            }
        )
    return [
        {
            **columns(floor, (*FLOOR, "storey_id")),
            "joists": joists[floor.pk],
            "boards": boards[floor.pk],
        }
        for floor in Floor.objects.filter(property=house).order_by("storey__level", "pk")
    ]


def read_moves(house: Property) -> list[dict[str, Any]]:
    """Every board move in order, with the marks of its boards."""
    moves: dict[int, dict[str, Any]] = {}
    stays = (
        BoardStay.objects.filter(board__floor__property=house)
        .select_related("board", "move__moved_by")
        .order_by("move__moved_at", "move_id", "board__course", "board_id")
    )
    for stay in stays:
        move = moves.setdefault(
            stay.move_id,
            {
                **columns(
                    stay.move, ("id", "floor_id", "to_state", "moved_at", "note", "forced_reason")
                ),
                "moved_by": stay.move.moved_by.get_username(),
                "boards": [],
            },
        )
        move["boards"].append(stay.board.mark)
    return list(moves.values())


def read_packages(house: Property) -> list[dict[str, Any]]:
    minutes = dict(
        TimeEntry.objects.filter(task__package__property=house)
        .values_list("task_id")
        .annotate(Sum("minutes"))
        .order_by("task_id")
    )
    tasks: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for task in Task.objects.filter(package__property=house).order_by("pk"):
        tasks[task.package_id].append(
            {**columns(task, TASK), "spent_minutes": minutes.get(task.pk, 0)}
        )
    return [
        {**columns(package, ("id", "title", "kind", "note")), "tasks": tasks[package.pk]}
        for package in WorkPackage.objects.filter(property=house).order_by("pk")
    ]


def read_inspections(house: Property) -> list[dict[str, Any]]:
    rows = Inspection.objects.filter(property=house).prefetch_related("rooms", "looks_at", "blocks")
    return [
        {
            **columns(row, INSPECTION),
            "rooms": sorted(room.pk for room in row.rooms.all()),
            "looks_at": sorted(task.pk for task in row.looks_at.all()),
            "blocks": sorted(task.pk for task in row.blocks.all()),
        }
        for row in rows.order_by("pk")
    ]


def read_conditions(house: Property) -> list[dict[str, Any]]:
    rows = Condition.objects.filter(sign_off__property=house).select_related("cleared_by")
    return [
        {
            **columns(row, CONDITION),
            "cleared_by": row.cleared_by.get_username() if row.cleared_by else None,
            "blocks": sorted(task.pk for task in row.blocks.all()),
        }
        for row in rows.prefetch_related("blocks").order_by("sign_off__number", "pk")
    ]


def read_deviations(house: Property) -> list[dict[str, Any]]:
    rows = Deviation.objects.filter(property=house).select_related("joist")
    return [
        {**columns(row, DEVIATION), "joist_mark": row.joist.mark if row.joist else None}
        for row in rows.order_by("pk")
    ]
