"""A house brought in over HTTP: sent, added whole and once, or refused with nothing left."""

from __future__ import annotations

import hashlib
from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError
from django.utils import timezone

from apps.inspections.evidence import store
from apps.inspections.models import SignOff
from apps.inspections.verify import first_trouble
from apps.moving import arriving, importing, kept
from apps.moving.exporting import export_house
from apps.moving.models import HouseArrival
from apps.moving.rows import in_house, rows_of_house
from apps.moving.tasks import requeue_left_houses
from apps.planning.models import Plan
from apps.planning.routine.models import PlanningPreferences
from apps.property.models import Member, Property
from renovation import jobs
from tests import factories, pictures
from tests.api.actors import changed, everything
from tests.api.asking import is_problem
from tests.api.completion import whole_house
from tests.api.houses import MONDAY, crew, package, plan
from tests.api.walk import signed_in

ARRIVALS = "/api/v1/house-arrivals/"


@pytest.fixture
def queued(monkeypatch):
    """As with workers: nobody has begun yet."""
    from django.db import transaction

    monkeypatch.setattr(transaction, "on_commit", lambda act: None)


@pytest.fixture
def content(house, tmp_path):
    """The file of a house that has a bit of everything and is signed off."""
    look = factories.InspectionFactory(property=whole_house(house))
    factories.SignOffFactory(inspection=look, recorded_by=house.owner)
    look.change(state="accepted")
    path = tmp_path / "a.house"
    export_house(house, path)
    return path.read_bytes()


def send(client, content, **how):
    return client.post(ARRIVALS, {"file": SimpleUploadedFile("lane.house", content)}, **how)


def row_of(answer):
    return HouseArrival.objects.get(pk=answer.json()["id"])


def counts(house):
    return {
        model._meta.label: rows_of_house(model, house).count()
        for model in in_house()
        if model is not Member
    }


def uploads():
    folder = kept.upload_of(HouseArrival(pk=1)).parent
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def test_taken_out_and_brought_in_it_is_the_same_house_with_new_ids(
    client, house, content, handed_out
):
    answer = send(client, content)

    row = answer.json()
    assert (answer.status_code, row["state"], row["progress_pct"]) == (201, "ready", 100)
    assert (row["file_name"], row["byte_size"]) == ("lane.house", len(content))
    came = Property.objects.get(pk=row["property"])
    assert came.pk != house.pk
    assert counts(came) == counts(house)
    assert first_trouble(came) is None
    digests = [
        list(SignOff.objects.filter(property=one).values_list("digest", flat=True))
        for one in (house, came)
    ]
    assert digests[0] == digests[1] != []
    assert uploads() == []


def test_what_a_house_file_holds_is_what_comes_in(client, house, handed_out):
    made = client.post("/api/v1/house-files/", {"property": whole_house(house).pk})
    fetched = client.get(f"{made['Location']}file/")

    row = send(client, b"".join(fetched.streaming_content)).json()
    fetched.close()

    assert counts(Property.objects.get(pk=row["property"])) == counts(house)


def test_it_is_theirs_who_sent_it_and_gives_nobody_else_anything(house, content, handed_out):
    helper = factories.MemberFactory(property=house, role="helper").user
    newcomer = factories.UserFactory()

    row = send(signed_in(newcomer), content).json()

    members = Member.objects.filter(property=row["property"])
    assert list(members.values_list("user_id", "role")) == [(newcomer.pk, "owner")]
    assert helper.houses.count() == 1
    kept_names = get_user_model().objects.filter(is_active=False)
    assert kept_names.exists()
    assert not any(one.has_usable_password() or one.houses.exists() for one in kept_names)


def test_no_file_makes_this_server_send_mail_to_anybody(client, house, tmp_path, handed_out):
    PlanningPreferences.objects.create(
        property=house, brief_to="anna@example.org", brief_at="07:00"
    )
    export_house(house, tmp_path / "a.house")

    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    came = PlanningPreferences.objects.get(property=row["property"])
    assert (came.brief_to, f"{came.brief_at:%H:%M}") == ("", "07:00")


