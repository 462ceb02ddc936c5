"""Tonight as answers: each action, its undoing, and who is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from apps.floors.models import Board
from apps.inspections.models import Evidence
from apps.planning.models import Plan
from apps.work.models import Finding, TimeEntry
from apps.work.selectors import remaining_minutes
from tests import factories
from tests.pictures import jpeg

NOW = timezone.now()


@pytest.fixture
def phone(house):
    """A browser signed in as the house's owner."""
    made = Client()
    made.force_login(house.owner)
    return made


@pytest.fixture
def task(house):
    return factories.TaskFactory(package__property=house, title="Draw the nails")


def planned(house, task, starts=None, minutes=60):
    """A current plan in which a task has one stint, from now on."""
    plan = Plan.objects.filter(property=house).first() or Plan.objects.create(
        property=house, as_of=timezone.now(), state="ready", is_current=True, proven=True
    )
    starts = starts or timezone.now()
    plan.stints.create(
        task=task, starts=starts, ends=starts + timedelta(minutes=minutes),
        why_not_sooner={"code": "crew_busy", "sentence": "You are busy until then.", "by": []},
    )  # fmt: skip
    return plan


def undo(phone):
    """Press Undo for what was just done."""
    line = phone.session["said"][-1]
    return phone.post(line["undo"], dict_of(line["fields"]))


def dict_of(fields):
    found = {}
    for name, value in fields:
        found.setdefault(name, []).append(value)
    return found


def ago(minutes):
    return (NOW - timedelta(minutes=minutes)).isoformat()


def test_what_to_do_is_shown_with_place_length_tools_and_why_not_sooner(house, phone, task):
    task.tools.add(factories.ToolFactory(property=house, name="Nail bar"))
    planned(house, task)

    page = phone.get("/tonight/").text

    assert "Draw the nails" in page
    assert "Nail bar" in page
    assert "You are busy until then." in page
    assert "1 h" in page


def test_a_task_starts_and_undo_puts_it_back(house, phone, task):
    planned(house, task)

    answer = phone.post(f"/tonight/tasks/{task.pk}/start/")
    task.refresh_from_db()
    assert (answer["Location"], task.status) == ("/tonight/", "doing")
    assert task.clock_from is not None
    assert "Started: Draw the nails." in phone.get("/tonight/").text

    phone.post(f"/tonight/tasks/{task.pk}/back/", {"was": "to_do"})
    task.refresh_from_db()
    assert (task.status, task.clock_from) == ("to_do", None)


