"""A small house in an installation, made inside it: `installation.run` calls this."""

from __future__ import annotations

from datetime import time
from itertools import pairwise
from typing import Any

from apps.pages.owner import owner_account
from apps.property.outlines import rectangle
from tests import factories

EVERY_DAY = range(7)


def house() -> dict[str, Any]:
    """The owner's house: a room, a floor with six boards, and three tasks in a row."""
    made = factories.PropertyFactory()
    factories.MemberFactory(property=made, user=owner_account(), role="owner")
    room = factories.RoomFactory(property=made)
    floor = factories.FloorFactory(property=made)
    boards = [
        factories.BoardFactory(
            floor=floor, course=n, mark=f"B{n}.1", outline=rectangle(3000, 150, (0, 150 * (n - 1)))
        ).pk
        for n in range(1, 7)
    ]
    crew = factories.PersonFactory(property=made)
    for weekday in EVERY_DAY:
        factories.WorkingTimeFactory(person=crew, weekday=weekday, starts=time(8), ends=time(20))
    package = factories.WorkPackageFactory(property=made)
    tasks = [factories.TaskFactory(package=package) for _ in range(3)]
    for before, after in pairwise(tasks):
        factories.LinkFactory(before=before, after=after)
    return {
        "property": made.pk,
        "storey": room.storey_id,
        "room": room.pk,
        "floor": floor.pk,
        "boards": boards,
        "tasks": [task.pk for task in tasks],
    }
