"""Time spent on tasks: an append-only log, and what it leaves to do."""

import pytest
from django.db import DatabaseError, connection, transaction

from apps.work.models import TimeEntry
from apps.work.selectors import remaining_minutes
from tests import factories
from tests.api.asking import ago, ids, queries_of_list, refuses

ENTRIES = "/api/v1/time-entries/"


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def note(house, task, minutes=30, **fields):
    return TimeEntry.objects.create(
        **{"task": task, "starts": ago(5), "minutes": minutes, "noted_by": house.owner} | fields
    )


def test_an_hour_is_noted_on_a_task(client, house):
    task = task_of(house)

    answer = client.post(
        ENTRIES,
        {"task": task.pk, "starts": ago(2).isoformat(), "minutes": 60, "note": "Nails drawn"},
    )

    entry = answer.json()
    assert answer.status_code == 201
    assert entry["noted_by"] == house.owner.username
    assert entry["recorded_at"] == client.get(f"{ENTRIES}{entry['id']}/").json()["recorded_at"]


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"minutes": 0}, "", "not 0"),
        ({"minutes": 1441}, "", "up to 1440 minutes"),
        ({"minutes": None}, "/minutes", "null"),
        ({"starts": "2999-01-01T00:00:00Z"}, "/starts", "still to come"),
        ({"starts": "2026-03-01"}, "/starts", "time zone"),
        ({"note": "x" * 201}, "/note", "200 characters"),
        ({"minutes": -31}, "/minutes", "Only 30 minutes are noted on"),
    ],
)
def test_an_entry_that_makes_no_sense_is_refused(client, house, changes, pointer, words):
    task = task_of(house)
    note(house, task, 30)
    body = {"task": task.pk, "starts": ago(2).isoformat(), "minutes": 60}

    answer = client.post(ENTRIES, body | changes)

    assert refuses(answer, pointer, words)
    assert TimeEntry.objects.count() == 1


def test_a_slip_is_taken_back_by_minus_minutes(client, house):
    task = task_of(house)
    note(house, task, 45)

    answer = client.post(
        ENTRIES, {"task": task.pk, "starts": ago(2).isoformat(), "minutes": -45, "note": "A slip"}
    )

    assert answer.status_code == 201
    assert remaining_minutes([task]) == {task.pk: 120}


@pytest.mark.parametrize(
    "statement", ["UPDATE work_timeentry SET minutes = 1", "DELETE FROM work_timeentry"]
)
def test_the_database_itself_refuses_to_alter_the_log(house, statement):
    entry = note(house, task_of(house))

    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)

    entry.refresh_from_db()
    assert entry.minutes == 30


@pytest.mark.parametrize(
    ("status", "spent", "left"),
    [
        ("to_do", 0, 120),
        ("doing", 50, 70),
        ("doing", 120, 15),
        ("doing", 500, 15),
        ("to_do", 500, 15),
        ("done", 50, 0),
        ("dropped", 0, 0),
    ],
)
def test_what_is_left_is_the_likely_time_less_the_noted(house, status, spent, left):
    task = task_of(house, status=status, finished_at=ago(1) if status == "done" else None)
    if spent:
        note(house, task, spent)

    assert remaining_minutes([task]) == {task.pk: left}


def test_what_is_left_of_many_tasks_takes_one_query(house, django_assert_num_queries):
    tasks = [task_of(house) for _ in range(5)]

    with django_assert_num_queries(1):
        remaining_minutes(tasks)


def test_entries_are_filtered_by_task_time_and_house(client, house):
    task = task_of(house)
    early, late = note(house, task, starts=ago(50)), note(house, task, starts=ago(2))
    note(house, task_of(house))

    assert ids(client.get(ENTRIES, {"task": task.pk})) == [late.pk, early.pk]
    assert ids(client.get(ENTRIES, {"task": task.pk, "starts__lte": ago(40).isoformat()})) == [
        early.pk
    ]
    assert len(ids(client.get(ENTRIES, {"property": house.pk}))) == 3


def test_entries_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            note(house, task_of(house), noted_by=factories.UserFactory())

    make(2)
    few = queries_of_list(client, ENTRIES)
    make(18)

    assert queries_of_list(client, ENTRIES) == few