def test_what_was_done_is_said_once_with_its_undo(house, phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/start/")

    first, second = phone.get("/tonight/").text, phone.get("/tonight/").text

    assert "Undo" in first
    assert "Undo" not in second


def test_stopping_notes_the_time_on_the_clock_and_undo_runs_it_on(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/start/", {"at": ago(50)})

    phone.post(f"/tonight/tasks/{task.pk}/stop/", {"at": ago(5)})
    task.refresh_from_db()
    assert (task.status, task.clock_from) == ("doing", None)
    assert TimeEntry.objects.get().minutes == 45

    undo(phone)
    task.refresh_from_db()
    assert task.clock_from == NOW - timedelta(minutes=50)
    assert sum(TimeEntry.objects.values_list("minutes", flat=True)) == 0


def test_done_notes_the_time_and_undo_takes_both_back(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/start/", {"at": ago(30)})

    phone.post(f"/tonight/tasks/{task.pk}/done/", {"at": ago(0)})
    task.refresh_from_db()
    assert task.status == "done"
    assert TimeEntry.objects.get().minutes == 30

    undo(phone)
    task.refresh_from_db()
    assert task.status == "doing"
    assert task.clock_from is not None
    assert remaining_minutes([task]) == {task.pk: task.likely_minutes}


def test_done_without_a_start_is_undone_to_what_it_was(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/done/")
    undo(phone)

    task.refresh_from_db()
    assert task.status == "to_do"


def test_carrying_on_is_undone_without_noting_time(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/start/", {"at": ago(60)})
    phone.post(f"/tonight/tasks/{task.pk}/stop/", {"at": ago(40)})
    phone.post(f"/tonight/tasks/{task.pk}/start/", {"at": ago(30)})
    undo(phone)

    task.refresh_from_db()
    assert (task.status, task.clock_from) == ("doing", None)
    assert [entry.minutes for entry in TimeEntry.objects.all()] == [20]


def test_what_is_left_is_said_and_undo_counts_from_the_estimate_again(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/left/", {"left": "95"})
    task.refresh_from_db()
    assert remaining_minutes([task]) == {task.pk: 95}

    undo(phone)
    task.refresh_from_db()
    assert remaining_minutes([task]) == {task.pk: task.likely_minutes}


def test_what_is_left_is_a_number_of_minutes(phone, task):
    answer = phone.post(f"/tonight/tasks/{task.pk}/left/", {"left": "an hour"}, follow=True)

    assert b"Minutes are a whole number" in answer.content
    task.refresh_from_db()
    assert task.minutes_left is None


@pytest.mark.django_db(transaction=True)
def test_moving_the_rest_makes_a_quick_plan(phone, house, task):
    planned(house, task)

    answer = phone.post("/tonight/follow/", {"property": house.pk})

    assert answer.status_code == 302
    assert Plan.objects.get(is_current=True).quick


def test_time_is_added_and_taken_back_once(phone, task):
    phone.post(f"/tonight/tasks/{task.pk}/time/", {"minutes": "25"})
    line = phone.session["said"][-1]
    undo(phone)
    again = phone.post(line["undo"], {**dict_of(line["fields"]), "back": "/tonight/"})

    assert [entry.minutes for entry in TimeEntry.objects.order_by("pk")] == [25, -25]
    assert again.status_code == 302
    assert "taken back already" in phone.get("/tonight/").text


@pytest.mark.parametrize("minutes", ["", "0", "-5", "1441", "x", "1.5"])
def test_minutes_that_make_no_sense_are_refused_with_a_sentence(phone, task, minutes):
    answer = phone.post(
        f"/tonight/tasks/{task.pk}/time/", {"minutes": minutes, "back": "/tonight/"}, follow=True
    )

    assert "not done" in answer.text
    assert not TimeEntry.objects.exists()


def test_a_hold_point_refuses_the_start_and_says_why(house, phone, task):
    look = factories.InspectionFactory(property=house, title="Look at the void")
    look.blocks.add(task)

    answer = phone.post(f"/tonight/tasks/{task.pk}/start/", {"back": "/tonight/"}, follow=True)

    task.refresh_from_db()
    assert task.status == "to_do"
    assert "Look at the void" in answer.text


def test_boards_are_laid_loose_and_come_up_again_by_undo(house, phone):
    board = factories.BoardFactory(floor__property=house, state="up")

    phone.post("/tonight/boards/", {"boards": [board.pk], "to_state": "loose"})
    assert Board.objects.get().state == "loose"

    undo(phone)
    assert Board.objects.get().state == "up"


def test_a_measure_is_looked_at_and_undo_knows_when_it_was_seen_before(house, phone):
    seen = datetime(2026, 3, 1, 8, tzinfo=UTC)
    measure = factories.TemporaryMeasureFactory(
        property=house, since=datetime(2026, 2, 1, tzinfo=UTC), last_checked_at=seen
    )

    phone.post(f"/tonight/measures/{measure.pk}/looked/")
    measure.refresh_from_db()
    assert measure.last_checked_at > seen

    undo(phone)
    measure.refresh_from_db()
    assert measure.last_checked_at == seen


def test_a_measure_that_is_not_due_can_be_looked_at_as_well(house, phone, task):
    planned(house, task)
    measure = factories.TemporaryMeasureFactory(property=house, check_every_hours=None)

    page = phone.get("/tonight/").text

    assert "1 more in place" in page
    assert f'action="/tonight/measures/{measure.pk}/looked/"' in page


def test_something_found_comes_with_its_photo_and_both_go_by_undo(house, phone):
    photo = SimpleUploadedFile("IMG_1.jpg", jpeg(), content_type="image/jpeg")

    phone.post("/tonight/found/", {"title": "Damp at the plate", "kind": "damp", "photo": photo})
    finding = Finding.objects.get()
    assert (finding.title, finding.kind) == ("Damp at the plate", "damp")
    assert Evidence.objects.get().finding == finding

    undo(phone)
    assert not Finding.objects.exists()
    assert not Evidence.objects.exists()


def test_suspected_asbestos_is_answered_with_keep_out(phone):
    phone.post("/tonight/found/", {"title": "Grey board", "kind": "asbestos_suspected"})

    assert "Keep out" in phone.get("/tonight/").text


def test_a_finding_without_words_is_refused(phone):
    answer = phone.post(
        "/tonight/found/", {"title": " ", "kind": "damp", "back": "/tonight/"}, follow=True
    )

    assert "not done" in answer.text
    assert not Finding.objects.exists()


ACTIONS = [
    "/tonight/tasks/{task}/start/", "/tonight/tasks/{task}/stop/", "/tonight/tasks/{task}/done/",
    "/tonight/tasks/{task}/time/", "/tonight/tasks/{task}/back/", "/tonight/boards/",
    "/tonight/found/", "/tonight/measures/{measure}/looked/", "/tonight/measures/{measure}/back/",
    "/tonight/found/{finding}/back/",
]  # fmt: skip


@pytest.mark.parametrize("action", ACTIONS)
def test_a_viewer_and_a_stranger_change_nothing(house, task, action):
    viewer, stranger = Client(), Client()
    viewer.force_login(factories.MemberFactory(property=house, role="viewer").user)
    stranger.force_login(factories.MemberFactory().user)
    rows = {
        "task": task.pk,
        "measure": factories.TemporaryMeasureFactory(property=house).pk,
        "finding": factories.FindingFactory(property=house).pk,
    }
    board = factories.BoardFactory(floor__property=house, state="up")
    form = {"boards": [board.pk], "to_state": "loose", "title": "x", "kind": "damp", "minutes": 5}

    looked = viewer.post(action.format(**rows), form)
    own_house = stranger.post(action.format(**rows), form)
    named = stranger.post(action.format(**rows), {**form, "property": house.pk})

    task.refresh_from_db()
    board.refresh_from_db()
    assert looked.status_code == 403
    # What a stranger notes without a name goes into their own house.
    assert own_house.status_code == (302 if action == "/tonight/found/" else 404)
    assert named.status_code == 404
    assert (task.status, board.state) == ("to_do", "up")
    assert Finding.objects.filter(property=house).count() == 1
    assert not TimeEntry.objects.exists()


def test_a_viewer_sees_tonight_without_buttons(house, task):
    planned(house, task)
    viewer = Client()
    viewer.force_login(factories.MemberFactory(property=house, role="viewer").user)

    page = viewer.get("/tonight/").text

    assert "Draw the nails" in page
    assert "/start/" not in page
    assert "Found something" not in page


def test_a_house_without_a_plan_leads_to_the_first_three_things(house, phone):
    page = phone.get("/tonight/").text

    assert "Three things, then a plan" in page
    assert "When you have time" in page
    assert "Look round the demo house" in page
    assert "Make a plan" not in page


def test_tonight_of_many_tasks_costs_no_more_queries_than_of_one(house, phone, task):
    def queries():
        with CaptureQueriesContext(connection) as counted:
            page = phone.get("/tonight/")
        return page.text.count('class="card task"'), len(counted)

    planned(house, task)
    phone.get("/tonight/")  # The first visit notes which house is looked at.
    one, cost_of_one = queries()
    for _ in range(6):
        planned(house, factories.TaskFactory(package__property=house))
    many, cost_of_many = queries()

    assert (one, many) == (1, 7)
    assert cost_of_many == cost_of_one <= 60
