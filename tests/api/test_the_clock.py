"""The clock on a task: it runs from the start, its time is noted, and slips are taken back."""

from __future__ import annotations

import pytest
from django.utils import timezone

from apps.work.models import Task, TimeEntry
from tests import factories
from tests.api.asking import ago, refuses


@pytest.fixture
def task(house):
    return factories.TaskFactory(package__property=house, title="Lift")


def post(client, task, step, **body):
    return client.post(f"/api/v1/tasks/{task.pk}/{step}/", body)


def minutes():
    return list(TimeEntry.objects.order_by("pk").values_list("minutes", flat=True))


def test_a_stop_notes_the_time_since_the_start(client, task):
    post(client, task, "start", at=ago(1).isoformat())

    answer = post(client, task, "stop", at=ago(0).isoformat())

    assert (answer.status_code, answer.json()["clock_from"]) == (200, None)
    assert answer.json()["status"] == "doing"
    assert minutes() == [60]


def test_a_finish_notes_what_is_on_the_clock_unless_it_says_otherwise(client, house):
    one, other = (factories.TaskFactory(package__property=house) for _ in range(2))
    for task in (one, other):
        post(client, task, "start", at=ago(2).isoformat())

    post(client, one, "finish", at=ago(0).isoformat())
    post(client, other, "finish", minutes=15)

    assert minutes() == [120, 15]


def test_a_break_is_not_counted(client, task):
    post(client, task, "start", at=ago(3).isoformat())
    post(client, task, "stop", at=ago(2).isoformat())
    post(client, task, "carry-on", at=ago(1).isoformat())
    post(client, task, "finish", at=ago(0).isoformat())

    assert minutes() == [60, 60]


@pytest.mark.parametrize(
    ("state", "step", "words"),
    [
        ({}, "stop", "is to do, so “stop” is not possible; possible now: start"),
        ({}, "carry-on", "is to do"),
        ({"status": "doing"}, "stop", "is doing, so “stop” is not possible"),
        ({"status": "doing", "clock_from": "2026-03-02T18:00Z"}, "carry-on", "is on the clock"),
        ({"status": "done", "finished_at": "2026-03-02T18:00Z"}, "carry-on", "is done"),
    ],
)
def test_a_step_that_cannot_be_says_what_can(client, task, state, step, words):
    Task.objects.filter(pk=task.pk).update(**state)

    answer = post(client, task, step)

    assert answer.status_code == 409
    assert words in answer.json()["detail"]


def test_a_clock_forgotten_for_days_asks_how_long_it_was(client, task):
    post(client, task, "start", at=ago(50).isoformat())

    assert refuses(post(client, task, "stop"), "/minutes", "longer than a day")
    assert post(client, task, "stop", minutes=90).status_code == 200
    assert minutes() == [90]


def test_a_stop_before_the_start_is_refused(client, task):
    post(client, task, "start", at=ago(1).isoformat())

    assert refuses(post(client, task, "stop", at=ago(2).isoformat()), "/at", "on the clock since")


def test_reopening_a_started_task_takes_it_off_the_clock(client, task):
    post(client, task, "start")

    assert post(client, task, "reopen").json()["clock_from"] is None


def test_an_entry_is_taken_back_whole_and_once(client, house, task):
    entry = TimeEntry.objects.create(
        task=task, starts=timezone.now(), minutes=45, noted_by=house.owner
    )
    address = f"/api/v1/time-entries/{entry.pk}/take-back/"

    taken = client.post(address)
    again = client.post(address)
    of_the_taking = client.post(f"/api/v1/time-entries/{taken.json()['id']}/take-back/")

    assert (taken.status_code, taken.json()["takes_back"]) == (201, entry.pk)
    assert (again.status_code, of_the_taking.status_code) == (409, 409)
    assert minutes() == [45, -45]
