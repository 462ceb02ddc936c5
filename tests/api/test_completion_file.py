"""The completion file over HTTP: asked for, made, told of, fetched; and what goes wrong."""

from __future__ import annotations

import hashlib
from datetime import timedelta

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from apps.inspections.completion import services
from apps.inspections.models import CompletionFile
from apps.property.models import Property
from renovation import jobs
from tests import factories
from tests.api.asking import is_problem
from tests.api.completion import FILES, ask, fetch, photo, whole_house


@pytest.fixture(autouse=True)
def folder(settings, tmp_path, monkeypatch):
    """The data folder. Builds are handed out when the request commits; in a test it never does."""
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    settings.COMPLETION_DIR = tmp_path / "completion"
    monkeypatch.setattr(services.transaction, "on_commit", lambda act: act())
    return tmp_path


def test_it_is_made_at_once_with_in_process_tasks(client, house):
    answer = ask(client, house)

    row = answer.json()
    assert answer.status_code == 201
    assert (row["state"], row["progress_pct"], row["failure"]) == ("ready", 100, "")
    assert row["requested_by"] == house.owner.username
    assert client.get(answer["Location"]).json() == row


def test_the_zip_is_the_one_of_which_the_row_gives_the_digest(client, house):
    row = ask(client, house).json()

    content = fetch(client, row)

    assert hashlib.sha256(content).hexdigest() == row["sha256"]
    assert len(content) == row["byte_size"]


def test_the_same_row_built_again_makes_the_same_bytes(client, house):
    row = CompletionFile.objects.get(pk=ask(client, whole_house(house)).json()["id"])
    before = row.sha256
    CompletionFile.objects.filter(pk=row.pk).update(
        state="queued", sha256="", byte_size=None, finished_at=None
    )

    services.build(completion_file_id=row.pk)

    row.refresh_from_db()
    assert row.sha256 == before


@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_every_member_may_fetch_it(client, house, role):
    row = ask(client, house).json()
    member = factories.MemberFactory(property=house, role=role).user
    theirs = APIClient()
    theirs.force_authenticate(member)

    assert fetch(theirs, row)[:2] == b"PK"


def test_a_viewer_may_not_ask_for_one(house):
    viewer = factories.MemberFactory(property=house, role="viewer").user
    theirs = APIClient()
    theirs.force_authenticate(viewer)

    assert is_problem(ask(theirs, house), 403, "not-allowed")
    assert CompletionFile.objects.count() == 0


def test_a_stranger_finds_nothing(client, house):
    row = ask(client, house).json()
    outside = APIClient()
    outside.force_authenticate(factories.UserFactory())

    assert is_problem(ask(outside, house), 404, "not-found")
    assert outside.get(f"{FILES}{row['id']}/").status_code == 404
    assert outside.get(f"{FILES}{row['id']}/file/").status_code == 404
    assert outside.get(FILES).json()["results"] == []


def test_the_file_comes_with_headers_that_let_a_browser_only_save_it(client, house):
    row = ask(client, house).json()

    answer = client.get(f"{FILES}{row['id']}/file/", headers={"Accept": "application/zip"})

    assert answer["Content-Type"] == "application/zip"
    assert (
        answer["Content-Disposition"] == f'attachment; filename="completion-file-{row["id"]}.zip"'
    )
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-cache"
    assert "sandbox" in answer["Content-Security-Policy"]
    again = client.get(f"{FILES}{row['id']}/file/", headers={"If-None-Match": answer["ETag"]})
    assert again.status_code == 304
    answer.close()


def test_a_queued_one_is_answered_with_202_and_has_no_file_yet(client, house, monkeypatch):
    monkeypatch.setattr(services.transaction, "on_commit", lambda act: None)

    answer = ask(client, house)

    row = answer.json()
    assert (answer.status_code, row["state"], row["progress_pct"]) == (202, "queued", 0)
    refused = client.get(f"{FILES}{row['id']}/file/")
    assert is_problem(refused, 409, "completion-file-not-ready")
    assert refused.json()["detail"] == "It is queued, 0 % done."


def test_asking_twice_while_one_is_made_answers_that_one(client, house, monkeypatch):
    monkeypatch.setattr(services.transaction, "on_commit", lambda act: None)

    rows = [ask(client, house).json()["id"] for _ in range(2)]

    assert rows[0] == rows[1]
    assert CompletionFile.objects.count() == 1


def test_asking_again_later_makes_a_new_one_and_keeps_the_old(client, house):
    first, second = (ask(client, house).json() for _ in range(2))

    assert first["id"] != second["id"]
    assert fetch(client, first)[:2] == b"PK"


def test_a_repeated_request_with_its_key_makes_one(client, house):
    address = f"/api/v1/properties/{house.pk}/completion-file/"

    answers = [client.post(address, headers={"Idempotency-Key": "k1"}) for _ in range(2)]

    assert answers[0].json() == answers[1].json()
    assert CompletionFile.objects.count() == 1


def test_a_list_is_filtered_by_house_and_state(client, house):
    row = ask(client, house).json()
    other = factories.MemberFactory(user=house.owner, role="owner").property
    ask(client, other)

    found = client.get(f"{FILES}?property={house.pk}&state=ready").json()["results"]

    assert found == [row]
    assert client.get(f"{FILES}?property={house.pk}&state=failed").json()["count"] == 0


