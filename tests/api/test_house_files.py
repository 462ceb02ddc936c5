"""A house taken along over HTTP: asked for by its owner, made, fetched, removed."""

from __future__ import annotations

import hashlib
import stat
from datetime import timedelta

import pytest
from django.utils import timezone

from apps.moving import kept, leaving
from apps.moving.models import HouseFile
from apps.moving.tasks import requeue_left_houses
from renovation import jobs
from tests import factories
from tests.api.asking import is_problem
from tests.api.completion import whole_house
from tests.api.walk import signed_in, stranger

FILES = "/api/v1/house-files/"
LONG_AGO = jobs.LEFT_AFTER + timedelta(seconds=1)


@pytest.fixture
def queued(monkeypatch):
    """As with workers: nobody has begun yet."""
    from django.db import transaction

    monkeypatch.setattr(transaction, "on_commit", lambda act: None)


def ask(client, house, **how):
    return client.post(FILES, {"property": house.pk}, **how)


def row_of(answer):
    return HouseFile.objects.get(pk=answer.json()["id"])


def fetch(client, answer):
    fetched = client.get(f"{answer['Location']}file/")
    content = b"".join(fetched.streaming_content)
    fetched.close()
    return content


def member(house, role):
    return signed_in(factories.MemberFactory(property=house, role=role).user)


def test_the_owner_asks_for_it_and_fetches_what_the_row_gives_the_digest_of(
    client, house, handed_out
):
    answer = ask(client, whole_house(house))

    row = answer.json()
    assert (answer.status_code, row["state"], row["progress_pct"]) == (201, "ready", 100)
    content = fetch(client, answer)
    assert hashlib.sha256(content).hexdigest() == row["sha256"]
    assert len(content) == row["byte_size"]
    assert row["requested_by"] == house.owner.username
    assert row["kept_until"] > row["finished_at"]


def test_the_file_is_named_by_its_id_and_its_owner_only_can_read_it(client, house, handed_out):
    row = row_of(ask(client, house))

    path = kept.file_of(row)
    assert path.name == f"{row.pk}.house"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_nobody_but_an_owner_asks_fetches_stops_or_removes(client, house, handed_out, role):
    made = ask(client, house)
    theirs = member(house, role)

    answers = [
        ask(theirs, house),
        theirs.get(f"{made['Location']}file/"),
        theirs.post(f"{made['Location']}cancel/"),
        theirs.delete(made["Location"]),
    ]

    code = "owners-only"
    refused = [answer.json()["type"].partition("#")[2] for answer in answers]
    assert refused == (
        [code] * 4 if role == "helper" else ["not-allowed", code, "not-allowed", "not-allowed"]
    )
    assert {answer.status_code for answer in answers} == {403}
    assert kept.file_of(row_of(made)).exists()


def test_a_stranger_finds_nothing(client, house, handed_out):
    made = ask(client, house)
    outside = stranger()

    assert is_problem(ask(outside, house), 400, "invalid")
    assert outside.get(made["Location"]).status_code == 404
    assert outside.get(f"{made['Location']}file/").status_code == 404


def test_it_comes_as_something_to_save_and_is_kept_by_no_browser(client, house, handed_out):
    made = ask(client, house)

    answer = client.get(f"{made['Location']}file/", headers={"Accept": "application/zip"})

    name = f"house-{house.pk}-{made.json()['id']}.house"
    assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
    assert answer["Cache-Control"] == "private, no-store"
    assert "sandbox" in answer["Content-Security-Policy"]
    again = client.get(f"{made['Location']}file/", headers={"If-None-Match": answer["ETag"]})
    assert again.status_code == 304
    answer.close()


def test_with_workers_it_is_queued_and_there_is_no_file_yet(client, house, queued):
    answer = ask(client, house)

    assert (answer.status_code, answer.json()["state"]) == (202, "queued")
    assert answer.json()["kept_until"] is None
    refused = client.get(f"{answer['Location']}file/")
    assert is_problem(refused, 409, "house-file-not-ready")
    assert refused.json()["detail"] == "It is queued, 0 % done."


