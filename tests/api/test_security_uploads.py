"""What is refused before anybody reads it. Pictures, PDFs and archives that burst when unpacked
are in tests/unit/test_images.py, test_evidence.py and the tests of backups."""

from __future__ import annotations

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http.multipartparser import MultiPartParser
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from renovation.uploads import OneFileHandler
from tests.api.actors import changed, everything, with_browser, with_token


@pytest.fixture
def small_limits(settings):
    settings.UPLOAD_MAX_BYTES, settings.UPLOAD_ROOM_BYTES = 2000, 500
    settings.BODY_MAX_BYTES = 4000


def form(size):
    return {"photo": SimpleUploadedFile("joist.jpg", b"x" * size, content_type="image/jpeg")}


@pytest.mark.parametrize("where", ["/tonight/found/", "/looks/evidence/add/", "/sign-in/"])
def test_a_form_larger_than_any_photo_is_refused_unread(house, small_limits, where):
    browser = with_browser(house.owner)
    before = everything()

    answer = browser.post(where, form(2600))

    assert answer.status_code == 413
    assert answer.json()["type"].endswith("#too-large")
    assert changed(before) == []


def test_the_api_is_sent_no_more_than_it_would_ever_read(house, small_limits):
    answer = with_token(house.owner).post(
        "/api/v1/properties/", b" " * 4001, content_type="application/json"
    )

    assert answer.status_code == 413
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("length", ["-1", "many", "9" * 30, "1e3"])
def test_a_length_that_is_none_is_refused(house, length):
    answer = with_token(house.owner).post(
        "/api/v1/properties/", "{}", content_type="application/json", CONTENT_LENGTH=length
    )

    assert answer.status_code == 413


def test_a_form_with_too_many_fields_is_refused(house):
    answer = with_browser(house.owner).post("/sign-in/", {f"f{n}": "x" for n in range(1001)})

    assert answer.status_code == 400


def test_an_upload_that_breaks_off_leaves_no_file(settings, tmp_path):
    """Its beginning is not kept until the collector comes by."""
    settings.EVIDENCE_DIR = tmp_path
    whole = encode_multipart(BOUNDARY, {"file": SimpleUploadedFile("joist.jpg", b"x" * 900)})
    meta = {"CONTENT_TYPE": MULTIPART_CONTENT, "CONTENT_LENGTH": str(len(whole))}
    handler = OneFileHandler(most_bytes=2000)

    MultiPartParser(meta, BytesIO(whole[:500]), [handler], "utf-8").parse()

    assert handler.file.closed
    assert list((tmp_path / "incoming").iterdir()) == []
