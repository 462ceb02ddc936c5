"""What happens by itself without Redis: the thread beside the server."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from celery import shared_task
from django.test import Client

from apps.planning.models import Plan
from renovation import beat, health
from renovation.beat import Beat, beating
from tests import factories
from tests.api.houses import MONDAY, crew, package
from tests.installation import until

done = []


@shared_task
def one():
    done.append("one")


@shared_task
def fails():
    done.append("fails")
    raise OSError("no room left")


@shared_task
def two():
    done.append("two")


def schedule(*tasks, seconds=30.0):
    return {
        name: {"task": f"{__name__}.{name}", "schedule": seconds, "options": {}} for name in tasks
    }  # fmt: skip


class Clock:
    def __init__(self):
        self.now = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)

    def __call__(self):
        return self.now

    def sleeps(self, **for_so_long):
        self.now += timedelta(**for_so_long)


@pytest.fixture(autouse=True)
def nothing_done():
    done.clear()
    health.forget()
    yield
    health.forget()


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def one_beat(tmp_path, clock):
    """Make one that is asked to look by hand."""
    made = []

    def make(*tasks, **every):
        made.append(Beat(schedule(*tasks, **every), tmp_path, clock=clock))
        return made[-1]

    yield make
    for each in made:
        each.lock.leave()


def test_what_is_due_is_done_in_order_and_again_when_it_is_due_again(db, one_beat, clock):
    ours = one_beat("one", "two")

    ours.look()
    clock.sleeps(seconds=29)
    ours.look()
    assert done == ["one", "two"]
    clock.sleeps(seconds=1)
    ours.look()

    assert done == ["one", "two"] * 2


def test_a_laptop_that_slept_all_day_does_everything_once(db, one_beat, clock):
    ours = one_beat("one", "two")
    ours.look()
    done.clear()

    clock.sleeps(hours=14)
    ours.look()
    ours.look()

    assert done == ["one", "two"]


def test_a_task_that_fails_is_logged_in_a_sentence_and_keeps_none_from_being_done(
    db, one_beat, clock, caplog
):
    ours = one_beat("fails", "two")

    ours.look()
    clock.sleeps(seconds=30)
    ours.look()

    assert done == ["fails", "two"] * 2
    assert "fails failed; it is tried again when it is next due" in caplog.text
    assert "no room left" in caplog.text


def test_of_two_on_one_data_folder_one_does_it_until_it_ends(db, one_beat, clock):
    first, second = one_beat("one"), one_beat("one")

    first.look()
    second.look()
    assert done == ["one"]
    first.lock.leave()
    second.look()

    assert done == ["one", "one"]


def test_a_data_folder_that_takes_no_file_is_said_and_tried_again(db, tmp_path, clock, caplog):
    folder = tmp_path / "data"
    ours = Beat(schedule("one"), folder, clock=clock)

    ours.look()
    assert done == []
    assert "nothing happens by itself" in caplog.text
    folder.mkdir()
    ours.look()
    ours.lock.leave()

    assert done == ["one"]


def test_everything_on_the_schedule_can_be_done_here(
    db, settings, tmp_path, clock, caplog, monkeypatch
):
    # As Django's test client does: the connection that holds the test's transaction stays.
    monkeypatch.setattr(beat, "close_old_connections", int)
    ours = Beat(settings.CELERY_BEAT_SCHEDULE, tmp_path, clock=clock)
    settings.EVIDENCE_DIR, settings.COMPLETION_DIR = tmp_path / "evidence", tmp_path / "files"

    ours.look()
    ours.lock.leave()

    assert set(ours.timetable.begun_at) == {
        row["task"] for row in settings.CELERY_BEAT_SCHEDULE.values()
    }
    assert "failed" not in caplog.text


def requeueing(settings, folder):
    return Beat({"it": settings.CELERY_BEAT_SCHEDULE["requeue-left-plans"]}, folder)


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_a_crash_left_queued_is_made(house, settings, tmp_path):
    crew(house)
    factories.TaskFactory(package=package(house))
    left = Plan.objects.create(property=house, as_of=MONDAY, horizon_days=14, seconds=1)
    Plan.objects.filter(pk=left.pk).update(requested_at=MONDAY)
    ours = requeueing(settings, tmp_path)

    ours.look()
    ours.lock.leave()

    left.refresh_from_db()
    assert left.state == "ready"


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_is_about_to_be_made_is_left_to_who_asked(house, settings, tmp_path):
    asked = Plan.objects.create(property=house, as_of=MONDAY, horizon_days=14, seconds=1)
    ours = requeueing(settings, tmp_path)

    ours.look()
    ours.lock.leave()

    asked.refresh_from_db()
    assert asked.state == "queued"


def test_the_thread_goes_on_until_the_server_ends_and_is_not_begun_twice(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.CELERY_BEAT_SCHEDULE = schedule("one", seconds=0.01)

    with beating():
        thread = beat.running
        until(lambda: len(done) > 3, "several looks")
        assert thread.well()

    assert not thread.is_alive()
    assert beat.running is None
    assert Beat(schedule("one"), tmp_path).lock.take()


def test_with_redis_beat_and_a_worker_see_to_it(settings):
    settings.REDIS_URL = "redis://127.0.0.1:1/0"

    with beating():
        assert beat.running is None


def test_the_probe_is_told_of_it_where_there_is_one(db, settings, tmp_path):
    settings.DATA_DIR, settings.CELERY_BEAT_SCHEDULE = tmp_path, {}

    with beating():
        well = Client().get("/readyz").json()["checks"]
        health.forget()
        beat.running.over.set()
        beat.running.join()
        ended = Client().get("/readyz")

    assert well["beat"] == "ready"
    assert ended.status_code == 503
    assert ended.json()["checks"]["beat"] == (
        "Nothing happens by itself any more; start the program again."
    )
