"""The pages of the house screen, under the headings of its first one."""

from __future__ import annotations

from apps.pages.screens.house import (
    days,
    doorway_edits,
    doorways,
    floors,
    people,
    quiet,
    ready,
    rooms,
    storeys,
    tasks,
    trades,
    visits,
)
from apps.pages.screens.house.adding import Part
from apps.pages.screens.house.editing import Edit
from apps.pages.screens.house.plan import plans

PARTS: tuple[Part, ...] = (
    Part(
        "rooms", "Rooms", "Inside sizes, one room after the other.", "Add the room",
        rooms.NewRoom, rooms.room_lines, rooms.save_room, "room", edited=True, more=plans,
        also={"outline": "size", "storey": "level"}, preview="house-room-preview",
    ),
    Part(
        "storeys", "Storeys", "A storey is also noted with its first room.", "Add the storey",
        storeys.StoreyForm, storeys.storey_lines, storeys.save_storey, "storey", edited=True,
    ),
    Part(
        "doorways", "Doorways", "Tap a wall, or choose it below.", "Add the doorway",
        doorways.NewDoorway, doorways.doorway_lines, doorways.save_doorway, "doorway",
        edited=True, more=plans, plan_first=True, also={"line": "along"},
    ),
    Part(
        "floors", "Floors", "Joists and boards are drawn before anything is kept.",
        "Keep this floor", floors.NewFloor, floors.floor_lines, floors.save_floor, "floor",
        edited=True, preview="house-preview",
    ),
    Part(
        "routes", "Ways that stay walkable",
        "From the bed to the bath, say; one after the other, as many as you need.", "Add the way",
        doorways.RouteForm, doorways.route_lines, doorways.save_route, "route", edited=True,
    ),
    Part(
        "tasks", "Tasks", "One job at a time; how long it takes is put right as you go.",
        "Add the task", tasks.TaskForm, tasks.task_lines, tasks.save_task, "task",
        edited=True, list_first=True, template="pages/house/tasks.html",
    ),
    Part(
        "ready", "Ready packages", "The usual tasks of a small job, in their order.",
        "Add the package", ready.NewReady, ready.package_lines, ready.save_ready, "package",
        also={"area": "size"}, more=ready.preview, template="pages/house/ready.html",
    ),
    Part(
        "hours", "When you have time", "The usual week of whoever works here.", "Add these hours",
        people.NewHours, people.hours_lines, people.save_hours, "hours", edited=True,
    ),
    Part(
        "days", "Days that differ", "A day off, or more time on one date.", "Note this day",
        days.NewDay, days.day_lines, days.save_day, "day", template="pages/house/days.html",
    ),
    Part(
        "quiet", "Loud and outdoor hours",
        "When loud work and work outdoors may be planned. With no hours here, any hour will do; "
        "your council publishes its own.", "Add these hours",
        quiet.NewQuiet, quiet.quiet_lines, quiet.save_quiet, "quiet",
        also={"loud_work_hours": "ends", "outdoor_work_hours": "ends"},
    ),
    Part(
        "trades", "Trades", "Who comes from outside.", "Add the trade",
        trades.TradeForm, trades.trade_lines, trades.save_trade, "trade", edited=True,
    ),
    Part(
        "visits", "Visits", "What you want them for, and when: agreed, or left to the plan.",
        "Add the visit", visits.NewVisit, visits.visit_lines, visits.save_visit, "visit",
        edited=True, list_first=True, also={"ends": "until"},
    ),
)  # fmt: skip


EDITS: tuple[Edit, ...] = (
    Edit(
        "house", "house-about", "house", "To the house", storeys.AboutForm,
        storeys.about_as_typed, removable=False,
    ),
    Edit(
        "room", "house-rooms-one", "house-rooms", "To the rooms", rooms.ChangedRoom,
        rooms.as_typed, rooms.room_said, also={"outline": "size", "storey": "level"},
        preview="house-room-preview",
    ),
    Edit(
        "storey", "house-storeys-one", "house-storeys", "To the storeys", storeys.StoreyForm,
        storeys.storey_as_typed,
    ),
    Edit(
        "doorway", "house-doorways-one", "house-doorways", "To the doorways",
        doorway_edits.ChangedDoorway, doorway_edits.as_typed, doorway_edits.doorway_said,
        also={"line": "along", "room_a": "wall", "room_b": "beyond"},
        template="pages/house/doorway.html",
    ),
    Edit(
        "floor", "house-floors-one", "house-floors", "To the floors", floors.ChangedFloor,
        floors.floor_as_typed,
    ),
    Edit(
        "route", "house-routes-one", "house-routes", "To the ways", doorways.RouteForm,
        doorways.route_as_typed,
    ),
    Edit(
        "task", "house-tasks-one", "house-tasks", "To the tasks", tasks.TaskForm,
        tasks.task_as_typed, template="pages/house/task.html", more=tasks.told_of_task,
    ),
    Edit(
        "hours", "house-hours-one", "house-hours", "To the hours", people.ChangedHours,
        people.hours_as_typed, people.hours_said,
    ),
    Edit(
        "trade", "house-trades-one", "house-trades", "To the trades", trades.TradeForm,
        trades.trade_as_typed, trades.trade_said,
    ),
    Edit(
        "visit", "house-visits-one", "house-visits", "To the visits", visits.VisitForm,
        visits.visit_as_typed, template="pages/house/visit.html", more=visits.told_of_visit,
    ),
)  # fmt: skip


GROUPS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("The house", (
        ("house-rooms", "Rooms"), ("house-storeys", "Storeys"), ("house-doorways", "Doorways"),
        ("house-floors", "Floors"), ("house-routes", "Ways that stay walkable"),
        ("house-about", "Name, daylight, clock"),
    )),
    ("The work", (
        ("house-tasks", "Tasks"), ("house-ready", "Ready packages"),
        ("house-csv", "Tasks and timber as CSV"), ("looks", "What must be seen"),
    )),
    ("Time", (
        ("house-hours", "When you have time"), ("house-days", "Days that differ"),
        ("house-quiet", "Loud and outdoor hours"), ("by-itself", "What happens by itself"),
        ("calendar", "Calendars for your phone"),
    )),
    ("Who else", (
        ("house-trades", "Trades"), ("house-visits", "Visits"),
        ("replies", "What trades answered"), ("members", "People of this house"),
        ("tokens", "Tokens for other programs"),
    )),
)  # fmt: skip
"""Heading, and under it url names with their words; one without an address is left out."""
