"""Doorways on their pages: put right, led elsewhere, refused, and each taken back."""

from __future__ import annotations

import pytest

from apps.property.models import Doorway
from apps.property.outlines import rectangle
from tests import factories
from tests.api.test_pages_house_edits import change, form_of, signed_in, text, undo


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


@pytest.fixture
def hall(house):
    return factories.RoomFactory(property=house, name="Hall", outline=rectangle(3000, 4000, (0, 0)))


@pytest.fixture
def parlour(house):
    """On the other side of the hall's right wall, 100 mm thick."""
    outline = rectangle(3000, 4000, (3100, 0))
    return factories.RoomFactory(property=house, name="Parlour", outline=outline)


@pytest.fixture
def doorway(house, hall, parlour):
    """760 mm wide, in the middle of the wall between the two."""
    return factories.DoorwayFactory(
        property=house, room_a=hall, room_b=parlour, line=[[3050, 1000], [3050, 1760]]
    )


def at(doorway):
    return f"/house/doorways/{doorway.pk}/"


def test_a_doorway_stands_in_its_form_as_it_was_measured(browser, hall, parlour, doorway):
    told = form_of(browser.get(at(doorway)))

    assert (told["wall"], told["width"], told["along"]) == (f"{hall.pk}-1", "760", "1000")
    assert told["beyond"] == str(parlour.pk)


def test_a_doorway_is_widened_as_deep_in_its_wall_as_before_and_put_back(browser, doorway):
    answer = change(browser, at(doorway), width="0.9m", along="1200")
    doorway.refresh_from_db()
    widened = doorway.line
    undo(browser, answer)

    doorway.refresh_from_db()
    assert widened == [[3050, 1200], [3050, 2100]]
    assert doorway.line == [[3050, 1000], [3050, 1760]]


def test_a_doorway_goes_to_the_middle_when_its_place_is_left_empty(browser, doorway):
    change(browser, at(doorway), width="1000", along="")

    doorway.refresh_from_db()
    assert doorway.line == [[3050, 1500], [3050, 2500]]


def test_a_doorway_in_another_wall_finds_anew_where_it_leads(browser, hall, doorway):
    answer = change(browser, at(doorway), wall=f"{hall.pk}-3", along="500")
    doorway.refresh_from_db()
    moved = (doorway.line, doorway.room_b)
    undo(browser, answer)

    doorway.refresh_from_db()
    assert moved == ([[0, 500], [0, 1260]], None)
    assert str(doorway) == "the doorway Hall – Parlour"


def test_a_doorway_is_led_elsewhere_and_stays_where_it_is(browser, doorway):
    change(browser, at(doorway), beyond="")

    doorway.refresh_from_db()
    assert str(doorway) == "the doorway Hall – outside"
    assert doorway.line == [[3050, 1000], [3050, 1760]]


def test_a_doorway_of_the_other_room_is_seen_from_there(browser, hall, parlour, doorway):
    change(browser, at(doorway), wall=f"{parlour.pk}-3", along="2000")

    doorway.refresh_from_db()
    assert (doorway.room_a, doorway.room_b) == (parlour, hall)
    assert doorway.line == [[3100, 2000], [3100, 2760]]


def test_what_no_wall_can_have_is_said_at_its_field(browser, house, doorway):
    far = factories.RoomFactory(property=house, name="Loft", outline=rectangle(2, 2, (9000, 9000)))
    answers = [
        change(browser, at(doorway), width="5m"),
        change(browser, at(doorway), along="3500"),
        change(browser, at(doorway), width="0.05mm"),
        change(browser, at(doorway), beyond=far.pk),
    ]

    doorway.refresh_from_db()
    assert [answer.status_code for answer in answers] == [400] * 4
    assert "The wall is only 4,000 mm long." in text(answers[0])
    assert "It would run past the wall, 4,000 mm long." in text(answers[1])
    assert "The doorway does not touch Loft." in text(answers[3])
    assert doorway.version == 1


def test_a_doorway_changed_meanwhile_is_shown_with_both_values(browser, doorway):
    told = form_of(browser.get(at(doorway)))
    doorway.change(line=[[3050, 1000], [3050, 1900]])

    answer = browser.post(f"{at(doorway)}change/", {**told, "width": "800"})

    assert answer.status_code == 412
    assert "The book has by now: 900" in text(answer)
    assert 'value="800"' in text(answer)
    assert Doorway.objects.get().line == [[3050, 1000], [3050, 1900]]


def test_a_viewer_reads_a_doorway_and_is_refused_its_form(house, hall, doorway):
    outside = factories.DoorwayFactory(
        property=house, room_a=hall, room_b=None, line=[[0, 1000], [0, 1900]]
    )
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)
    shown = text(viewer.get(at(doorway)))

    answer = viewer.post(f"{at(doorway)}change/", {"width": "900"}, HTTP_X_FROM_QUEUE="1")

    assert "760" in shown
    assert "<dt>Leads to</dt><dd>outside</dd>" in text(viewer.get(at(outside)))
    assert "Save" not in shown
    assert answer.status_code == 403


def test_a_doorway_is_taken_off_on_its_page_and_comes_back(browser, doorway):
    answer = browser.post(
        "/house/remove/", {"kind": "doorway", "ids": doorway.pk, "version": 1}, follow=True
    )
    gone = not Doorway.objects.exists()
    undo(browser, answer)

    assert gone
    assert str(Doorway.objects.get()) == "the doorway Hall – Parlour"
