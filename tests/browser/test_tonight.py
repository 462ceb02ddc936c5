"""Tonight on a phone and on a desk: what to do, done without leaving the page, and undone."""

from __future__ import annotations

import pytest

from tests.browser.axe import violations
from tests.browser.conftest import SIZES
from tests.installation import GIVE_UP_SECONDS
from tests.pictures import jpeg

RAKE = "Rake out the wall pockets"
"""A task of the demo house that is begun, and that nothing stands against."""


def card(page):
    return page.locator("article.task").filter(has=page.get_by_role("heading", name=RAKE))


def test_a_task_is_started_stopped_and_done_on_the_page_and_all_of_it_undone(visit):
    visitor = visit("/tonight/")
    page, task = visitor.page, card(visitor.page)
    undo = page.locator("#said").get_by_role("button", name="Undo").last

    task.get_by_role("button", name="Carry on").click()
    task.get_by_text("On the clock since").wait_for()
    task.get_by_role("button", name="Stop").click()
    task.get_by_role("button", name="Carry on").wait_for()
    undo.click()
    task.get_by_text("On the clock since").wait_for()
    task.get_by_role("button", name="Done").click()
    page.get_by_role("heading", name="Done today").wait_for()
    assert f"Done: {RAKE}" in page.locator("#said").inner_text()
    assert task.count() == 0
    undo.click()
    task.get_by_text("On the clock since").wait_for()
    task.get_by_role("button", name="Done").click()
    page.get_by_role("heading", name="Done today").wait_for()
    page.get_by_role("button", name=f"Open again: {RAKE}").click()
    task.get_by_role("button", name="Carry on").wait_for()

    assert visitor.console == []


def test_a_finding_with_a_photo_is_noted_and_taken_back(demo, visit):
    page = visit("/tonight/").page
    count = "from apps.inspections.models import Evidence; answer = Evidence.objects.count()"
    before = demo.installation.run(count)

    page.locator("#found summary").click()
    page.get_by_label("What is it?").fill("Wet mortar behind the skirting")
    page.get_by_label("Kind").select_option("damp")
    page.get_by_label("Photo").set_input_files(
        {"name": "IMG_7.jpg", "mimeType": "image/jpeg", "buffer": jpeg()}
    )
    page.get_by_role("button", name="Note it").click()
    page.locator("#said").get_by_text("Noted: Wet mortar behind the skirting").wait_for()

    assert demo.installation.run(count) == before + 1
    page.locator("#said").get_by_role("button", name="Undo").click()
    page.locator("#said").get_by_text("is not in the book").wait_for()
    assert demo.installation.run(count) == before


def test_boards_of_a_household_route_are_laid_loose_for_the_night(visit):
    page = visit("/tonight/").page
    way = page.locator("#way-1")

    way.get_by_role("button").click()
    page.locator("#said").get_by_text("Laid loose:").wait_for()

    # Far down the page, the way back is still in sight.
    undo = page.locator("#said").get_by_role("button", name="Undo")
    assert undo.evaluate("el => el.getBoundingClientRect().bottom < innerHeight")
    undo.click()
    page.locator("#said").get_by_text("Up:").wait_for()
    assert way.get_by_role("button").is_visible()


def test_everything_is_done_by_plain_forms_without_javascript(visit):
    page = visit("/tonight/", java_script_enabled=False).page

    task = card(page)
    task.get_by_role("button", name="Carry on").click()
    assert task.get_by_text("On the clock since").is_visible()
    page.get_by_role("button", name="Undo").click()

    assert task.get_by_role("button", name="Carry on").is_visible()


@pytest.mark.parametrize("size", SIZES)
def test_the_first_task_is_seen_without_scrolling(visit, size):
    page = visit("/tonight/", size).page

    title = page.locator("article.task h3").first.bounding_box()

    assert title["y"] + title["height"] <= page.locator("nav.screens").bounding_box()["y"]


def test_the_screens_are_words_at_the_bottom_within_reach_of_a_thumb(visit):
    page = visit("/tonight/").page

    links = page.get_by_role("navigation", name="Screens").get_by_role("link").all()

    boxes = [link.bounding_box() for link in links]
    assert len(boxes) >= 2
    assert all(box["height"] >= 44 and box["width"] >= 44 for box in boxes)
    assert all(box["y"] > 844 * 0.9 for box in boxes)
    assert page.locator("nav.screens [aria-current]").inner_text() == "Tonight"


def test_an_empty_installation_leads_to_the_demo_house_in_one_tap(bare, new_context):
    page = new_context(viewport=SIZES["phone"]).new_page()
    page.goto(bare.fresh_sign_in())
    page.get_by_role("button", name="Sign in").click()
    assert page.get_by_role("heading", level=1).inner_text() == "No house yet"
    assert violations(page) == []

    page.get_by_role("button", name="Look round the demo house").click(no_wait_after=True)

    # Building and planning it takes some ten seconds, and a busy machine may need many more.
    page.wait_for_url("**/tonight/**", timeout=GIVE_UP_SECONDS * 1000)
    assert page.get_by_text("14 Tidemill Lane").first.is_visible()
    assert page.locator("article.task").count() >= 1
