"""Forms that waited for a signal: done once however often they are sent, refused with both values.

How they wait on the phone is in tests/browser/test_without_signal.py.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from apps.inspections.models import Evidence
from apps.pages.offline import KEPT, release
from apps.work.models import Finding, TimeEntry
from tests import factories
from tests.pictures import jpeg


@pytest.fixture
def phone(house):
    """A browser signed in as the house's owner."""
    made = Client()
    made.force_login(house.owner)
    return made


@pytest.fixture
def task(house):
    return factories.TaskFactory(package__property=house, title="Draw the nails")


def send(phone, address, form=None, key="first"):
    """As static/pages/queue.js sends it."""
    return phone.post(address, form or {}, headers={"X-From-Queue": "1", "Idempotency-Key": key})


def test_a_form_sent_twice_is_done_once_and_answered_twice(phone, task):
    address, form = f"/tonight/tasks/{task.pk}/time/", {"minutes": "20"}

    first, second = send(phone, address, form), send(phone, address, form)

    assert (first.status_code, first.json()) == (second.status_code, second.json())
    assert first.json() == {"sentence": "20 min noted on Draw the nails."}
    assert TimeEntry.objects.count() == 1


def test_a_photo_sent_twice_is_kept_once(phone):
    def form():
        photo = SimpleUploadedFile("IMG_1.jpg", jpeg(), content_type="image/jpeg")
        return {"title": "Damp", "kind": "damp", "photo": photo}

    answers = [send(phone, "/tonight/found/", form()) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [200, 200]
    assert (Finding.objects.count(), Evidence.objects.count()) == (1, 1)


def test_a_photo_that_is_none_is_refused_at_the_forms_own_field(phone):
    photo = SimpleUploadedFile("IMG_1.jpg", b"no picture", content_type="image/jpeg")

    answer = send(phone, "/tonight/found/", {"title": "Damp", "kind": "damp", "photo": photo})

    assert answer.status_code == 415
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/photo"]
    assert Finding.objects.count() == 0


def test_it_happened_when_it_was_tapped_not_when_it_was_sent(phone, task):
    tapped = timezone.now() - timedelta(hours=2)

    send(phone, f"/tonight/tasks/{task.pk}/start/", {"at": tapped.isoformat()})

    task.refresh_from_db()
    assert task.started_at == tapped


@pytest.mark.parametrize("at", ["2999-01-01T00:00:00Z", "yesterday", "2026-03-02T18:00:00"])
def test_a_time_that_cannot_be_is_refused_at_its_field(phone, task, at):
    answer = send(phone, f"/tonight/tasks/{task.pk}/start/", {"at": at})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/at"


def test_a_step_that_someone_else_took_first_is_answered_with_what_the_book_has(house, phone, task):
    finished = timezone.now()
    task.change(status="done", started_at=finished, finished_at=finished)

    answer = send(phone, f"/tonight/tasks/{task.pk}/start/")

    assert answer.status_code == 409
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["current"]["status"] == "done"
    assert "finished" in answer.json()["current"]


def test_a_refusal_is_not_remembered_and_may_be_sent_again(phone, task):
    address = f"/tonight/tasks/{task.pk}/stop/"

    refused = send(phone, address)
    send(phone, f"/tonight/tasks/{task.pk}/start/", key="second")
    again = send(phone, address)

    assert (refused.status_code, again.status_code) == (409, 200)


def test_a_key_used_for_something_else_is_refused(phone, task):
    address = f"/tonight/tasks/{task.pk}/time/"
    send(phone, address, {"minutes": "20"})

    answer = send(phone, address, {"minutes": "30"})

    assert answer.status_code == 422
    assert TimeEntry.objects.count() == 1


def test_who_was_signed_out_meanwhile_is_told_so_and_loses_nothing(task):
    answer = send(Client(), f"/tonight/tasks/{task.pk}/start/")

    assert answer.status_code == 401
    assert answer.json()["type"].endswith("#not-authenticated")


def test_the_service_worker_is_served_at_the_root_and_keeps_what_every_page_needs(client):
    answer = Client().get("/sw.js")

    assert answer["Content-Type"].startswith("text/javascript")
    assert release() in answer.text
    assert all(name in answer.text for name in KEPT)
    assert "RELEASE" not in answer.text
    assert "FILES" not in answer.text
