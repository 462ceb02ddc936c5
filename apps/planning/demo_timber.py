"""The demo's pile: pieces with their defects and readings, needs, what is sold, and a plan.

The plan is worked out when the house is loaded, as any other is, and applied.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Protocol

from apps.floors.models import Floor, Joist
from apps.property.models import Property
from apps.timber.models import CuttingPlan, MoistureReading, Need, StockLength
from apps.timber.services import applying, cutting, pieces
from apps.work.models import Task

# Who assumes the strength class of an old joist in the demo, and on what ground.
ASSUMED_BY = "Mar Penhale"
ASSUMED_WHY = "Slow-grown, straight, knots under a third of the face; undocumented, so no better."
INSTRUMENT = "pin meter, kitchen temperature"
SECONDS = 5.0


class Told(Protocol):
    """What reads references and dates of the files."""

    house: Property

    def on(self, told: Mapping[str, Any]) -> date: ...
    def at(self, told: Mapping[str, Any]) -> datetime: ...
    def found(self, model: Any, name: str) -> Any: ...


def load_timber(reader: Told, told: Mapping[str, Any]) -> None:
    """Every row of the pile's lists, then the plan."""
    for row in told["timber_pieces"]:
        add_piece(reader, row)
    for row in told["stock_lengths"]:
        StockLength.objects.create(property=reader.house, **spelled(row))
    for row in told["timber_needs"]:
        add_need(reader, row)
    for row in told["cutting_plans"]:
        apply_plan(reader, row)


def spelled(told: Mapping[str, Any]) -> dict[str, Any]:
    """A row with its section written out."""
    breadth_mm, depth_mm = told["section"]
    row = {name: value for name, value in told.items() if name != "section"}
    return {**row, "breadth_mm": breadth_mm, "depth_mm": depth_mm}


def add_piece(reader: Told, told: Mapping[str, Any]) -> None:
    """A defect is `[kind, from, to, severity, "drawn"]`, a reading `[day, pct, at]` at ten."""
    row = spelled(told)
    defects, readings = row.pop("defects"), row.pop("readings")
    if strength := row.pop("class", ""):
        row |= {"strength_class": strength, "graded_by": ASSUMED_BY, "grade_why": ASSUMED_WHY}
    names = ("kind", "from_mm", "to_mm", "severity", "drawn")
    piece = pieces.add_piece(
        property=reader.house,
        species="redwood",
        defects=[
            {**dict(zip(names, defect, strict=False)), "drawn": defect[4:] == ["drawn"]}
            for defect in defects
        ],
        **row,
    )
    MoistureReading.objects.bulk_create(
        MoistureReading(
            piece=piece, measured_pct=pct, at_mm=at_mm, instrument=INSTRUMENT,
            read_at=reader.at({"day": day, "time": "10:00"}),
        )
        for day, pct, at_mm in readings
    )  # fmt: skip


def add_need(reader: Told, told: Mapping[str, Any]) -> None:
    row = spelled(told)
    if "floor" in row:
        row["floor"] = reader.found(Floor, row["floor"])
    if "joist" in row:
        row["joist"] = Joist.objects.get(floor=row["floor"], mark=row["joist"])
    if "task" in row:
        row["task"] = reader.found(Task, row["task"])
    if "needed_by" in row:
        row["needed_by"] = reader.on(row["needed_by"])
    need = Need(property=reader.house, **row)
    need.clean()
    need.save()


def apply_plan(reader: Told, told: Mapping[str, Any]) -> None:
    plan = CuttingPlan.objects.create(
        property=reader.house, as_of=reader.on(told["as_of"]), seconds=SECONDS
    )
    cutting.solve(plan_id=plan.pk)
    plan.refresh_from_db()
    applying.apply_plan(
        plan=plan, at=reader.at(told["applied_at"]), expected_on=reader.on(told["expected_on"])
    )
