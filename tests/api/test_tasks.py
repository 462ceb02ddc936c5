"""Tasks over HTTP: what they may say, their steps, and what blocks and releases them."""

from datetime import datetime

import pytest
from django.utils import timezone

from apps.property.outlines import rectangle
from apps.work import services
from apps.work.models import Task, TimeEntry
from renovation.errors import Problem
from tests import factories
from tests.api.asking import ago, ids, is_problem, queries_of_list, refuses

TASKS = "/api/v1/tasks/"


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def post(client, task, step, body=None, **headers):
    return client.post(f"{TASKS}{task.pk}/{step}/", body or {}, headers=headers)


def test_a_task_that_lifts_an_area_is_made(client, house):
    package = factories.WorkPackageFactory(property=house)
    floor = factories.FloorFactory(property=house)
    jack = factories.ToolFactory(property=house)

    answer = client.post(
        TASKS,
        {
            "package": package.pk, "title": "Lift the north bay", "low_minutes": 60,
            "likely_minutes": 90, "high_minutes": 150, "tools": [jack.pk], "floor": floor.pk,
            "floor_action": "lift", "area": [[0, 0], [1000, 0], [1000, 800], [0, 800]],
        },
    )  # fmt: skip

    task = answer.json()
    assert answer.status_code == 201
    assert (task["status"], task["tools"]) == ("to_do", [jack.pk])
    assert task["area"] == rectangle(1000, 800)


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"low_minutes": 0}, "", "low, likely, high"),
        ({"low_minutes": -1}, "/low_minutes", "greater than or equal to 0"),
        ({"low_minutes": 121}, "", "low, likely, high"),
        ({"high_minutes": 100}, "", "low, likely, high"),
        ({"high_minutes": 60_001}, "", "low, likely, high"),
        ({"likely_minutes": 2**40}, "/likely_minutes", "less than or equal"),
        ({"shortest_stint_minutes": 0}, "", "shortest stint"),
        ({"set_up_minutes": 481}, "", "set-up and clear-up"),
        ({"clear_up_minutes": 481}, "", "set-up and clear-up"),
        ({"people": 0}, "", "1 to 10 people"),
        ({"due_weight": 0}, "", "weighs 1 to 100"),
        (
            {"earliest_start": "2026-03-09T08:00:00Z", "due": "2026-03-09T08:00:00Z"},
            "",
            "due after it may start",
        ),
        ({"due": "2026-03-09T08:00:00"}, "/due", "time zone"),
        ({"floor_action": "lift"}, "", "which floor, and where"),
        ({"floor_action": "hover"}, "/floor_action", "not a valid choice"),
        (
            {"area": rectangle(500, 500), "route": [[0, 0], [900, 0]]},
            "",
            "an area or a route, not both",
        ),
        ({"area": [[0, 0], [1, 1]]}, "/area", "outline"),
        ({"route": [[0, 0]]}, "/route", "line"),
        ({"clearance_mm": 2001}, "", "at most 2000 mm"),
    ],
)
def test_what_no_task_can_be_is_refused(client, house, changes, pointer, words):
    task = task_of(house)

    answer = client.patch(f"{TASKS}{task.pk}/", changes)

    task.refresh_from_db()
    assert refuses(answer, pointer, words)
    assert task.version == 1


def test_a_place_beyond_the_floor_is_refused(client, house):
    floor = factories.FloorFactory(property=house, name="Parlour floor")
    task = task_of(house, floor=floor)

    answer = client.patch(
        f"{TASKS}{task.pk}/", {"floor_action": "lift", "route": [[0, 500], [9000, 500]]}
    )

    assert refuses(answer, "/route", "reaches 6000 mm past the outline of Parlour floor")


def test_the_status_is_never_written_directly(client, house):
    task = task_of(house)

    answer = client.patch(f"{TASKS}{task.pk}/", {"status": "done", "title": "Lift"})

    assert answer.status_code == 200
    assert answer.json()["status"] == "to_do"


def test_a_task_starts_now_and_reopening_undoes_it(client, house):
    task = task_of(house)

    started = post(client, task, "start")
    undone = post(client, task, "reopen")

    assert started.json()["status"] == "doing"
    assert started["ETag"] == '"2"'
    assert ago(0) <= datetime.fromisoformat(started.json()["started_at"]) <= timezone.now()
    assert (undone.json()["status"], undone.json()["started_at"]) == ("to_do", None)


def test_a_finished_task_notes_the_minutes_it_took(client, house):
    task = task_of(house, status="doing", started_at=ago(3))

    answer = post(client, task, "finish", {"at": ago(1).isoformat(), "minutes": 95})

    entry = TimeEntry.objects.get(task=task)
    assert answer.json()["status"] == "done"
    assert datetime.fromisoformat(answer.json()["finished_at"]) == ago(1)
    assert (entry.minutes, entry.noted_by) == (95, house.owner)
    assert entry.starts == ago(1 + 95 / 60)


