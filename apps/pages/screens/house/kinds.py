"""The kinds of rows that the house's pages write: each with the API's own serializer and rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from apps.floors.api.floors import FloorSerializer
from apps.floors.models import Board, Floor, Joist
from apps.inspections.api.inspections import InspectionSerializer
from apps.inspections.models import Inspection
from apps.pages.screens.house.writing import Kind
from apps.planning.api.people import PersonSerializer, WorkingTimeSerializer
from apps.planning.models import Person, WorkingTime
from apps.property.api import (
    DoorwaySerializer,
    HouseholdRouteSerializer,
    PropertySerializer,
    RoomSerializer,
    StoreySerializer,
)
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey
from apps.trades import services as trade_services
from apps.trades.api.access import AccessNeedSerializer
from apps.trades.api.visits import TradeSerializer, VisitSerializer
from apps.trades.models import AccessNeed, Visit
from apps.work import services as work_services
from apps.work.api.links import LinkSerializer
from apps.work.api.packages import WorkPackageSerializer
from apps.work.api.tasks import TaskSerializer
from apps.work.models import Link, Task, Trade, WorkPackage


def keep_its_visits(row: Task | None, wanted: Mapping[str, Any]) -> None:
    if row is not None and "trade" in wanted:
        trade_services.refuse_leaving_visits(task=row, trade=wanted["trade"])


def no_ring(row: Link | None, wanted: Mapping[str, Any]) -> None:
    work_services.refuse_circle(
        before=wanted.get("before") or (row and row.before),  # type: ignore[arg-type]
        after=wanted.get("after") or (row and row.after),  # type: ignore[arg-type]
        kind=wanted.get("kind") or (row.kind if row else Link.Kind.FS),
        link_id=row.pk if row else None,
    )


OF_TASK = (Link, Task.tools.through)
OF_LOOK = (Inspection.rooms.through, Inspection.looks_at.through, Inspection.blocks.through)
OF_VISIT = (Visit.tasks.through, Visit.certificates.through)
OF_PACKAGE = (Task, *OF_TASK)

KINDS: dict[str, Kind] = {
    "house": Kind(Property, PropertySerializer, "house-about"),
    "storey": Kind(Storey, StoreySerializer, "house-storeys"),
    "room": Kind(Room, RoomSerializer, "house-rooms"),
    "doorway": Kind(Doorway, DoorwaySerializer, "house-doorways"),
    "route": Kind(HouseholdRoute, HouseholdRouteSerializer, "house-routes"),
    "floor": Kind(Floor, FloorSerializer, "house-floors", along=(Board, Joist)),
    "person": Kind(Person, PersonSerializer, "house-hours"),
    "hours": Kind(WorkingTime, WorkingTimeSerializer, "house-hours"),
    "task": Kind(Task, TaskSerializer, "house-tasks", rule=keep_its_visits, along=OF_TASK),
    "link": Kind(Link, LinkSerializer, "house-tasks", rule=no_ring, stays=True),
    "package": Kind(WorkPackage, WorkPackageSerializer, "house-ready", along=OF_PACKAGE),
    "trade": Kind(Trade, TradeSerializer, "house-trades"),
    "visit": Kind(Visit, VisitSerializer, "house-visits", along=OF_VISIT),
    "need": Kind(AccessNeed, AccessNeedSerializer, "house-visits", stays=True),
    "look": Kind(Inspection, InspectionSerializer, "looks", along=OF_LOOK),
}
