"""What a completion file holds, compared with the database through libraries and tools that
had no part in making it: pypdf, jsonschema, sha256sum.
"""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
from zipfile import ZipFile

import jsonschema
import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.floors.services import move_boards
from apps.inspections.completion import services
from apps.inspections.completion.gather import read_parts
from apps.inspections.evidence import store
from apps.inspections.models import SignOff
from tests import factories
from tests.api.asking import ago
from tests.api.completion import ask, fetch, photo, squeezed, unpacked, whole_house, words


@pytest.fixture(autouse=True)
def folder(settings, tmp_path, monkeypatch):
    """The data folder. Builds are handed out when the request commits; in a test it never does."""
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    settings.COMPLETION_DIR = tmp_path / "completion"
    monkeypatch.setattr(services.transaction, "on_commit", lambda act: act())
    return tmp_path


def test_the_zip_holds_sheets_record_schema_evidence_and_manifest(client, house):
    kept = photo(house)

    held = unpacked(client, house)

    name = f"evidence/{kept.pk:04d}-{kept.sha256[:12]}.jpg"
    assert list(held) == [
        "completion.pdf", "record.json", "record.schema.json", name, "MANIFEST.sha256",
    ]  # fmt: skip
    assert hashlib.sha256(held[name]).hexdigest() == kept.sha256


@pytest.mark.parametrize("furnish", [whole_house, lambda house: house], ids=["whole", "empty"])
def test_the_record_fits_its_schema(client, house, furnish):
    furnish(house)

    held = unpacked(client, house)

    schema = json.loads(held["record.schema.json"])
    validator = jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    assert list(validator.iter_errors(json.loads(held["record.json"]))) == []


def test_sha256sum_checks_what_was_unpacked(client, house, tmp_path):
    with ZipFile(io.BytesIO(fetch(client, ask(client, whole_house(house)).json()))) as zipped:
        zipped.extractall(tmp_path / "out")

    checked = subprocess.run(
        ["sha256sum", "--strict", "-c", "MANIFEST.sha256"],
        cwd=tmp_path / "out", check=False, capture_output=True,
    )  # fmt: skip

    assert checked.returncode == 0
    assert checked.stdout.count(b": OK\n") == 4


def test_the_sheets_say_what_the_database_holds(client, house):
    whole_house(house)

    said = words(unpacked(client, house)["completion.pdf"])

    signed = SignOff.objects.filter(property=house)
    wanted = [
        house.name, house.address, "1904", "Back parlour", "J7 N", "B12.2", "North wall",
        *(task.title for package in house.work_packages.all() for task in package.tasks.all()),
        *(one.title for one in house.findings.all()), "Mend it first.",
        *(one.title for one in house.inspections.all()),
        *(text for row in signed for text in (row.digest, row.seen_by, row.note, row.reason)),
        *(one.text for row in signed for one in row.conditions.all()),
        "Cleared", "Brushed twice.", "NOT CLEARED", "1 May 2026",
        *(text for one in house.deviations.all() for text in (one.specified, one.built, one.why)),
        "utilisation › bending", "0.71",
        *(one.title for one in house.certificates.all()), "NOT RECEIVED",
        *(text for one in house.evidence.all() for text in (one.title, one.sha256)),
        "One photo of joist ends: on file", "Corrected by sign-off 2", "Corrects sign-off 1",
    ]  # fmt: skip
    assert signed.count() == 2
    assert [text for text in wanted if squeezed(text) not in said] == []


def test_sign_offs_stand_in_the_order_of_the_chain(client, house):
    whole_house(house)

    said = words(unpacked(client, house)["completion.pdf"])

    digests = list(SignOff.objects.order_by("number").values_list("digest", flat=True))
    assert said.index(digests[0]) < said.index(digests[1])


def test_the_sheets_carry_the_digest_of_the_record_on_every_page(client, house):
    held = unpacked(client, whole_house(house))

    digest = hashlib.sha256(held["record.json"]).hexdigest()
    pages = pypdf.PdfReader(io.BytesIO(held["completion.pdf"])).pages
    assert len(pages) > 3
    assert all(digest in squeezed(page.extract_text()) for page in pages)


def test_what_is_still_owed_is_the_same_as_the_house_answers(client, house):
    whole_house(house)

    held = unpacked(client, house)

    owed = client.get(f"/api/v1/properties/{house.pk}/owed/").json()["owed"]
    assert len(owed) >= 3
    assert json.loads(held["record.json"])["owed"] == owed
    said = words(held["completion.pdf"])
    assert all(squeezed(item["sentence"]) in said for item in owed)


def test_the_record_tells_of_one_house_only(client, house):
    whole_house(house)
    other = factories.MemberFactory(user=house.owner, role="owner").property
    other.owner = house.owner
    other.change(name="Nextdoor")
    factories.WorkPackageFactory(property=other, title="Nextdoor roof")
    photo(other, title="Nextdoor slate")

    held = unpacked(client, house)

    assert b"Nextdoor" not in held["record.json"]
    assert sum(name.startswith("evidence/") for name in held) == 1


def test_a_file_altered_on_disk_is_left_out_and_named(client, house):
    kept = photo(house)
    store.path_of(kept.sha256).write_bytes(b"something else")

    held = unpacked(client, house)

    assert json.loads(held["record.json"])["evidence"][0]["kept"] == "altered"
    assert not [name for name in held if name.startswith("evidence/")]
    assert "itsdigestdiffers" in words(held["completion.pdf"])


def test_a_file_lost_from_disk_is_named(client, house):
    kept = photo(house)
    store.path_of(kept.sha256).unlink()

    held = unpacked(client, house)

    assert json.loads(held["record.json"])["evidence"][0]["kept"] == "missing"
    assert "wasnotondisk" in words(held["completion.pdf"])


def test_a_damaged_thumbnail_stops_nothing(client, house):
    kept = photo(house)
    store.thumbnail_of(kept.sha256).write_bytes(b"\xff\xd8 no picture")

    held = unpacked(client, house)

    assert kept.sha256 in words(held["completion.pdf"])


def test_reading_a_house_takes_as_many_queries_however_much_there_is(house):
    whole_house(house)
    with CaptureQueriesContext(connection) as few:
        read_parts(house)
    for count in range(3):
        look = factories.InspectionFactory(property=house, title=f"Look {count}")
        factories.condition(look, recorded_by=factories.UserFactory())
        floor = factories.FloorFactory(property=house)
        board = factories.BoardFactory(floor=floor)
        move_boards(boards=[board], to_state="up", moved_at=ago(9), note="", moved_by=house.owner)
        factories.TaskFactory(package__property=house)
        joist = factories.JoistFactory(floor=floor)
        factories.DeviationFactory(property=house, joist=joist)
        factories.EvidenceFactory(property=house)
        factories.MemberFactory(property=house)

    with CaptureQueriesContext(connection) as many:
        read_parts(house)

    assert len(many) == len(few)
