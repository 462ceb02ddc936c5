"""Tasks from a spreadsheet on the phone: looked at, mended, added, undone, saved again."""

from __future__ import annotations

import csv

from tests.browser.axe import violations

WRONG = "title,likely,room,after\nSweep the yard,20,,\nFetch the lime,soon,Attic,Sweep the yard\n"
RIGHT = WRONG.replace("soon,Attic", "1:30,")


def test_a_sheet_is_looked_at_mended_added_and_undone(demo, visit, tmp_path):
    file = tmp_path / "jobs.csv"
    file.write_text(RIGHT, "utf-8")
    visitor = visit("/house/")
    page = visitor.page
    page.get_by_role("link", name="Tasks and timber as CSV").click()
    page.get_by_role("heading", name="Into the book").wait_for()
    faults = violations(page)

    page.get_by_label("Or its cells, pasted here").fill(WRONG)
    page.get_by_role("button", name="Look at it first").click()
    page.get_by_role("heading", name="To be mended first").wait_for()
    rows = page.get_by_role("row").all_inner_texts()
    assert any("likely minutes" in row and row.startswith("3") for row in rows)
    assert any("Attic" in row for row in rows)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    faults += violations(page)

    page.get_by_role("link", name="Another sheet").click()
    page.get_by_label("The file, saved as CSV").set_input_files(file)
    page.get_by_role("button", name="Look at it first").click()
    page.get_by_role("heading", name="To add: 2 tasks").wait_for()
    faults += violations(page)
    page.get_by_role("button", name="Add them").click()
    page.get_by_text("Added 2 tasks").wait_for()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the tasks").click()
    with saved.value.path().open(encoding="utf-8-sig", newline="") as opened:
        titles = [row["title"] for row in csv.DictReader(opened)]
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Undone: all is as it was before the sheet.").wait_for()

    assert titles[-2:] == ["Sweep the yard", "Fetch the lime"]
    assert faults == []
    assert (visitor.console, visitor.hosts) == ([], {demo.address.removeprefix("http://")})
