"""The pages that take a house along and bring one in: asked, told how far, fetched, refused."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import timezone

from apps.moving import kept
from apps.moving.exporting import export_house
from apps.moving.models import HouseArrival, HouseFile
from apps.property.models import Property
from tests import factories
from tests.api.actors import member_of, with_browser

ALONG, BRING_IN = "/house/along/", "/houses/bring-in/"


@pytest.fixture
def browser(house):
    return with_browser(house.owner)


@pytest.fixture
def queued(monkeypatch):
    """As with workers: nobody has begun yet."""
    from django.db import transaction

    monkeypatch.setattr(transaction, "on_commit", lambda act: None)


@pytest.fixture
def content(house, tmp_path):
    export_house(house, tmp_path / "a.house")
    return (tmp_path / "a.house").read_bytes()


def text(answer):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def send(browser, content, **fields):
    return browser.post(
        BRING_IN, {"file": SimpleUploadedFile("lane.house", content), **fields}, follow=True
    )


def test_the_house_page_leads_its_owner_there_and_nobody_else(house, browser):
    viewer = with_browser(member_of(house, "viewer"))

    assert ALONG in browser.get("/house/").content.decode()
    assert ALONG not in viewer.get("/house/").content.decode()


def test_the_houses_lead_to_bringing_one_in(browser):
    assert BRING_IN in browser.get("/houses/").content.decode()


def test_asked_for_it_is_there_to_be_fetched_and_removed(house, browser, handed_out):
    page = browser.post(f"{ALONG}ask/", {"property": house.pk}, follow=True)

    row = HouseFile.objects.get()
    assert "The house's file is asked for." in text(page)
    assert row.sha256 in page.content.decode()
    fetched = browser.get(f"/api/v1/house-files/{row.pk}/file/")
    assert len(b"".join(fetched.streaming_content)) == row.byte_size
    fetched.close()

    gone = browser.post(f"{ALONG}remove/", {"property": house.pk, "file": row.pk}, follow=True)

    assert row.sha256 not in gone.content.decode()
    assert not kept.file_of(row).exists()


def test_while_it_is_made_the_page_says_how_far_and_looks_again(house, browser, queued):
    browser.post(f"{ALONG}ask/", {"property": house.pk})
    assert "It waits for its turn." in text(browser.get(ALONG))
    HouseFile.objects.update(state="working", attempts=1, progress_pct=40)

    page = browser.get(ALONG)

    assert "It is being made: 40 %." in text(page)
    assert 'hx-trigger="every 2s"' in page.content.decode()


def test_it_is_stopped_and_then_there_is_nothing_to_stop(house, browser, queued):
    browser.post(f"{ALONG}ask/", {"property": house.pk})

    stopped = [browser.post(f"{ALONG}stop/", {"property": house.pk}, follow=True) for _ in range(2)]

    assert "Stopped; nothing of it was kept." in text(stopped[0])
    assert "Nothing is being made any more." in text(stopped[1])
    assert HouseFile.objects.get().state == "cancelled"


def test_why_it_failed_is_said_with_the_way_to_ask_again(house, browser):
    factories.HouseFileFactory(property=house, failure="The disk is full.")

    page = browser.get(ALONG)

    assert "The disk is full." in text(page)
    assert "Make the file" in text(page)


def test_a_file_that_was_removed_after_its_days_is_not_offered(house, browser, handed_out):
    browser.post(f"{ALONG}ask/", {"property": house.pk})
    row = HouseFile.objects.get()
    kept.prune(now=timezone.now() + 2 * kept.KEPT_FOR)

    assert row.sha256 not in browser.get(ALONG).content.decode()


@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_whoever_does_not_own_the_house_reads_who_may(house, role):
    theirs = with_browser(member_of(house, role))

    page = theirs.get(ALONG)
    refused = theirs.post(f"{ALONG}ask/", {"property": house.pk})

    assert "Only an owner has it made." in text(page)
    assert "house/along/ask/" not in page.content.decode()
    assert refused.status_code == 403
    assert HouseFile.objects.count() == 0


def test_brought_in_the_house_is_there_to_be_opened(browser, content, handed_out):
    page = send(browser, content)

    came = HouseArrival.objects.get().property
    assert f"{came.name} is here." in text(page)
    assert f"/tonight/?property={came.pk}" in page.content.decode()
    assert browser.get(f"/tonight/?property={came.pk}").status_code == 200


def test_the_same_form_sent_twice_brings_in_one(browser, content, handed_out):
    key = re.search(r'name="key" value="([^"]+)"', browser.get(BRING_IN).content.decode())[1]

    for _ in range(2):
        assert send(browser, content, key=key).status_code == 200

    assert Property.objects.count() == 2


def test_what_is_wrong_with_the_file_is_said(browser, content, handed_out):
    page = send(browser, content[:-10])

    assert "cut short" in text(page)
    assert Property.objects.count() == 1


def test_no_file_and_one_too_large_are_told_at_the_field(browser, content, settings):
    settings.HOUSE_MAX_BYTES = 1000

    nothing, large = browser.post(BRING_IN, {}), send(browser, content)

    assert (nothing.status_code, large.status_code) == (422, 413)
    assert "Choose the file first." in text(nothing)
    assert "larger than" in text(large)
    assert 'aria-describedby="house-file-hint house-file-wrong"' in large.content.decode()


def test_while_one_is_coming_in_the_page_says_how_far_and_it_can_be_stopped(
    browser, content, queued
):
    send(browser, content)
    HouseArrival.objects.update(state="working", attempts=1, progress_pct=60)

    assert "lane.house is coming in: 60 %." in text(browser.get(BRING_IN))
    assert "wait for it, or stop it" in text(send(browser, content))
    stopped = [browser.post(f"{BRING_IN}stop/", follow=True) for _ in range(2)]

    assert "Stopped; nothing was added." in text(stopped[0])
    assert "Nothing is coming in any more." in text(stopped[1])


def test_what_others_brought_in_is_not_shown(browser, content, handed_out):
    send(with_browser(factories.UserFactory()), content)

    assert "lane.house" not in browser.get(BRING_IN).content.decode()


def test_it_is_asked_who_sends_before_a_large_file_is_read(house, content):
    stranger = Browser(enforce_csrf_checks=True)
    stranger.cookies["csrftoken"] = "x" * 32
    nobody = stranger.post(BRING_IN, {"file": SimpleUploadedFile("a.house", content)})
    assert (nobody.status_code, nobody["Location"]) == (302, "/sign-in/")
    assert not hasattr(nobody.wsgi_request, "_files")

    careless = Browser(enforce_csrf_checks=True)
    careless.force_login(house.owner)
    refused = careless.post(BRING_IN, {"file": SimpleUploadedFile("a.house", content)})

    assert refused.status_code == 403
    assert HouseArrival.objects.count() == 0


def test_a_form_of_a_house_may_be_larger_than_one_of_a_photo(browser, settings, queued):
    settings.UPLOAD_MAX_BYTES, settings.UPLOAD_ROOM_BYTES = 1000, 100

    assert send(browser, b"x" * 5000).status_code == 200
    assert browser.post("/houses/bring-in/stop/", {"x": "y" * 5000}).status_code == 413
