"""The page that takes tasks and timber out as a spreadsheet and in from one."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from apps.timber.models import Piece
from apps.work.models import Link, Task, WorkPackage
from tests import factories

PAGE = "/house/csv/"
SHEET = "title,package,likely,after\nLift,Hall,60,\nLook,Hall,15,Lift\n"


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def text_of(answer):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def form_of(answer, address):
    """The hidden fields of the page's form that goes to an address."""
    forms = re.findall(
        r'<form[^>]* action="([^"]+)"[^>]*>(.*?)</form>', answer.content.decode(), re.DOTALL
    )
    inside = next(inside for action, inside in forms if action == address)
    return {
        name: unescape(value)
        for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', inside, re.DOTALL)
        if name != "csrfmiddlewaretoken"
    }


def look(browser, text, kind="tasks"):
    return browser.post(f"{PAGE}look/", {"kind": kind, "text": text})


def take(browser, looked):
    return browser.post(f"{PAGE}take/", form_of(looked, f"{PAGE}take/"), follow=True)


def undo(browser, taken):
    return browser.post(f"{PAGE}undo/", form_of(taken, f"{PAGE}undo/"), follow=True)


def test_the_house_leads_to_the_sheets_and_saves_both(browser, house):
    factories.TaskFactory(package__property=house, title="Lift")
    factories.PieceFactory(property=house, mark="T14")

    assert f'href="{PAGE}"' in browser.get("/house/").content.decode()
    page = browser.get(PAGE).content.decode()
    tasks, timber = re.findall(r'href="(/house/csv/\w+\.csv\?property=\d+)"', page)

    assert b"Lift" in browser.get(tasks).content
    assert b"T14" in browser.get(timber).content
    assert "attachment" in browser.get(timber)["Content-Disposition"]
    assert browser.get("/house/csv/people.csv").status_code == 404


def test_a_pasted_sheet_is_looked_at_then_added_then_undone(browser, house):
    looked = look(browser, SHEET)

    assert looked.status_code == 200
    words = text_of(looked)
    assert "To add: 2 tasks" in words
    assert "With them: the package “Hall”." in words
    assert "Nothing is kept yet." in words
    assert not Task.objects.exists()

    taken = take(browser, looked)

    assert "Added 2 tasks, with the package “Hall”." in text_of(taken)
    assert [str(link) for link in Link.objects.all()] == ["Lift → Look"]

    undone = undo(browser, taken)

    assert "Undone: all is as it was before the sheet." in text_of(undone)
    assert not Task.objects.exists()
    assert not WorkPackage.objects.exists()


def test_a_file_is_taken_byte_for_byte(browser, house):
    content = '\ufefftitle;likely;note\r\nLift;60;"one\ntwo ä"\r\n'.encode()
    file = SimpleUploadedFile("tasks.csv", content, "text/csv")

    take(browser, browser.post(f"{PAGE}look/", {"kind": "tasks", "file": file}))

    assert Task.objects.get().note == "one\ntwo ä"


def test_changes_are_listed_by_column_and_undone_as_they_were(browser, house):
    package = factories.WorkPackageFactory(property=house, title="Hall")
    first = factories.TaskFactory(package=package, title="Lift")
    second = factories.TaskFactory(package=package, title="Lay", note="one\r\ntwo")
    factories.LinkFactory(before=first, after=second)
    sheet = browser.get(f"{PAGE}tasks.csv").content.decode("utf-8-sig")
    changed = sheet.replace(",Lift,", ",Lift it,", 1).replace("Lift\r\n", "\r\n")

    looked = look(browser, changed)

    assert "To change: 2 tasks" in text_of(looked)
    assert {"<td>title</td>", "<td>after</td>"} <= set(
        re.findall(r"<td>[a-z]+</td>", looked.content.decode())
    )
    taken = take(browser, looked)
    assert not Link.objects.exists()

    undone = undo(browser, taken)

    assert "Undone" in text_of(undone)
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.title, second.note.split()) == ("Lift", ["one", "two"])
    assert [str(link) for link in Link.objects.all()] == ["Lift → Lay"]


def test_what_was_touched_since_is_not_undone(browser, house):
    taken = take(browser, look(browser, SHEET))
    Task.objects.get(title="Look").change(title="Look closely")

    answer = undo(browser, taken)

    assert "Look closely changed since; nothing was undone." in text_of(answer)
    assert Task.objects.count() == 2


def test_a_task_that_others_built_on_since_is_not_undone(browser, house):
    taken = take(browser, look(browser, SHEET))
    Task.objects.get(title="Look").time_entries.create(
        starts=datetime(2026, 3, 2, 19, 0, tzinfo=UTC), minutes=10, noted_by=house.owner
    )

    answer = undo(browser, taken)

    assert "not done" in text_of(answer)
    assert Task.objects.count() == 2


def test_errors_are_told_by_row_and_column_and_leave_no_way_to_add(browser, house):
    looked = look(browser, "title,likely,room\nLift,soon,\nLook,15,Attic\nLay,60,\n")

    words = text_of(looked)
    assert "Nothing is kept." in words
    assert "2 likely minutes Write a length of time like 90, 90 min, 2h or 1:30." in words
    assert "3 room There is no room “Attic” here" in words
    assert f'action="{PAGE}take/"' not in looked.content.decode()