def test_progress_only_rises_and_is_told_in_percent(client, house):
    from apps.inspections.completion.making import make

    photo(house)
    row = CompletionFile.objects.get(pk=ask(client, house).json()["id"])
    told = []

    make(row, services.file_of(row).with_suffix(".again"), told=told.append)

    assert told == sorted(told)
    assert len(set(told)) >= 5
    assert 0 < told[0] < told[-1] <= 100


def test_progress_stands_in_the_row_while_it_is_made(client, house, monkeypatch):
    monkeypatch.setattr(services.transaction, "on_commit", lambda act: None)
    row = CompletionFile.objects.get(pk=ask(client, house).json()["id"])
    CompletionFile.objects.update(state="building", attempts=1)
    row.refresh_from_db()

    jobs.note_progress(row, 40)

    seen = client.get(f"{FILES}{row.pk}/").json()
    assert (seen["state"], seen["progress_pct"]) == ("building", 40)
    assert seen["version"] > row.version


def test_a_build_that_cannot_write_says_so_and_leaves_nothing(client, house, folder):
    (folder / "completion").write_text("a file where the folder should be")

    answer = ask(client, house)

    row = answer.json()
    assert (answer.status_code, row["state"]) == (201, "failed")
    assert row["failure"].startswith("The data folder could not be read or written: ")
    assert (folder / "completion").is_file()
    refused = client.get(f"{FILES}{row['id']}/file/")
    assert is_problem(refused, 409, "completion-file-not-ready")
    assert refused.json()["detail"] == row["failure"]


def test_a_build_that_stops_halfway_leaves_nothing_half_written(client, house, folder):
    photo(house)
    # No such zone can be stored over the API; the sheets cannot say a time in it.
    Property.objects.filter(pk=house.pk).update(timezone="Nowhere/At_All")

    row = ask(client, house).json()

    assert row["state"] == "failed"
    assert row["failure"] == (
        "The completion file stopped on an error; the record itself is untouched."
    )
    assert list((folder / "completion").iterdir()) == []


def test_after_a_failure_another_can_be_asked_for(client, house):
    Property.objects.filter(pk=house.pk).update(timezone="Nowhere/At_All")
    ask(client, house)
    Property.objects.filter(pk=house.pk).update(timezone="Europe/London")

    assert ask(client, house).json()["state"] == "ready"


@pytest.mark.parametrize("state", ["queued", "building"])
def test_one_that_a_crash_left_behind_is_built_after_all(house, state):
    long_ago = timezone.now() - jobs.LEFT_AFTER - timedelta(seconds=1)
    row = CompletionFile.objects.create(
        property=house, state=state, attempts=1, requested_at=long_ago, progressed_at=long_ago
    )

    services.requeue_left()

    row.refresh_from_db()
    assert (row.state, row.attempts) == ("ready", 2)


def test_one_that_is_at_work_is_left_alone(house):
    row = CompletionFile.objects.create(
        property=house, state="building", attempts=1, progressed_at=timezone.now()
    )

    services.requeue_left()
    services.build(completion_file_id=row.pk)

    row.refresh_from_db()
    assert (row.state, row.attempts) == ("building", 1)


def test_a_worker_given_up_for_dead_writes_nothing_when_it_comes_back(house):
    late = CompletionFile.objects.create(property=house, state="building", attempts=1)
    CompletionFile.objects.filter(pk=late.pk).update(attempts=2)

    with pytest.raises(jobs.GivenUp):
        jobs.finish(late, state="failed", failure="Too late.")

    late.refresh_from_db()
    assert late.state == "building"


def test_a_file_that_was_removed_by_hand_is_a_404_with_a_way_out(client, house):
    row = ask(client, house).json()
    services.file_of(CompletionFile.objects.get(pk=row["id"])).unlink()

    answer = client.get(f"{FILES}{row['id']}/file/")

    assert is_problem(answer, 404, "file-missing")
    assert "ask for a new one" in answer.json()["detail"]


def test_old_files_are_pruned_but_the_newest_of_a_house_stays(client, house):
    rows = [CompletionFile.objects.get(pk=ask(client, house).json()["id"]) for _ in range(3)]
    long_ago = timezone.now() - services.KEPT_FOR - timedelta(days=1)
    CompletionFile.objects.filter(pk__in=[rows[0].pk, rows[2].pk]).update(finished_at=long_ago)

    services.prune(now=timezone.now())

    assert [services.file_of(row).exists() for row in rows] == [False, True, True]
    assert is_problem(client.get(f"{FILES}{rows[0].pk}/file/"), 404, "file-missing")


def test_what_a_crash_left_half_built_is_pruned_after_a_day(house, folder):
    (folder / "completion").mkdir()
    left = folder / "completion" / f"{services.UNDER_WAY}7-1"
    left.write_bytes(b"half")

    services.prune(now=timezone.now())
    assert left.exists()
    services.prune(now=timezone.now() + timedelta(days=2))

    assert not left.exists()
