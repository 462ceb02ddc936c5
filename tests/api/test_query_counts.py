"""What is computed of a house costs as many queries for much as for little, kept or not."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from apps.planning.models import Plan, Stint
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import at, crew, floor_with_boards, package

REASON = {"code": "none", "sentence": "", "by": []}
# The most that each may cost, when nothing is kept and when all is.
MOST = {
    "week/?property={house}&on=2026-01-05": (28, 17),
    "nights/?property={house}&on=2026-01-05": (20, 9),
    "alerts/?property={house}": (24, 12),
    "board-holds/?property={house}": (14, 12),
    "plans/?property={house}&page_size=50": (8, 8),
}


def more_of_everything(house, plan, floor):
    """Another task of each kind with its stint, a visit with its need, a look, boards, a room."""
    work = package(house)
    place = {"package": work, "floor": floor, "area": rectangle(900, 900)}
    for action in ("lift", "fix", "work_open"):
        task = factories.TaskFactory(floor_action=action, **place)
        Stint.objects.create(
            plan=plan, task=task, starts=at(1, 18), ends=at(1, 19), why_not_sooner=REASON
        )
        task.tools.add(factories.ToolFactory(property=house))
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(2, 9), ends=at(2, 11))
    Stint.objects.create(
        plan=plan, visit=visit, starts=at(2, 9), ends=at(2, 11), why_not_sooner=REASON
    )
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=rectangle(900, 900))
    factories.InspectionFactory(property=house, booked_starts=at(3, 9), booked_ends=at(3, 10))
    factories.SupplyFactory(property=house, expected_on=at(3, 9).date())
    factories.FindingFactory(property=house)
    factories.TemporaryMeasureFactory(property=house)
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room, line=[[1000, 4000], [1800, 4000]])
    factories.HouseholdRouteFactory(property=house, from_room=room, to_room=None)
    factories.BoardFactory(floor=floor, course=floor.boards.count() + 1)
    factories.WorkingTimeFactory(person=factories.PersonFactory(property=house, role="helper"))
    Plan.objects.create(property=house, as_of=timezone.now(), state="ready")


def queries(client, address):
    with CaptureQueriesContext(connection) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


@pytest.mark.parametrize("path", MOST)
def test_much_costs_no_more_queries_than_little(client, house, path):
    floor = floor_with_boards(house)
    crew(house)
    plan = Plan.objects.create(property=house, as_of=at(0, 8), state="ready", is_current=True)
    more_of_everything(house, plan, floor)
    address = f"/api/v1/{path.format(house=house.pk)}"
    client.get(address)  # The first asks the database once what it can do.

    cache.clear()
    little = queries(client, address), queries(client, address)
    for _ in range(4):
        more_of_everything(house, plan, floor)
    cache.clear()
    much = queries(client, address), queries(client, address)

    assert much == little
    assert all(count <= most for count, most in zip(much, MOST[path], strict=True)), much