def test_a_sheet_that_no_longer_holds_is_looked_at_again(browser, house):
    room = factories.RoomFactory(property=house, name="Hall")
    looked = look(browser, "title,likely,room\nLift,60,Hall\n")
    room.delete()

    answer = browser.post(f"{PAGE}take/", form_of(looked, f"{PAGE}take/"))

    assert answer.status_code == 409
    assert "There is no room “Hall” here" in text_of(answer)
    assert not Task.objects.exists()


def test_a_sheet_that_says_nothing_new_says_so(browser, house):
    factories.TaskFactory(package__property=house)

    words = text_of(look(browser, browser.get(f"{PAGE}tasks.csv").content.decode("utf-8-sig")))

    assert "The book says all of this already." in words
    assert "As they are already: 1 task." in words


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "Choose a file, or paste the cells below."),
        ({"text": "colour\nred\n"}, "'colour' is none of them"),
        ({"text": "title\nA\n", "kind": "people"}, "Select a valid choice"),
        ({"text": "title\nA\n", "file": "both"}, "not both"),
        ({"file": "bytes"}, "Save the sheet as CSV in UTF-8"),
        ({"file": "large"}, "1024 KiB"),
    ],
)
def test_what_is_no_sheet_is_told_at_its_field(browser, house, fields, words):
    content = {"both": b"title\n", "bytes": b"\xff\xfe\x00", "large": b"a" * (1024 * 1024 + 1)}
    if name := fields.get("file"):
        fields = {**fields, "file": SimpleUploadedFile("x.csv", content[name])}

    answer = browser.post(f"{PAGE}look/", {"kind": "tasks", **fields})

    assert answer.status_code == 400
    assert words in text_of(answer)
    assert 'class="field-error"' in answer.content.decode()


@pytest.mark.parametrize("sheet", ["", "!", "YQ", "////", "ÿ"])
def test_a_broken_sheet_between_the_pages_is_no_failure(browser, house, sheet):
    answer = browser.post(
        f"{PAGE}take/", {"kind": "tasks", "sheet": sheet, "back": PAGE}, follow=True
    )

    assert answer.status_code == 200
    assert "not done" in text_of(answer)


@pytest.mark.parametrize("made", ["x", "1:1", "999999999999999999999:1", "1", ":"])
def test_an_undoing_of_nothing_known_undoes_nothing(browser, house, made):
    answer = browser.post(
        f"{PAGE}undo/", {"kind": "timber", "made": made, "back": PAGE}, follow=True
    )

    assert "nothing was undone" in text_of(answer)


def test_timber_comes_in_and_goes_again(browser, house):
    factories.PieceFactory(property=house, mark="T1", note="Old")
    sheet = (
        "mark,breadth_mm,depth_mm,length_mm,note,defects\n"
        "T1,50,100,3000,New,\nT2,47,147,2400,,nails 10-90 top drawn\n"
    )

    looked = look(browser, sheet, kind="timber")
    taken = take(browser, looked)

    assert "To add: 1 piece" in text_of(looked)
    assert "Added 1 piece and changed 1 piece." in text_of(taken)
    assert Piece.objects.get(mark="T2").defects.count() == 1

    undo(browser, taken)

    assert [(piece.mark, piece.note) for piece in Piece.objects.all()] == [("T1", "Old")]


def test_timber_that_was_measured_since_stays(browser, house):
    taken = take(
        browser,
        look(browser, "mark,breadth_mm,depth_mm,length_mm\nT2,47,147,2400\n", kind="timber"),
    )
    factories.MoistureReadingFactory(piece=Piece.objects.get())

    answer = undo(browser, taken)

    assert "T2" in text_of(answer)
    assert Piece.objects.count() == 1


def test_wrong_cells_of_timber_are_told_too(browser, house):
    words = text_of(look(browser, "mark,breadth_mm\nT1,wide\n", kind="timber"))

    assert "2 breadth mm" in words


def test_a_viewer_saves_but_brings_nothing_in(house):
    looking = signed_in(factories.MemberFactory(property=house, role="viewer").user)

    assert f'action="{PAGE}look/"' not in looking.get(PAGE).content.decode()
    assert looking.get(f"{PAGE}tasks.csv").status_code == 200
    for name in ("look", "take", "undo"):
        answer = looking.post(f"{PAGE}{name}/", {"kind": "tasks", "text": SHEET})
        assert answer.status_code == 403


def test_a_stranger_finds_no_sheet_of_the_house(browser):
    other = factories.PropertyFactory()

    assert browser.get(PAGE, {"property": other.pk}).status_code == 404
    assert browser.get(f"{PAGE}tasks.csv", {"property": other.pk}).status_code == 404
    answer = browser.post(f"{PAGE}look/", {"property": other.pk, "kind": "tasks", "text": SHEET})
    assert answer.status_code == 404
