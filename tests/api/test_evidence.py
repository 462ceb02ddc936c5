"""Evidence over HTTP: what is taken, what is refused and leaves nothing, who sees it."""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone
from rest_framework.test import APIClient

from apps.inspections.evidence import services, store
from apps.inspections.models import Condition, Deviation, Evidence, SignOff
from tests import factories, pictures
from tests.api.asking import ago, ids, is_problem, queries_of_list, refuses
from tests.api.walk import another_house_of, signed_in, stranger, strangers_house, viewer_of

EVIDENCE = "/api/v1/evidence/"
MIB = 1024 * 1024
JPEG = pictures.jpeg(exif=pictures.exif())


@pytest.fixture(autouse=True)
def folder(settings, tmp_path) -> Path:
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    return settings.EVIDENCE_DIR


def send(client, house, content: bytes = JPEG, name: str = "IMG_0001.JPG", **fields):
    headers = {key: fields.pop(key) for key in list(fields) if key.startswith("HTTP_")}
    body = {
        "property": house.pk,
        "title": "Joist ends",
        "file": pictures.upload(content, name),
        **fields,
    }
    return client.post(EVIDENCE, body, format="multipart", **headers)


def kept(client, house, content: bytes = JPEG, **fields) -> Evidence:
    answer = send(client, house, content, **fields)
    assert answer.status_code == 201, answer.json()
    return Evidence.objects.get(pk=answer.json()["id"])