def test_nobody_else_sees_what_somebody_sent(client, house, content, handed_out):
    made = send(signed_in(factories.UserFactory()), content)

    assert client.get(made["Location"]).status_code == 404
    assert client.post(f"{made['Location']}cancel/").status_code == 404
    assert client.get(ARRIVALS).json()["count"] == 0


DAMAGED = {
    "cut short": (lambda content: content[:-200], "cut short"),
    "a byte is another": (
        lambda content: content[:3000] + bytes([content[3000] ^ 1]) + content[3001:], "damaged",
    ),
    "no house at all": (lambda _: b"%PDF-1.4\n%%EOF\n", "no house of this program"),
}  # fmt: skip


@pytest.mark.parametrize("what", DAMAGED)
def test_a_damaged_file_is_refused_whole_and_nothing_is_left(
    client, house, content, handed_out, what
):
    damage, words = DAMAGED[what]
    files, before = list(store.digests()), everything()

    answer = send(client, damage(content))

    row = answer.json()
    assert (answer.status_code, row["state"], row["property"]) == (201, "failed", None)
    assert words in row["failure"]
    assert changed(before) == ["moving.HouseArrival"]
    assert list(store.digests()) == files
    assert uploads() == []


def test_a_whole_backup_is_told_from_a_house(client, house, tmp_path, handed_out):
    from apps.moving.saving import back_up

    back_up(tmp_path / "all.backup")

    row = send(client, (tmp_path / "all.backup").read_bytes()).json()

    assert row["failure"] == "This is a whole backup: use restore."


@pytest.mark.parametrize("many", [1, 5000])
def test_a_file_larger_than_allowed_is_refused_before_it_is_kept(client, settings, many):
    settings.HOUSE_MAX_BYTES = 1024**2

    answer = send(client, b"x" * (1024**2 + many))

    assert is_problem(answer, 413, "too-large")
    assert "1 MiB" in answer.json()["detail"]
    assert HouseArrival.objects.count() == 0
    assert uploads() == []


def test_a_house_is_larger_than_a_photo_may_be(client, settings, queued):
    settings.UPLOAD_MAX_BYTES = 1000

    assert send(client, b"x" * 5000).status_code == 202


def test_without_a_file_it_says_so(client):
    answer = client.post(ARRIVALS, {})

    assert is_problem(answer, 400, "invalid")
    assert answer.json()["errors"][0]["pointer"] == "/file"


def test_rows_that_would_fill_the_memory_are_refused(client, content, handed_out, monkeypatch):
    monkeypatch.setattr(arriving, "MOST_ROW_BYTES", 1024)

    assert "Unpacked it is more than" in send(client, content).json()["failure"]


def test_a_planned_house_comes_in_with_its_plan(client, house, tmp_path, handed_out):
    crew(house)
    factories.TaskFactory(package=package(house))
    made = plan(house)
    export_house(house, tmp_path / "a.house")

    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    came = Plan.objects.get(property=row["property"], is_current=True)
    made.refresh_from_db()
    assert came.stints.count() == made.stints.count() > 0
    assert came.objective == made.objective != []
    assert client.get(f"/api/v1/plans/{came.pk}/").json()["objective"] == came.objective


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("alerts", ["x"]), ("objective", [{"level": "late"}]), ("unplaced", {"x": [1]}),
        ("moved", 5), ("odds", "x"), ("changes", [{"about": 5}]), ("unready", [[]]),
    ],
)  # fmt: skip
def test_an_answer_that_no_page_could_show_is_refused(
    client, house, tmp_path, handed_out, name, value
):
    Plan.objects.create(property=house, as_of=MONDAY, state="ready", **{name: value})
    export_house(house, tmp_path / "a.house")

    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    assert row["failure"] == f"planning.Plan: what is in {name} makes no sense."
    assert Property.objects.count() == 1


