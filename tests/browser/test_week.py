"""A visit that is moved: what changes, taking it, taking it back; and the sheets for paper."""

from __future__ import annotations

import io
import re
from datetime import date, timedelta

from pypdf import PdfReader

from tests.browser.axe import violations

VISIT = "/week/visit/4/"
"""The plasterer of the demo house: two weeks and more away, so that it can come a day later."""


def when(page):
    return page.locator(".head .facts b").first.inner_text()


def test_a_visit_is_moved_after_seeing_what_changes_and_put_back(demo, visit):
    visitor = visit(VISIT)
    page = visitor.page
    before = when(page)
    seen_by_all = violations(page)
    asked = date.fromisoformat(page.get_by_label("Day").input_value()) + timedelta(days=1)

    page.get_by_label("Day").fill(asked.isoformat())
    page.get_by_role("button", name="See what changes").click()
    page.get_by_role("heading", name="What changes", level=1).wait_for()
    supposed = page.locator("section", has_text="Suppose").first.inner_text()
    sides = page.locator("table.both tr.differs").all_inner_texts()
    because = page.locator(".moves").first.inner_text()
    seen_by_all += violations(page)
    width = page.evaluate("document.documentElement.scrollWidth")
    page.get_by_role("button", name="Accept").click()
    page.get_by_role("button", name="Undo").wait_for()
    on_week = page.locator("main").text_content()
    at = page.url
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Undone: as it was before. Planned again.").wait_for()
    page.goto(f"{demo.address}{VISIT}")

    day = f"{asked:%a} {asked.day} {asked:%b}"
    assert "Nothing is changed yet." in supposed
    assert day in supposed
    assert [row for row in sides if day in row]
    assert day in because
    assert width == 390
    assert f"on={asked}" in at
    assert "Plasterer, parlour and hall" in on_week
    assert when(page) == before
    assert seen_by_all == []
    assert visitor.console == []
    assert visitor.hosts == {f"127.0.0.1:{demo.port}"}


def printed(page, name):
    """The words of the sheet behind a link."""
    href = page.get_by_role("link", name=name, exact=True).get_attribute("href")
    answer = page.request.get(f"{re.match(r'https?://[^/]+', page.url).group()}{href}")
    pages = PdfReader(io.BytesIO(answer.body())).pages
    return re.sub(r"\s+", " ", " ".join(one.extract_text() for one in pages))


def test_what_is_printed_says_what_the_pages_say(visit):
    page = visit("/week/visit/1/").page
    told = page.locator("main").inner_text()
    sheet = printed(page, "Print the access sheet")
    page.get_by_role("link", name="To the week").click()
    week = printed(page, "Print")

    for words in (
        "Run the cooker cable", "Isolated circuit: hall and front room sockets",
        "Prove every circuit dead", "01632 960042", "Socket cables along the north wall",
    ):  # fmt: skip
        assert words in told
        assert words in sheet
    assert re.search(r"Scale 1:\d+ when printed at 100 %", sheet)
    assert "Electrician, first fix" in week
    assert re.search(r"Week \d+: Mon ", week)