def test_asked_for_twice_while_one_is_made_it_is_the_same(client, house, queued):
    assert ask(client, house).json()["id"] == ask(client, house).json()["id"]
    assert HouseFile.objects.count() == 1


def test_progress_only_rises(house, handed_out, monkeypatch):
    told = []
    note = jobs.note_progress
    monkeypatch.setattr(jobs, "note_progress", lambda job, pct: (told.append(pct), note(job, pct)))

    leaving.request_house_file(house=whole_house(house), requested_by=house.owner)

    assert told == sorted(told)
    assert 0 < told[0] <= told[-1] <= leaving.WRITTEN_PCT


def test_stopped_in_the_middle_it_leaves_nothing(house, client, queued, monkeypatch):
    made = ask(client, whole_house(house))

    def stopped(job, pct):
        client.post(f"{made['Location']}cancel/")
        jobs.change_ours(job, progress_pct=pct)

    monkeypatch.setattr(jobs, "note_progress", stopped)
    leaving.build(house_file_id=made.json()["id"])

    assert client.get(made["Location"]).json()["state"] == "cancelled"
    assert list(kept.file_of(row_of(made)).parent.iterdir()) == []


def test_what_has_ended_is_not_stopped(client, house, handed_out):
    made = ask(client, house)

    assert is_problem(client.post(f"{made['Location']}cancel/"), 409, "wrong-step")


def test_a_folder_that_cannot_be_written_to_is_told_without_naming_it(
    client, house, settings, handed_out
):
    settings.HOUSE_FILES_DIR.write_text("a file where the folder should be")

    row = ask(client, house).json()

    assert row["state"] == "failed"
    assert row["failure"].startswith("The data folder could not be read or written: ")
    assert str(settings.HOUSE_FILES_DIR) not in row["failure"]


def test_removed_it_is_gone_with_its_file(client, house, handed_out):
    made = ask(client, house)
    path = kept.file_of(row_of(made))

    assert client.delete(made["Location"]).status_code == 204
    assert not path.exists()
    assert client.get(made["Location"]).status_code == 404


def test_the_file_of_a_house_that_was_removed_goes_by_itself(client, house, handed_out):
    path = kept.file_of(row_of(ask(client, house)))

    client.delete(f"/api/v1/properties/{house.pk}/")
    requeue_left_houses()

    assert not path.exists()


def test_after_a_week_the_file_goes_and_the_row_says_what_it_was(client, house, handed_out):
    made = ask(client, house)
    row = row_of(made)

    kept.prune(now=timezone.now() + kept.KEPT_FOR - timedelta(minutes=1))
    assert kept.file_of(row).exists()
    kept.prune(now=timezone.now() + kept.KEPT_FOR + timedelta(minutes=1))

    assert not kept.file_of(row).exists()
    missing = client.get(f"{made['Location']}file/")
    assert is_problem(missing, 404, "file-missing")
    assert "ask for a new one" in missing.json()["detail"]
    assert client.get(made["Location"]).json()["sha256"] == row.sha256


@pytest.mark.parametrize("state", ["queued", "working"])
def test_what_a_crash_left_is_made_after_all_and_its_half_file_goes(house, state):
    long_ago = timezone.now() - LONG_AGO
    row = HouseFile.objects.create(
        property=house, state=state, attempts=1, requested_at=long_ago, progressed_at=long_ago
    )
    half = kept.under_way(row)
    half.parent.mkdir()
    half.write_bytes(b"half")

    requeue_left_houses()

    row.refresh_from_db()
    assert (row.state, row.attempts) == ("ready", 2)
    assert list(half.parent.iterdir()) == [kept.file_of(row)]


def test_what_is_at_work_is_left_alone(house):
    row = HouseFile.objects.create(
        property=house, state="working", attempts=1, progressed_at=timezone.now()
    )
    draft = kept.under_way(row)
    draft.parent.mkdir()
    drafts = [draft, draft.with_name(f".{draft.name}-x8k2")]
    for path in drafts:
        path.write_bytes(b"half")

    requeue_left_houses()

    row.refresh_from_db()
    assert (row.state, row.attempts) == ("working", 1)
    assert all(path.exists() for path in drafts)
