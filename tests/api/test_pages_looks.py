"""The looks as answers: what stands before each, what was said, the papers and the file."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from apps.inspections.models import Certificate, CompletionFile, Deviation, Evidence, SignOff
from tests import factories
from tests.pictures import jpeg

HOSTILE = "<script>alert(1)</script>"
PASSED = {"result": "accepted", "seen_by": "A. Surveyor"}


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def look_of(house, **fields):
    return factories.InspectionFactory(property=house, **fields)


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def photo():
    return SimpleUploadedFile("ends.jpg", jpeg(), content_type="image/jpeg")


def post(browser, path, **fields):
    return browser.post(path, fields, follow=True)


def undo(browser, answer):
    """Press Undo on the page just shown."""
    html = answer.content.decode().partition('<div class="said-line')[2]
    form = re.search(r'<form[^>]* action="([^"]+)"[^>]*>(.*?)<button>Undo', html, re.DOTALL)
    fields = re.findall(r'name="(\w+)" value="([^"]*)"', form[2])
    return post(browser, form[1], **{name: unescape(value) for name, value in fields})


def text(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


def test_a_look_says_what_stands_before_it_and_what_waits_for_it(browser, house):
    look = look_of(house, required_evidence=[{"key": "ends", "title": "Photo of the ends"}])
    look.looks_at.add(task_of(house, title="Splice the ends"))
    look.blocks.add(task_of(house, title="Lay the boards"))

    for path in ("/looks/", f"/looks/{look.pk}/"):
        shown = text(browser.get(path))
        assert "Not done yet: Splice the ends" in shown
        assert "Not on file: Photo of the ends" in shown
        assert "Waiting for it: <b>Lay the boards</b>" in shown


def test_a_sign_off_with_its_photo_opens_the_task_that_waited(browser, house, settings, tmp_path):
    settings.EVIDENCE_DIR = tmp_path
    look = look_of(house, required_evidence=[{"key": "ends", "title": "Photo of the ends"}])
    task = task_of(house)
    look.blocks.add(task)
    start = {"path": f"/tonight/tasks/{task.pk}/start/", "back": "/tonight/"}

    held = post(browser, **start)
    answer = post(browser, f"/looks/{look.pk}/sign/", **PASSED, photo=photo(), requirement="ends")
    opened = post(browser, **start)

    kept = Evidence.objects.get()
    assert "not done" in text(held)
    assert "In the record as number 1" in text(answer)
    assert (kept.inspection, kept.requirement, kept.title) == (look, "ends", "Photo of the ends")
    assert "Started" in text(opened)


def test_a_sign_off_is_put_right_by_a_further_one_and_never_undone(browser, house):
    look = look_of(house)
    path = f"/looks/{look.pk}/sign/"

    answer = post(browser, path, **PASSED)
    wrong = SignOff.objects.get()
    again = post(browser, path, result="rejected", seen_by="A. Surveyor", supersedes=wrong.pk,
                 reason="Typed on the wrong line")  # fmt: skip

    right = SignOff.objects.get(number=2)
    assert "<button>Undo" not in text(answer)
    assert (right.supersedes, right.seen_at) == (wrong, wrong.seen_at)
    assert "corrected by number 2" in text(again)
    assert "Typed on the wrong line" in text(again)


def test_conditions_come_with_the_look_and_are_met_and_open_again(browser, house):
    look = look_of(house)
    task = task_of(house)
    look.blocks.add(task)

    post(browser, f"/looks/{look.pk}/sign/", result="accepted_with_conditions", seen_by="B",
         conditions="Treat the ends\n\nSend the sheet\n", waits=task.pk,
         due_on="2026-12-24")  # fmt: skip
    first, second = SignOff.objects.get().conditions.order_by("pk")
    answer = post(browser, f"/looks/conditions/{first.pk}/clear/", how="Brushed on twice")
    first.refresh_from_db()
    assert (first.cleared_note, list(first.blocks.all())) == ("Brushed on twice", [task])
    undo(browser, answer)

    first.refresh_from_db()
    assert second.text == "Send the sheet"
    assert first.cleared_at is None
    assert "Treat the ends" in text(browser.get("/looks/"))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"result": ""}, "Say what they said."),
        ({"result": "overridden"}, "Select a valid choice"),
        ({"seen_by": ""}, "Say who looked."),
        ({"seen": "2999-01-01T10:00"}, "That is still to come"),
        ({"seen": "soon"}, "Say when, as a day and a time."),
        ({"result": "accepted_with_conditions"}, "Write what they asked for"),
        ({"conditions": "Treat the ends"}, "Only what is passed with conditions"),
    ],
)
def test_a_sign_off_that_cannot_be_is_refused_at_its_field(browser, house, wrong, said):
    look = look_of(house)
    path, fields = f"/looks/{look.pk}/sign/", {**PASSED, "note": "Their own words", **wrong}

    answer = post(browser, path, **fields)
    queued = browser.post(path, fields, headers={"X-From-Queue": "1"})

    assert (answer.status_code, queued.status_code) == (400, 400)
    assert f'<p class="field-error">{said}' in text(answer)
    assert "Their own words" in text(answer)
    assert queued["Content-Type"].startswith("application/problem+json")
    assert said in queued.json()["errors"][0]["detail"]
    assert not SignOff.objects.exists()


def test_notice_and_time_are_noted_and_undone(browser, house):
    look = look_of(house)
    path = f"/looks/{look.pk}/"

    assert "Notice: Joist ends before boards" in text(browser.get(path))
    noticed = post(browser, f"{path}notice/")
    booked = post(browser, f"{path}book/", on="2026-12-09", **{"from": "09:30", "to": "10:00"})
    look.refresh_from_db()
    assert (look.state, look.booked_starts.astimezone().isoformat()[:10]) == (
        "booked",
        "2026-12-09",
    )
    moved = post(browser, f"{path}book/", on="2026-12-10", **{"from": "11:00", "to": "12:00"})
    undo(browser, moved)
    look.refresh_from_db()
    assert look.booked_starts.day == 9
    undo(browser, booked)
    undo(browser, noticed)

    look.refresh_from_db()
    assert (look.state, look.notified_at, look.booked_starts) == ("due", None, None)


def test_a_deviation_is_written_put_decided_and_each_taken_back(browser, house):
    by = factories.SignOffFactory(inspection=look_of(house))

    added = post(browser, "/looks/deviations/add/", specified="C16", built="C24", why="None left")
    row = Deviation.objects.get()
    post(browser, f"/looks/deviations/{row.pk}/put/")
    decided = post(
        browser, f"/looks/deviations/{row.pk}/decide/", step="accept", by=f"look:{by.pk}"
    )
    row.refresh_from_db()
    assert (row.state, row.decided_by) == ("accepted", by)
    put_at = row.put_at
    undo(browser, decided)
    row.refresh_from_db()
    assert (row.state, row.put_at) == ("put", put_at)
    post(browser, f"/looks/deviations/{row.pk}/draft/")
    undo(browser, added)

    assert not Deviation.objects.exists()
    assert "This field is required." in text(post(browser, "/looks/deviations/add/", built="x"))


def test_a_certificate_is_owed_received_with_its_file_and_owed_again(
    browser, house, settings, tmp_path
):
    settings.EVIDENCE_DIR = tmp_path

    added = post(browser, "/looks/certificates/add/", title="Test sheet", craft="electrician")
    row = Certificate.objects.get()
    came = post(browser, f"/looks/certificates/{row.pk}/came/", photo=photo())
    row.refresh_from_db()
    assert row.received_on is not None
    assert row.evidence.get().title == "Test sheet"
    undo(browser, came)
    row.refresh_from_db()
    assert row.received_on is None
    row.evidence.all().delete()
    undo(browser, added)

    assert not Certificate.objects.exists()


def test_a_photo_is_kept_shown_and_taken_back(browser, house, settings, tmp_path):
    settings.EVIDENCE_DIR = tmp_path
    look = look_of(house)

    answer = post(browser, "/looks/evidence/add/", photo=photo(), title=HOSTILE,
                  **{"for": f"{look.pk}:"})  # fmt: skip
    row = Evidence.objects.get()
    picture = browser.get(f"/api/v1/evidence/{row.pk}/thumbnail/")
    shown = b"".join(picture.streaming_content)
    undone = undo(browser, answer)

    assert f"/api/v1/evidence/{row.pk}/thumbnail/" in text(answer)
    assert HOSTILE not in text(answer)
    assert picture["Content-Type"] == "image/jpeg"
    assert shown.startswith(b"\xff\xd8\xff")  # JPEG's first bytes
    assert "Removed:" in text(undone)
    assert not Evidence.objects.exists()


def test_the_completion_file_says_what_is_owed_how_far_it_is_and_its_digest(browser, house):
    look_of(house)
    row = factories.CompletionFileFactory(
        property=house, state="building", failure="", finished_at=None, progress_pct=40
    )

    making = text(browser.get("/looks/completion/"))
    CompletionFile.objects.filter(pk=row.pk).update(
        state="ready", progress_pct=100, sha256="ab" * 32, byte_size=9000,
        finished_at="2026-03-02T19:00Z",
    )  # fmt: skip
    ready = text(browser.get("/looks/completion/"))

    assert "is not signed off; it is due" in making
    assert "It is being made: 40 %" in making
    assert "hx-trigger" in making
    assert "hx-trigger" not in ready
    assert "ab" * 32 in ready
    assert f"/api/v1/completion-files/{row.pk}/file/" in ready


def test_asking_for_the_completion_file_asks_once(browser, house):
    for _ in range(2):
        post(browser, "/looks/completion/ask/")

    assert CompletionFile.objects.count() == 1


def test_an_altered_sign_off_shows_on_the_page(browser, house):
    row = factories.SignOffFactory(inspection=look_of(house, state="accepted"))
    assert "1 sign-off, each tied" in text(browser.get("/looks/completion/"))
    look = row.inspection

    look.change(state="rejected")

    assert "its latest sign-off: accepted" in text(browser.get("/looks/completion/"))


def test_the_usual_looks_are_added_and_removed(browser, house):
    answer = post(browser, "/looks/usual/")
    there = house.inspections.count()
    undone = undo_many(browser, answer)

    assert there > 3
    assert "are gone" in text(undone)
    assert house.inspections.count() == 0


def undo_many(browser, answer):
    """As `undo`, for a field that comes several times."""
    html = answer.content.decode().partition('<div class="said-line')[2]
    form = re.search(r'<form[^>]* action="([^"]+)"[^>]*>(.*?)<button>Undo', html, re.DOTALL)
    return post(browser, form[1], looks=re.findall(r'name="looks" value="(\d+)"', form[2]))


def test_who_may_only_look_sees_no_form_and_a_stranger_finds_nothing(browser, house):
    look = look_of(house)
    viewer = factories.UserFactory()
    factories.MemberFactory(property=house, user=viewer, role="viewer")
    other = signed_in(factories.MemberFactory(role="owner").user)
    pages = ("/looks/", f"/looks/{look.pk}/", "/looks/papers/", "/looks/evidence/",
             "/looks/completion/")  # fmt: skip

    for path in pages:
        seen = signed_in(viewer).get(f"{path}?property={house.pk}")
        assert seen.status_code == 200
        assert "<form" not in text(seen).partition("<main")[2].partition("</main>")[0]
        assert other.get(f"{path}?property={house.pk}").status_code == 404
    for path in (f"/looks/{look.pk}/sign/", "/looks/completion/ask/", "/looks/evidence/add/"):
        fields = {**PASSED, "property": house.pk}
        assert signed_in(viewer).post(path, fields).status_code == 403
        assert other.post(path, fields).status_code == 404
    assert other.post(f"/looks/{look.pk}/sign/", PASSED).status_code == 404
    assert not SignOff.objects.exists()


def test_the_looks_ask_as_often_for_many_as_for_few(browser, house):
    def one_more():
        look = look_of(house)
        look.looks_at.add(task_of(house))
        look.blocks.add(task_of(house))
        factories.condition(look)

    one_more()
    browser.get("/looks/")
    with CaptureQueriesContext(connection) as few:
        browser.get("/looks/")
    for _ in range(3):
        one_more()
    with CaptureQueriesContext(connection) as many:
        browser.get("/looks/")

    assert len(many) == len(few)


def test_a_hold_point_of_ones_own_is_added_holds_its_tasks_and_is_undone(browser, house):
    seen, waits = task_of(house, title="Splice the ends"), task_of(house, title="Lay the boards")

    answer = post(
        browser, "/looks/new/add/", title="Joist ends", by="engineer", notice_working_days="3",
        blocks=waits.pk, looks_at=seen.pk, photos="Each end\nEach end, near\n",
    )  # fmt: skip
    look = house.inspections.get()
    assert (look.by, look.notice_working_days, look.minutes) == ("engineer", 3, 30)
    assert (list(look.blocks.all()), list(look.looks_at.all())) == ([waits], [seen])
    assert [item["title"] for item in look.required_evidence] == ["Each end", "Each end, near"]
    held = post(browser, f"/tonight/tasks/{waits.pk}/start/", back="/tonight/")
    assert "not done" in text(held)
    undo(browser, answer)

    assert not house.inspections.exists()


def test_a_hold_point_is_changed_and_changed_back_and_removed_and_brought_back(browser, house):
    task = task_of(house)
    look = look_of(house, title="Ends", required_evidence=[{"key": "ends", "title": "The ends"}])
    look.blocks.add(task)
    fields = {"title": "Joist ends", "by": "warranty", "notice_working_days": "0",
              "photos": "The ends\nThe plate", "version": look.version}  # fmt: skip

    changed = post(browser, f"/looks/hold/{look.pk}/change/", **fields)
    look.refresh_from_db()
    assert (look.title, look.by, list(look.blocks.all())) == ("Joist ends", "warranty", [])
    assert [item["key"] for item in look.required_evidence] == ["ends", "the-plate"]
    stale = post(browser, f"/looks/hold/{look.pk}/change/", **{**fields, "title": "Other"})
    assert stale.status_code == 412
    assert "The book has by now: Joist ends" in text(stale)
    undo(browser, changed)
    look.refresh_from_db()
    assert (look.title, list(look.blocks.all())) == ("Ends", [task])

    gone = post(browser, "/house/remove/", kind="look", ids=look.pk)
    assert not house.inspections.exists()
    undo(browser, gone)
    assert list(house.inspections.get().blocks.all()) == [task]


def test_a_hold_point_that_was_signed_stays_as_it_was_signed(browser, house):
    look = look_of(house, title="Ends")
    factories.SignOffFactory(inspection=look)
    fields = {"title": "Other", "by": "engineer", "notice_working_days": "0"}

    shown = text(browser.get(f"/looks/hold/{look.pk}/"))
    changed = post(browser, f"/looks/hold/{look.pk}/change/", **fields)
    back = post(browser, "/house/put-back/", kind="look", id=look.pk, version=look.version,
                before='{"title": "Other"}', back="/looks/")  # fmt: skip
    gone = post(browser, "/house/remove/", kind="look", ids=look.pk, back="/looks/")

    assert "It was signed already" in shown
    assert "Change or remove" not in text(browser.get(f"/looks/{look.pk}/"))
    assert "was signed already" in text(changed)
    assert "not done" in text(back)
    assert "cannot go while it still has a sign off" in text(gone)
    look.refresh_from_db()
    assert look.title == "Ends"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"title": ""}, "This field is required."),
        ({"by": "nobody"}, "Select a valid choice"),
        ({"notice_working_days": "99"}, "less than or equal to 60"),
        ({"visiting_from": "12:00", "visiting_to": "11:00"}, "Visiting hours end after they begin"),
        ({"photos": "x" * 300}, "each named in up to 200 letters"),
    ],
)
def test_a_hold_point_that_cannot_be_is_refused_in_its_form(browser, house, wrong, said):
    fields = {"title": "Ends", "by": "engineer", "notice_working_days": "1", **wrong}

    answer = post(browser, "/looks/new/add/", **fields)

    assert answer.status_code == 400
    assert said in text(answer)
    assert not house.inspections.exists()


def test_a_task_cannot_wait_for_the_look_at_its_own_result(browser, house):
    task = task_of(house)

    answer = post(browser, "/looks/new/add/", title="Ends", by="engineer",
                  notice_working_days="1", blocks=task.pk, looks_at=task.pk)  # fmt: skip

    assert "cannot wait for the look at its own result" in text(answer)
    assert not house.inspections.exists()


def test_hold_points_are_nobody_elses_to_change(browser, house):
    look = look_of(house)
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)
    other = signed_in(factories.MemberFactory(role="owner").user)
    fields = {"title": "Other", "by": "engineer", "notice_working_days": "0"}

    for path in ("/looks/new/", f"/looks/hold/{look.pk}/"):
        seen = viewer.get(path)
        assert seen.status_code == 200
        assert "<form" not in text(seen).partition("<main")[2].partition("</main>")[0]
    for path in ("/looks/new/add/", f"/looks/hold/{look.pk}/change/"):
        assert viewer.post(path, fields).status_code == 403
        assert other.post(path, {**fields, "property": house.pk}).status_code == 404
    assert other.get(f"/looks/hold/{look.pk}/").status_code == 404
    assert other.post(f"/looks/hold/{look.pk}/change/", fields).status_code == 404
    assert house.inspections.get().title == look.title
