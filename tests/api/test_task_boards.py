"""Finishing a task that lifts or fixes boards notes them as moved; nothing held is fixed."""

from __future__ import annotations

from apps.floors.models import BoardMove
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import floor_with_boards, package

AREA = rectangle(1000, 300)


def floor_task(house, floor, action, **fields):
    return factories.TaskFactory(
        package=package(house), floor=floor, floor_action=action, area=AREA, **fields
    )


def states(floor):
    return list(floor.boards.order_by("course").values_list("state", flat=True))


def test_finishing_a_lifting_task_puts_its_boards_up(client, house):
    floor = floor_with_boards(house)
    task = floor_task(house, floor, "lift", title="Lift by the sink")

    answer = client.post(f"/api/v1/tasks/{task.pk}/finish/", {})

    assert answer.status_code == 200
    assert states(floor) == ["up", "up", "fixed", "fixed"]
    assert BoardMove.objects.get().note == "Lift by the sink was finished."


def test_boards_that_are_up_already_are_not_moved_again(client, house):
    floor = floor_with_boards(house)
    floor.boards.update(state="up")
    task = floor_task(house, floor, "lift")

    assert client.post(f"/api/v1/tasks/{task.pk}/finish/", {}).status_code == 200
    assert not BoardMove.objects.exists()


def test_finishing_a_fixing_task_fixes_its_boards(client, house):
    floor = floor_with_boards(house)
    floor.boards.update(state="up")
    task = floor_task(house, floor, "fix")

    client.post(f"/api/v1/tasks/{task.pk}/finish/", {})

    assert states(floor) == ["fixed", "fixed", "up", "up"]


def test_a_fixing_task_over_held_boards_does_not_finish(client, house):
    floor = floor_with_boards(house)
    floor.boards.update(state="up")
    factories.AccessNeedFactory(property=house, floor=floor, area=AREA)
    task = floor_task(house, floor, "fix")

    answer = client.post(f"/api/v1/tasks/{task.pk}/finish/", {})

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#board-held")
    task.refresh_from_db()
    assert task.status == "to_do"


def test_what_has_yet_to_be_seen_is_not_covered(client, house):
    floor = floor_with_boards(house)
    floor.boards.update(state="up")
    look = factories.InspectionFactory(property=house, floor=floor, area=AREA)
    task = floor_task(house, floor, "fix")

    for step in ("start", "finish"):
        answer = client.post(f"/api/v1/tasks/{task.pk}/{step}/", {})
        assert answer.status_code == 409
        assert answer.json()["inspections"] == [
            {"id": look.pk, "title": look.title, "state": look.state}
        ]
    assert states(floor) == ["up"] * 4


def test_fixing_beside_the_inspected_area_is_free(client, house):
    floor = floor_with_boards(house)
    factories.InspectionFactory(property=house, floor=floor, area=rectangle(1000, 140, (0, 460)))
    task = floor_task(house, floor, "fix")

    assert client.post(f"/api/v1/tasks/{task.pk}/start/", {}).status_code == 200
