"""The pages of the house screen, in the order in which a house is written down."""

from __future__ import annotations

from apps.pages.screens.house import floors, people, rooms, tasks
from apps.pages.screens.house.adding import Part
from apps.pages.screens.house.plan import plans

PARTS: tuple[Part, ...] = (
    Part(
        "rooms", "Rooms", "Inside sizes, one room after the other.", "Add the room",
        rooms.NewRoom, rooms.room_lines, rooms.save_room, "room", more=plans,
    ),
    Part(
        "doorways", "Doorways", "Tap a wall, or choose it below.", "Add the doorway",
        rooms.NewDoorway, rooms.doorway_lines, rooms.save_doorway, "doorway", more=plans,
    ),
    Part(
        "floors", "Floors", "Joists and boards are drawn before anything is kept.",
        "Keep this floor", floors.NewFloor, floors.floor_lines, floors.save_floor, "floor",
        template="pages/house/floors.html",
    ),
    Part(
        "routes", "Ways that stay walkable", "From the bed to the bath, say.", "Add the way",
        rooms.NewRoute, rooms.route_lines, rooms.save_route, "route",
    ),
    Part(
        "hours", "When you have time", "The usual week of whoever works here.", "Add these hours",
        people.NewHours, people.hours_lines, people.save_hours, "hours",
    ),
    Part(
        "tasks", "Tasks", "One job at a time; how long it takes is put right as you go.",
        "Add the task", tasks.NewTask, tasks.task_lines, tasks.save_task, "task",
        template="pages/house/tasks.html",
    ),
    Part(
        "ready", "Ready packages", "The usual tasks of a small job, in their order.",
        "Add the package", tasks.NewReady, tasks.package_lines, tasks.save_ready, "package",
    ),
    Part(
        "trades", "Trades", "Who comes from outside.", "Add the trade",
        people.NewTrade, people.trade_lines, people.save_trade, "trade",
    ),
    Part(
        "visits", "Visits", "What you want them for; times are agreed on the week's page.",
        "Add the visit", people.NewVisit, people.visit_lines, people.save_visit, "visit",
    ),
)  # fmt: skip
