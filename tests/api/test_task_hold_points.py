"""What a task's steps wait for and release: hold points before, held boards after."""

import pytest

from apps.trades.models import AccessNeed
from apps.work.models import TimeEntry
from tests import factories
from tests.api.asking import ago, is_problem


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def post(client, task, step, body=None):
    return client.post(f"/api/v1/tasks/{task.pk}/{step}/", body or {})


@pytest.mark.parametrize("step", ["start", "finish"])
@pytest.mark.parametrize("state", ["due", "notified", "rejected"])
def test_a_task_waits_for_its_hold_point(client, house, step, state):
    task = task_of(house, title="Lay the boards")
    look = factories.InspectionFactory(property=house, title="Joist ends", state=state)
    look.blocks.add(task)

    answer = post(client, task, step)

    task.refresh_from_db()
    assert is_problem(answer, 409, "hold-point-open")
    assert answer.json()["detail"] == (
        f"Lay the boards waits until “Joist ends” is signed off; it is {state}."
    )
    assert answer.json()["inspections"] == [{"id": look.pk, "title": "Joist ends", "state": state}]
    assert task.status == "to_do"


@pytest.mark.parametrize("state", ["accepted", "accepted_with_conditions"])
def test_a_task_starts_once_its_hold_point_is_signed_off(client, house, state):
    task = task_of(house)
    factories.InspectionFactory(property=house, state=state).blocks.add(task)

    assert post(client, task, "start").status_code == 200


def test_what_an_inspection_looks_at_may_go_on_and_end(client, house):
    task = task_of(house)
    factories.InspectionFactory(property=house).looks_at.add(task)

    assert post(client, task, "finish").status_code == 200


def test_finishing_a_task_releases_what_was_held_for_it_and_reopening_takes_that_back(
    client, house
):
    task, other = task_of(house), task_of(house)
    need = factories.AccessNeedFactory(
        property=house, trade=None, task=task, visit=None, until="task_done"
    )
    others = factories.AccessNeedFactory(
        property=house, trade=None, task=other, visit=None, until="task_done"
    )

    post(client, task, "finish", {"at": ago(1).isoformat()})
    need.refresh_from_db()
    released_at, version = need.released_at, need.version
    post(client, task, "reopen")

    need.refresh_from_db()
    others.refresh_from_db()
    assert (released_at, version) == (ago(1), 2)
    assert (need.released_at, need.version) == (None, 3)
    assert (others.released_at, others.version) == (None, 1)


def test_a_refused_finish_releases_nothing(client, house):
    task = task_of(house)
    factories.InspectionFactory(property=house).blocks.add(task)
    factories.AccessNeedFactory(
        property=house, trade=None, task=task, visit=None, until="task_done"
    )

    post(client, task, "finish", {"minutes": 30})

    assert AccessNeed.objects.get().released_at is None
    assert not TimeEntry.objects.exists()