def files_in(folder: Path) -> list[str]:
    """Every file below the folder, thumbnails and half-done ones included."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def sign_off(inspection) -> SignOff:
    return SignOff.objects.create(
        property=inspection.property, number=1, inspection=inspection, result="accepted",
        seen_by="A. Surveyor", seen_at=ago(1), recorded_by=inspection.property.owner,
        recorded_at=ago(1), digest="0" * 64,
    )  # fmt: skip


def fetched(client, row: Evidence, what: str, **headers):
    """The answer, its `body` read to the end."""
    answer = client.get(f"{EVIDENCE}{row.pk}/{what}/", **headers)
    answer.body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return answer


# What is taken.


def test_a_photo_is_kept_under_the_digest_of_what_is_kept(client, house, folder):
    answer = send(client, house)

    body = answer.json()
    path = folder / body["sha256"][:2] / body["sha256"]
    assert answer.status_code == 201
    assert answer["ETag"] == '"1"'
    assert answer["Location"] == f"{EVIDENCE}{body['id']}/"
    assert hashlib.sha256(path.read_bytes()).hexdigest() == body["sha256"]
    assert body["byte_size"] == path.stat().st_size
    assert files_in(folder) == [
        f"{path.parent.name}/{path.name}",
        f"{path.parent.name}/{path.name}.thumbnail",
    ]
    assert {key: body[key] for key in ("kind", "content_type", "width_px", "height_px")} == {
        "kind": "photo", "content_type": "image/jpeg", "width_px": 640, "height_px": 480,
    }  # fmt: skip
    assert body["original_name"] == "IMG_0001.JPG"
    assert body["uploaded_by"] == house.owner.username
    assert body["uploaded_at"]


def test_the_kept_photo_says_nothing_of_where_it_was_taken(client, house):
    assert pictures.read(JPEG).getexif().get_ifd(pictures.GPS)

    row = kept(client, house)

    assert (
        pictures.read(store.path_of(row.sha256).read_bytes()).getexif().get_ifd(pictures.GPS) == {}
    )


def test_when_it_was_taken_is_by_the_houses_clock(client, house):
    house.timezone = "America/New_York"
    house.save()

    answer = send(client, house)

    # By hand: 19:00 in New York on 2 March is five hours behind UTC.
    assert answer.json()["taken_at"] == "2026-03-03T00:00:00Z"


@pytest.mark.parametrize(
    ("write", "kind", "content_type"),
    [
        (pictures.png, "photo", "image/png"),
        (pictures.heic, "photo", "image/jpeg"),
        (pictures.pdf, "document", "application/pdf"),
    ],
)
def test_the_type_is_told_by_the_content_not_the_name(client, house, write, kind, content_type):
    answer = send(client, house, write(), name="whatever.exe")

    assert answer.status_code == 201
    assert (answer.json()["kind"], answer.json()["content_type"]) == (kind, content_type)


def test_a_pdf_is_kept_byte_for_byte(client, house):
    content = pictures.pdf()

    row = kept(client, house, content)

    assert store.path_of(row.sha256).read_bytes() == content
    assert (row.width_px, row.taken_at) == (None, None)


def test_a_pdf_of_25_mib_is_taken_and_a_byte_more_is_not(client, house, folder):
    whole = pictures.pdf_of(25 * MIB)
    assert len(whole) == 25 * MIB

    assert send(client, house, whole).status_code == 201
    before = files_in(folder)
    answer = send(client, house, whole + b"\n")

    assert is_problem(answer, 413, "too-large")
    assert answer.json()["errors"][0]["pointer"] == "/file"
    assert "25 MiB" in answer.json()["detail"]
    assert files_in(folder) == before


def test_the_same_photo_twice_is_two_rows_and_one_file(client, house, folder):
    first, second = kept(client, house), kept(client, house)

    assert first.pk != second.pk
    assert first.sha256 == second.sha256
    assert len(files_in(folder)) == 2


def test_what_it_shows_is_said_with_it(client, house):
    inspection = factories.InspectionFactory(
        property=house, required_evidence=[{"key": "joist-ends", "title": "Joist ends"}]
    )

    row = kept(client, house, inspection=inspection.pk, requirement="joist-ends")

    assert (row.inspection, row.requirement) == (inspection, "joist-ends")


# What is refused, and leaves nothing behind.

REFUSED = {
    "a renamed Windows program": (b"MZ\x90\x00" + bytes(300), 415, "unsupported-file"),
    "a renamed Linux program": (b"\x7fELF\x02\x01" + bytes(300), 415, "unsupported-file"),
    "a web page": (b"<html><script>alert(1)</script>", 415, "unsupported-file"),
    "a photo with a program behind it": (JPEG + b"MZ" + bytes(99), 400, "broken-file"),
    "a PDF with a page behind it": (pictures.pdf() + b"<html>", 400, "broken-file"),
    "a page before a PDF": (b"<html>" + pictures.pdf(), 400, "broken-file"),
    "a photo cut short": (JPEG[: len(JPEG) // 2], 400, "broken-file"),
    "a photo without its last bytes": (JPEG[:-2], 400, "broken-file"),
    "half a photo with an end": (JPEG[: len(JPEG) * 2 // 3] + JPEG[-2:], 400, "broken-file"),
    "a bomb": (pictures.png_bomb(9_000, 9_000), 400, "broken-file"),
    "a PDF with a script": (pictures.pdf(script="app.alert(1)"), 400, "broken-file"),
    "a PDF with a file in it": (pictures.pdf(attached=b"MZ"), 400, "broken-file"),
    "nothing": (b"", 400, "invalid"),
    "26 MiB": (bytes(26 * MIB), 413, "too-large"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_a_file_that_is_not_what_it_says_leaves_nothing_behind(client, house, folder, what):
    content, status, code = REFUSED[what]

    answer = send(client, house, content)

    assert is_problem(answer, status, code), answer.json()
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["errors"][0]["pointer"] == "/file"
    assert files_in(folder) == []
    assert not Evidence.objects.exists()


def test_a_wrong_field_beside_a_good_file_leaves_nothing_behind(client, house, folder):
    answer = send(client, house, title="")

    assert refuses(answer, "/title", "blank")
    assert files_in(folder) == []


def test_a_requirement_that_nobody_asked_for_is_refused(client, house, folder):
    inspection = factories.InspectionFactory(
        property=house, required_evidence=[{"key": "joist-ends", "title": "Joist ends"}]
    )

    answer = send(client, house, inspection=inspection.pk, requirement="membrane")

    assert refuses(answer, "/requirement", "joist-ends")
    assert files_in(folder) == []


def test_a_row_the_database_refuses_takes_its_file_with_it(house, folder):
    looked = services.look_into(content=JPEG, house=house)

    with pytest.raises(DatabaseError):
        services.keep_evidence(looked=looked, house=house, title="", uploaded_by=house.owner)

    assert files_in(folder) == []


def test_a_transaction_that_fails_later_takes_its_file_with_it(house, folder):
    looked, there = services.look_into(content=JPEG, house=house), []

    def keep_and_stumble():
        with services.all_or_nothing(looked.sha256):
            services.keep_evidence(
                looked=looked, house=house, title="Ends", uploaded_by=house.owner
            )
            there.extend(files_in(folder))
            raise RuntimeError

    with pytest.raises(RuntimeError):
        keep_and_stumble()
    assert len(there) == 2
    assert files_in(folder) == []


def test_a_failure_leaves_the_file_that_another_row_names(client, house, folder):
    kept(client, house)
    before = files_in(folder)

    looked = services.look_into(content=JPEG, house=house)
    with pytest.raises(DatabaseError):
        services.keep_evidence(looked=looked, house=house, title="", uploaded_by=house.owner)

    assert files_in(folder) == before


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({}, "/file"), ({"file": "just a text"}, "/file"), ({"title": "No file"}, "/file")],
)
def test_a_form_without_a_file_is_told_so(client, house, body, pointer):
    answer = client.post(EVIDENCE, {"property": house.pk, **body}, format="multipart")

    assert answer.status_code == 400
    assert pointer in [error["pointer"] for error in answer.json()["errors"]]


def test_json_is_no_way_to_send_a_file(client, house):
    answer = client.post(EVIDENCE, {"property": house.pk, "title": "Ends", "file": "x"})
    without = client.post(EVIDENCE, {"property": house.pk, "title": "Ends"})

    assert refuses(answer, "/file", "not a file")
    assert refuses(without, "/file", "multipart/form-data")


def test_two_files_at_once_are_refused(client, house, folder):
    body = {"property": house.pk, "title": "Two", "file": [pictures.upload(), pictures.upload()]}

    answer = client.post(EVIDENCE, body, format="multipart")

    assert is_problem(answer, 400, "malformed")
    assert files_in(folder) == []


@pytest.mark.parametrize(
    ("body", "content_type"),
    [
        (b"--x\r\n", "multipart/form-data"),
        (b"rubbish", "multipart/form-data; boundary=x"),
        (b"--x\r\nContent-Disposition: form-data; name=file; filename=a\r\n\r\nhalf",
         "multipart/form-data; boundary=x"),
    ],
)  # fmt: skip
def test_a_form_that_cannot_be_read_is_refused(client, folder, body, content_type):
    answer = client.generic("POST", EVIDENCE, body, content_type=content_type)

    assert answer.status_code == 400
    assert files_in(folder) == []


def test_a_name_from_outside_never_becomes_a_path(client, house, folder):
    row = kept(client, house, name="../../../etc/passwd\x00.jpg")

    assert "/" not in row.original_name
    assert all(name.startswith(row.sha256[:2] + "/") for name in files_in(folder))
    with pytest.raises(ValueError, match="no SHA-256"):
        store.path_of("../" + row.sha256)


# Sending twice.


def test_the_same_upload_sent_twice_is_done_once(client, house, folder):
    first = send(client, house, HTTP_IDEMPOTENCY_KEY="from-under-the-floor")
    again = send(client, house, HTTP_IDEMPOTENCY_KEY="from-under-the-floor")

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert (again["ETag"], again["Location"]) == (first["ETag"], first["Location"])
    assert again["Idempotency-Replayed"] == "true"
    assert Evidence.objects.count() == 1
    assert len(files_in(folder)) == 2


def test_a_key_cannot_be_used_for_another_file_of_the_same_name(client, house, folder):
    send(client, house, HTTP_IDEMPOTENCY_KEY="once")
    before = files_in(folder)

    answer = send(client, house, pictures.jpeg(pictures.drawn(64, 48)), HTTP_IDEMPOTENCY_KEY="once")

    assert is_problem(answer, 422, "key-reused")
    assert Evidence.objects.count() == 1
    assert files_in(folder) == before


def test_a_refused_upload_is_not_remembered(client, house):
    refused = send(client, house, b"MZ", HTTP_IDEMPOTENCY_KEY="again")
    answer = send(client, house, HTTP_IDEMPOTENCY_KEY="again")

    assert (refused.status_code, answer.status_code) == (415, 201)


# Who sees it.


def test_only_members_see_a_file_and_its_thumbnail(client, house):
    row = kept(client, house)

    for what in ("file", "thumbnail"):
        assert fetched(client, row, what).status_code == 200
        assert fetched(viewer_of(house), row, what).status_code == 200
        assert is_problem(fetched(stranger(), row, what), 404, "not-found")
        assert is_problem(fetched(APIClient(), row, what), 401, "not-authenticated")


def test_a_stranger_with_the_digest_does_not_learn_that_it_is_there(client, house):
    row = kept(client, house)

    answer = fetched(stranger(), row, "file", HTTP_IF_NONE_MATCH=f'"{row.sha256}"')

    assert is_problem(answer, 404, "not-found")
    assert ids(stranger().get(EVIDENCE)) == []


def test_a_viewer_uploads_changes_and_removes_nothing(client, house, folder):
    row, viewer = kept(client, house), viewer_of(house)
    before = files_in(folder)

    answers = [
        send(viewer, house, pictures.png()),
        viewer.patch(f"{EVIDENCE}{row.pk}/", {"title": "Mine"}),
        viewer.delete(f"{EVIDENCE}{row.pk}/"),
    ]

    assert all(is_problem(answer, 403, "not-allowed") for answer in answers)
    assert files_in(folder) == before


def test_a_strangers_house_cannot_be_given_files(client, folder):
    answer = send(client, strangers_house())

    assert refuses(answer, "/property", "does not exist")
    assert files_in(folder) == []


def test_evidence_of_one_house_shows_nothing_of_another(client, house, folder):
    elsewhere = another_house_of(house.owner)
    finding = factories.FindingFactory(property=elsewhere)

    answer = send(client, house, finding=finding.pk)

    assert refuses(answer, "/finding", "another house")
    assert files_in(folder) == []


def test_a_browser_may_show_a_photo_and_do_nothing_else_with_it(client, house):
    row = kept(client, house, name="Joist “ends”; №1\r\n.jpeg")

    answer = fetched(client, row, "file", HTTP_ACCEPT="image/avif,image/webp")

    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert "private" in answer["Cache-Control"]
    assert answer["Content-Disposition"].startswith("inline")
    assert answer["Content-Disposition"].endswith('.jpg"')
    assert not set("\r\n") & set(answer["Content-Disposition"])
    assert hashlib.sha256(answer.body).hexdigest() == row.sha256


def test_a_document_is_offered_to_be_saved(client, house):
    row = kept(client, house, pictures.pdf(), name="Certificate 7.pdf")

    answer = fetched(client, row, "file")

    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="Certificate 7.pdf"'
    assert answer.body.startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("name", "offered"),
    [
        ("IMG_0001.JPG", "IMG_0001.jpg"),
        ("run.exe", "run.jpg"),
        ("page.html", "page.jpg"),
        ("a:b*c?.jpg", "a_b_c.jpg"),
        ("...", "evidence.jpg"),
        ("x" * 300 + ".jpg", "x" * 80 + ".jpg"),
    ],
)
def test_a_file_is_offered_under_a_safe_name(client, house, name, offered):
    row = kept(client, house, name=name)

    said = fetched(client, row, "file")["Content-Disposition"]

    assert said == f'inline; filename="{offered}"'


@pytest.mark.parametrize("what", ["file", "thumbnail"])
def test_a_file_is_not_sent_twice(client, house, what):
    row = kept(client, house)

    first = fetched(client, row, what)
    again = fetched(client, row, what, HTTP_IF_NONE_MATCH=first["ETag"])

    assert row.sha256 in first["ETag"]
    assert (again.status_code, again.body, again["ETag"]) == (304, b"", first["ETag"])
    assert "private" in again["Cache-Control"]


def test_a_thumbnail_is_a_small_jpeg(client, house):
    row = kept(client, house, pictures.png(pictures.drawn(1200, 900)))

    answer = fetched(client, row, "thumbnail")

    small = pictures.read(answer.body)
    assert (answer["Content-Type"], small.format, small.size) == ("image/jpeg", "JPEG", (480, 360))


def test_a_document_has_no_thumbnail(client, house):
    row = kept(client, house, pictures.pdf())

    assert is_problem(fetched(client, row, "thumbnail"), 404, "not-found")


def test_a_file_that_the_folder_lost_is_told(client, house):
    row = kept(client, house)
    store.path_of(row.sha256).unlink()

    assert is_problem(fetched(client, row, "file"), 404, "file-missing")


# Changing and removing.


def test_the_caption_and_the_links_can_be_put_right(client, house):
    row, finding = kept(client, house), factories.FindingFactory(property=house)

    answer = client.patch(
        f"{EVIDENCE}{row.pk}/", {"title": "North wall", "finding": finding.pk}, HTTP_IF_MATCH='"1"'
    )

    assert answer.status_code == 200
    assert (answer.json()["title"], answer.json()["finding"]) == ("North wall", finding.pk)
    assert answer["ETag"] == '"2"'


def test_what_is_told_of_the_file_cannot_be_changed(client, house):
    row = kept(client, house)
    said = {"sha256": "0" * 64, "kind": "document", "taken_at": "2020-01-01T00:00:00Z",
            "content_type": "text/html", "original_name": "x", "file": "x"}  # fmt: skip

    client.patch(f"{EVIDENCE}{row.pk}/", said)

    again = Evidence.objects.get(pk=row.pk)
    assert (again.sha256, again.kind, again.taken_at) == (row.sha256, row.kind, row.taken_at)
    assert (again.content_type, again.original_name) == (row.content_type, row.original_name)


def test_removing_the_last_row_removes_the_file(
    client, house, folder, django_capture_on_commit_callbacks
):
    first, second = kept(client, house), kept(client, house)

    with django_capture_on_commit_callbacks(execute=True):
        assert client.delete(f"{EVIDENCE}{first.pk}/").status_code == 204
    assert fetched(client, second, "file").status_code == 200
    with django_capture_on_commit_callbacks(execute=True):
        assert client.delete(f"{EVIDENCE}{second.pk}/").status_code == 204

    assert files_in(folder) == []


def test_a_file_that_another_house_names_stays(
    client, house, folder, django_capture_on_commit_callbacks
):
    mine, theirs = kept(client, house), strangers_house()
    kept(signed_in(theirs.owner), theirs)

    with django_capture_on_commit_callbacks(execute=True):
        client.delete(f"{EVIDENCE}{mine.pk}/")

    assert len(files_in(folder)) == 2


def test_evidence_behind_a_sign_off_stays_on_file(client, house, folder):
    inspection = factories.InspectionFactory(property=house)
    row = kept(client, house, inspection=inspection.pk)
    sign_off(inspection)

    removed = client.delete(f"{EVIDENCE}{row.pk}/")
    unlinked = client.patch(f"{EVIDENCE}{row.pk}/", {"inspection": None})

    assert is_problem(removed, 409, "evidence-signed-off")
    assert is_problem(unlinked, 409, "evidence-signed-off")
    assert Evidence.objects.get(pk=row.pk).inspection == inspection
    assert len(files_in(folder)) == 2


def test_the_caption_behind_a_sign_off_can_still_be_put_right(client, house):
    inspection = factories.InspectionFactory(property=house)
    row = kept(client, house, inspection=inspection.pk)
    sign_off(inspection)

    answer = client.patch(f"{EVIDENCE}{row.pk}/", {"title": "Spelt right"})

    assert answer.status_code == 200


def test_what_shows_that_a_condition_was_met_stays(client, house):
    signed = sign_off(factories.InspectionFactory(property=house))
    condition = Condition.objects.create(sign_off=signed, text="Treat the ends")
    row = kept(client, house, condition=condition.pk)
    condition.change(cleared_at=ago(0), cleared_by=house.owner, cleared_note="Done")

    assert is_problem(client.delete(f"{EVIDENCE}{row.pk}/"), 409, "evidence-signed-off")


def test_the_wrong_photo_of_an_open_condition_can_be_removed(client, house):
    signed = sign_off(factories.InspectionFactory(property=house))
    condition = Condition.objects.create(sign_off=signed, text="Treat the ends")
    row = kept(client, house, condition=condition.pk)

    assert client.delete(f"{EVIDENCE}{row.pk}/").status_code == 204


def test_what_a_deviation_was_decided_on_stays(client, house):
    signed = sign_off(factories.InspectionFactory(property=house))
    deviation = Deviation.objects.create(
        property=house, specified="50 × 200", built="47 × 195", why="No other", state="accepted",
        put_at=ago(2), decided_at=ago(1), decided_by=signed,
    )  # fmt: skip
    row = kept(client, house, deviation=deviation.pk)

    assert is_problem(client.delete(f"{EVIDENCE}{row.pk}/"), 409, "evidence-signed-off")


# Lists.


def test_evidence_is_found_by_what_it_is_of_and_when_it_was_taken(client, house):
    finding = factories.FindingFactory(property=house)
    photo = kept(client, house, finding=finding.pk)
    paper = kept(client, house, pictures.pdf())

    def found(**asked):
        return ids(client.get(EVIDENCE, asked))

    assert found(finding=finding.pk) == [photo.pk]
    assert found(kind="document") == [paper.pk]
    assert found(taken_at__gte="2026-03-02T18:59:00Z") == [photo.pk]
    assert found(taken_at__lte="2026-03-02T18:59:00Z") == []
    assert found(finding__isnull="true") == [paper.pk]
    assert found(search="img_0001", kind="photo") == [photo.pk]


def test_a_long_list_takes_no_more_queries(client, house):
    for _ in range(2):
        kept(client, house)
    few = queries_of_list(client, EVIDENCE)
    for _ in range(4):
        kept(client, house)

    assert queries_of_list(client, EVIDENCE) == few


# The sweep.


def test_the_sweep_removes_only_what_nobody_names(client, house, folder):
    row = kept(client, house)
    before = files_in(folder)
    store.place("ab" * 32, b"left by a crash", b"small")
    left = folder / "incoming" / "half"
    left.write_bytes(b"half an upload")
    old = (timezone.now() - timedelta(days=1)).timestamp()
    os.utime(left, (old, old))
    fresh = folder / "incoming" / "coming"
    fresh.write_bytes(b"still coming in")

    services.sweep(now=timezone.now())

    assert files_in(folder) == sorted([*before, "incoming/coming"])
    assert store.path_of(row.sha256).exists()


@pytest.mark.django_db(transaction=True)
def test_an_upload_holds_the_database_only_while_it_is_written(house, folder):
    """Looking into the file happens before the transaction: nothing is locked meanwhile."""
    looked = services.look_into(content=JPEG, house=house)

    assert not connection.in_atomic_block
    row = services.keep_evidence(looked=looked, house=house, title="Ends", uploaded_by=house.owner)
    assert row.uploaded_at <= datetime.now(UTC) + timedelta(seconds=5)
    with transaction.atomic():
        services.remove_evidence(evidence=row)
        assert len(files_in(folder)) == 2
    assert files_in(folder) == []