@pytest.mark.parametrize(
    ("file", "kind", "words"),
    [
        (lambda: pictures.pdf(script="app.alert(1)"), "document", "would act by itself"),
        (lambda: pictures.png_bomb(9000, 8000), "photo", "more pixels"),
        (lambda: pictures.png()[:60], "photo", "ends too early"),
    ],
)
def test_a_paper_that_acts_and_a_photo_that_would_fill_the_memory_are_refused(
    client, house, tmp_path, handed_out, file, kind, words
):
    content = file()
    sha256 = hashlib.sha256(content).hexdigest()
    store.place(sha256, content, None)
    factories.EvidenceFactory(
        property=house, sha256=sha256, byte_size=len(content), kind=kind,
        content_type="application/pdf" if kind == "document" else "image/png",
        uploaded_by=house.owner,
    )  # fmt: skip
    export_house(house, tmp_path / "a.house")

    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    assert words in row["failure"]
    assert Property.objects.count() == 1


def test_sent_again_with_its_key_it_comes_in_once(client, content, handed_out):
    answers = [send(client, content, HTTP_IDEMPOTENCY_KEY="k") for _ in range(2)]

    assert answers[1]["Idempotency-Replayed"] == "true"
    assert answers[0].json()["id"] == answers[1].json()["id"]
    assert Property.objects.count() == 2


def test_one_house_of_a_person_comes_in_at_a_time(client, content, queued):
    first = send(client, content)

    answer = send(client, content)

    assert first.status_code == 202
    assert is_problem(answer, 409, "house-arriving")
    assert answer.json()["house_arrival"] == first.json()["id"]
    assert uploads() == [f"{first.json()['id']}.house"]
    assert send(signed_in(factories.UserFactory()), content).status_code == 202


def test_stopped_before_it_began_nothing_is_kept(client, content, queued, monkeypatch):
    from django.db import transaction

    made = send(client, content)
    monkeypatch.setattr(transaction, "on_commit", lambda act: act())

    answer = client.post(f"{made['Location']}cancel/")
    arriving.build(house_arrival_id=made.json()["id"])

    assert answer.json()["state"] == "cancelled"
    assert Property.objects.count() == 1
    assert uploads() == []


@pytest.mark.parametrize("share", [importing.LOOKED, importing.READ, importing.PLACED])
def test_stopped_in_the_middle_it_leaves_no_half_house(client, content, queued, monkeypatch, share):
    made = send(client, content)
    files, before = list(store.digests()), everything()
    note = jobs.note_progress

    def stopped(job, pct):
        note(job, pct)
        if pct >= 100 * share:
            client.post(f"{made['Location']}cancel/")

    monkeypatch.setattr(jobs, "note_progress", stopped)
    arriving.build(house_arrival_id=made.json()["id"])

    assert changed(before) == ["moving.HouseArrival"]
    assert row_of(made).state == "cancelled"
    assert list(store.digests()) == files
    assert uploads() == []


def test_a_worker_given_up_for_dead_adds_no_second_house(client, content, queued, monkeypatch):
    made = send(client, content)
    place = importing.placed

    def lost_meanwhile(*how, **more):
        # Another worker was given the row, and has added the house.
        monkeypatch.setattr(importing, "placed", place)
        HouseArrival.objects.update(state="queued")
        arriving.build(house_arrival_id=made.json()["id"])
        return place(*how, **more)

    monkeypatch.setattr(importing, "placed", lost_meanwhile)
    arriving.build(house_arrival_id=made.json()["id"])

    row = row_of(made)
    assert (row.state, row.attempts) == ("ready", 2)
    assert set(Property.objects.exclude(pk=row.property_id).values_list("members__role")) == {
        ("owner",)
    }
    assert Property.objects.count() == 2
    assert first_trouble(row.property) is None


def test_what_a_crash_left_comes_in_after_all_and_once(client, content, queued):
    made = send(client, content)
    long_ago = timezone.now() - jobs.LEFT_AFTER - timedelta(seconds=1)
    HouseArrival.objects.update(
        state="working", attempts=1, requested_at=long_ago, progressed_at=long_ago
    )

    for _ in range(2):
        requeue_left_houses()

    assert row_of(made).state == "ready"
    assert Property.objects.count() == 2
    assert uploads() == []


