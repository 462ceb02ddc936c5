"""Late, early, half done: the record is told, the plan is asked again, the rest moves."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from apps.planning.follow import follow_day
from apps.work.models import TimeEntry
from apps.work.selectors import remaining_minutes
from tests import factories
from tests.api.houses import MONDAY, at, crew, package, plan, times

pytestmark = pytest.mark.usefixtures("handed_out")


def say_left(client, task, **body):
    return client.post(f"/api/v1/tasks/{task.pk}/left/", body)


def left(task):
    task.refresh_from_db()
    return remaining_minutes([task])[task.pk]


@pytest.fixture
def task(house):
    return factories.TaskFactory(package=package(house), title="Sand the floor", status="doing")


def test_what_is_said_to_be_left_counts_instead_of_the_estimate(client, house, task):
    TimeEntry.objects.create(task=task, starts=at(-2, 18), minutes=100, noted_by=house.owner)

    answer = say_left(client, task, minutes_left=90, note="The old glue does not come off")

    assert answer.status_code == 200
    body = answer.json()
    assert (body["minutes_left"], body["minutes_left_note"]) == (
        90, "The old glue does not come off",
    )  # fmt: skip
    assert body["minutes_left_at"] is not None
    assert body["version"] == 2
    assert left(task) == 90


@pytest.mark.parametrize(
    ("begun", "minutes", "remains"),
    [(10, 40, 50), (-60, 60, 90), (-60, 100, 50), (10, 300, 15)],
)
def test_only_work_after_it_was_said_is_counted_off(client, house, task, begun, minutes, remains):
    said = timezone.now() - timedelta(days=1)
    say_left(client, task, minutes_left=90, at=said.isoformat())

    TimeEntry.objects.create(
        task=task, starts=said + timedelta(minutes=begun), minutes=minutes, noted_by=house.owner
    )

    assert left(task) == remains


def test_an_entry_taken_back_counts_as_little_as_before(client, house, task):
    said = timezone.now() - timedelta(days=1)
    say_left(client, task, minutes_left=90, at=said.isoformat())
    for minutes in (100, -100):
        TimeEntry.objects.create(
            task=task, starts=said - timedelta(minutes=60), minutes=minutes, noted_by=house.owner
        )

    assert left(task) == 90


def test_a_later_word_replaces_it_and_null_takes_it_back(client, task):
    say_left(client, task, minutes_left=90, note="Glue")
    say_left(client, task, minutes_left=30)
    assert left(task) == 30
    task.refresh_from_db()
    assert task.minutes_left_note == ""

    answer = say_left(client, task, minutes_left=None)

    assert (answer.json()["minutes_left"], answer.json()["minutes_left_at"]) == (None, None)
    assert left(task) == 120


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/minutes_left"),
        ({"minutes_left": 0}, "/minutes_left"),
        ({"minutes_left": 60_001}, "/minutes_left"),
        ({"minutes_left": "an hour"}, "/minutes_left"),
        ({"minutes_left": 60, "at": "2099-01-01T00:00:00Z"}, "/at"),
        ({"minutes_left": 60, "note": "x" * 201}, "/note"),
    ],
)
def test_what_cannot_be_left_is_refused_with_a_pointer(client, task, body, pointer):
    answer = say_left(client, task, **body)

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_nothing_is_left_of_what_is_done(client, house):
    done = factories.TaskFactory(package=package(house), status="done", finished_at=at(-1, 20))

    answer = say_left(client, done, minutes_left=60)

    assert answer.status_code == 409
    assert answer.json()["allowed"] == ["reopen"]


def test_a_viewer_says_nothing_and_a_stranger_sees_nothing(client, house, task):
    house.members.update(role="viewer")
    assert say_left(client, task, minutes_left=60).status_code == 403

    client.force_authenticate(factories.UserFactory())
    assert say_left(client, task, minutes_left=60).status_code == 404


def test_half_done_moves_the_rest_and_says_why(client, house, task):
    crew(house)
    after = factories.TaskFactory(package=task.package, title="Oil the floor")
    factories.LinkFactory(before=task, after=after)
    plan(house)
    say_left(client, task, minutes_left=180)

    answer = client.post(
        "/api/v1/plans/", {"property": house.pk, "as_of": MONDAY.isoformat(), "quick": True}
    )

    body = answer.json()
    assert (answer.status_code, body["is_current"], body["quick"]) == (201, True, True)
    oiled = next(c for c in body["changes"] if c["about"]["id"] == after.pk)
    assert oiled["because"]["sentence"] == "Sand the floor has 3 h left, not 2 h."


def test_the_day_is_followed_as_far_ahead_as_the_plan_before_looked(house, task):
    crew(house)
    before = plan(house, horizon_days=9)

    made = follow_day(house=house, as_of=at(0, 19), requested_by=house.owner)

    before.refresh_from_db()
    assert (made.horizon_days, made.is_current, before.is_current) == (9, True, False)
    assert made.requested_by == house.owner
    # Two hours were to be done by 20:00; at 19:00 none of them is.
    assert times(made, task) == [(5, 19, 60), (6, 18, 60)]
    assert made.changes[0]["because"]["sentence"] == (
        "Sand the floor was planned for Mon 5 Jan, 18:00 and has 2 h left to do."
    )