def test_a_task_nobody_started_began_as_long_before_its_end_as_it_took(client, house):
    answer = post(client, task_of(house), "finish", {"at": ago(1).isoformat(), "minutes": 60})

    assert datetime.fromisoformat(answer.json()["started_at"]) == ago(2)


def test_reopening_a_done_task_has_it_being_done_again_and_keeps_the_time(client, house):
    task = task_of(house)
    post(client, task, "finish", {"minutes": 60})

    answer = post(client, task, "reopen")

    assert (answer.json()["status"], answer.json()["finished_at"]) == ("doing", None)
    assert TimeEntry.objects.filter(task=task).count() == 1


def test_a_dropped_task_can_be_taken_up_again(client, house):
    task = task_of(house)

    dropped = post(client, task, "drop", {"minutes": 20})
    reopened = post(client, task, "reopen")

    assert dropped.json()["status"] == "dropped"
    assert reopened.json()["status"] == "to_do"


def test_a_step_that_is_not_possible_names_those_that_are(client, house):
    task = task_of(house, title="Lift", status="done", finished_at=ago(1))

    answer = post(client, task, "start")

    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["allowed"] == ["reopen"]
    assert answer.json()["detail"] == (
        "Lift is done, so “start” is not possible; possible now: reopen."
    )


def test_a_task_cannot_end_before_it_began_and_then_no_time_is_noted(client, house):
    task = task_of(house, status="doing", started_at=ago(2))

    answer = post(client, task, "finish", {"at": ago(3).isoformat(), "minutes": 30})

    task.refresh_from_db()
    assert refuses(answer, "/at", "was started at")
    assert task.status == "doing"
    assert not TimeEntry.objects.exists()


def test_a_step_is_judged_by_the_task_as_it_is_not_as_it_was_read(house):
    task = task_of(house)
    read_before = Task.objects.get(pk=task.pk)
    services.finish_task(task=task, at=ago(1))

    with pytest.raises(Problem, match="is done"):
        services.start_task(task=read_before, at=ago(0))


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({"at": "2999-01-01T00:00:00Z"}, "/at", "still to come"),
        ({"at": "2026-03-01T10:00:00"}, "/at", "time zone"),
        ({"at": "yesterday"}, "/at", "wrong format"),
        ({"minutes": 0}, "/minutes", "greater than or equal to 1"),
        ({"minutes": 1441}, "/minutes", "less than or equal to 1440"),
        ({"minutes": "an hour"}, "/minutes", "integer"),
    ],
)
def test_a_finish_that_makes_no_sense_is_refused(client, house, body, pointer, words):
    task = task_of(house)

    answer = post(client, task, "finish", body)

    task.refresh_from_db()
    assert refuses(answer, pointer, words)
    assert task.status == "to_do"


def test_a_step_from_a_stale_version_is_refused_with_the_task_as_it_is(client, house):
    task = task_of(house, version=4)

    answer = post(client, task, "start", **{"If-Match": '"3"'})

    assert is_problem(answer, 412, "stale")
    assert answer.json()["current"]["version"] == 4


def test_a_strangers_task_takes_no_step(client, house):
    theirs = factories.TaskFactory()

    answers = [post(client, theirs, step) for step in ("start", "finish", "drop", "reopen")]

    assert [answer.status_code for answer in answers] == [404, 404, 404, 404]


def test_a_task_in_a_visit_cannot_go_to_another_trade(client, house):
    plumber = factories.TradeFactory(property=house)
    task = task_of(house, trade=plumber)
    factories.VisitFactory(property=house, trade=plumber, title="First fix").tasks.add(task)

    answer = client.patch(f"{TASKS}{task.pk}/", {"trade": None})

    assert refuses(answer, "/trade", "It is in First fix; take it out of that visit first.")


def test_a_task_with_time_on_it_is_kept(client, house):
    task = task_of(house)
    post(client, task, "finish", {"minutes": 30})

    answer = client.delete(f"{TASKS}{task.pk}/")

    assert is_problem(answer, 409, "in-use")


def test_tasks_are_filtered_by_house_status_and_place(client, house):
    elsewhere = factories.MemberFactory(user=house.owner, role="owner").property
    floor = factories.FloorFactory(property=house)
    lifting = task_of(house, floor=floor, floor_action="lift", area=rectangle(500, 500))
    done = task_of(house, status="done", finished_at=ago(1))
    task_of(elsewhere)

    assert ids(client.get(TASKS, {"property": house.pk})) == [lifting.pk, done.pk]
    assert ids(client.get(TASKS, {"status": "done"})) == [done.pk]
    assert ids(client.get(TASKS, {"floor": floor.pk, "floor_action": "lift"})) == [lifting.pk]
    assert ids(client.get(TASKS, {"finished_at__gte": ago(2).isoformat()})) == [done.pk]


def test_tasks_with_tools_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            task_of(house).tools.add(factories.ToolFactory(property=house))

    make(2)
    few = queries_of_list(client, TASKS)
    make(18)

    assert queries_of_list(client, TASKS) == few