def test_a_database_that_went_away_is_no_fault_of_the_file(client, content, queued, monkeypatch):
    made = send(client, content)

    def away(*_, **__):
        raise OperationalError("the connection is lost")

    with monkeypatch.context() as broken:
        broken.setattr(importing, "add", away)
        broken.setattr(jobs, "tell", lambda kind, job_id: True)
        arriving.build(house_arrival_id=made.json()["id"])
    assert row_of(made).state == "queued"
    assert uploads() == [f"{made.json()['id']}.house"]

    arriving.build(house_arrival_id=made.json()["id"])
    assert row_of(made).state == "ready"


def test_a_photo_that_was_swept_before_its_row_was_there_is_put_back(
    client, content, queued, monkeypatch
):
    made, files = send(client, content), list(store.digests())
    finish = jobs.finish

    def swept(job, **values):
        for sha256 in files:
            store.remove(sha256)
        finish(job, **values)

    monkeypatch.setattr(jobs, "finish", swept)
    arriving.build(house_arrival_id=made.json()["id"])

    assert row_of(made).state == "ready"
    assert list(store.digests()) == files != []


def test_an_error_at_the_very_end_leaves_no_completion_file_behind(
    client, house, tmp_path, settings, handed_out, monkeypatch
):
    client.post(f"/api/v1/properties/{house.pk}/completion-file/")
    export_house(house, tmp_path / "a.house")
    before = sorted(settings.COMPLETION_DIR.iterdir())

    def broken(**_):
        raise RuntimeError("whatever it may be")

    monkeypatch.setattr(importing, "Imported", broken)
    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    assert row["failure"] == "Bringing the house in stopped on an error; nothing was added."
    assert Property.objects.count() == 1
    assert sorted(settings.COMPLETION_DIR.iterdir()) == before != []


def test_what_was_sent_and_is_gone_says_what_to_do(client, content, queued):
    made = send(client, content)
    kept.upload_of(row_of(made)).unlink()

    arriving.build(house_arrival_id=made.json()["id"])

    assert row_of(made).failure == (
        "What was sent is not in the data folder any more: send it again."
    )


def test_an_upload_whose_row_never_came_goes_after_an_hour(db, settings):
    settings.HOUSE_ARRIVALS_DIR.mkdir()
    left = settings.HOUSE_ARRIVALS_DIR / "77.house"
    left.write_bytes(b"x")

    kept.tidy(now=timezone.now())
    assert left.exists()
    kept.tidy(now=timezone.now() + timedelta(hours=2))

    assert not left.exists()


def test_people_without_end_are_refused(house, tmp_path, client, handed_out, monkeypatch):
    from apps.moving import people

    monkeypatch.setattr(people, "MOST_PEOPLE", 0)
    export_house(house, tmp_path / "a.house")
    before = get_user_model().objects.count()

    row = send(client, (tmp_path / "a.house").read_bytes()).json()

    assert row["failure"] == "It names more than 0 people."
    assert get_user_model().objects.count() == before


def test_a_house_that_came_in_may_be_removed_again(client, house, tmp_path, handed_out):
    export_house(house, tmp_path / "a.house")
    made = send(client, (tmp_path / "a.house").read_bytes())

    client.delete(f"/api/v1/properties/{made.json()['property']}/")

    assert client.get(made["Location"]).json()["property"] is None


def test_the_list_is_filtered_and_a_strangers_house_is_as_unknown_as_none(
    client, house, content, handed_out
):
    came = send(client, content).json()
    send(client, content[:-10])
    theirs = factories.MemberFactory(role="owner").property

    found = client.get(ARRIVALS, {"property": came["property"], "state": "ready"}).json()
    answers = [client.get(ARRIVALS, {"property": pk}) for pk in (theirs.pk, 987_654_321)]

    assert [row["id"] for row in found["results"]] == [came["id"]]
    assert client.get(ARRIVALS, {"property__isnull": True}).json()["count"] == 1
    assert {answer.status_code for answer in answers} == {400}
    assert answers[0].json()["errors"] == answers[1].json()["errors"]
