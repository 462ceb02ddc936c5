"""From nothing to the first plan on a phone, without the demo house."""

from __future__ import annotations

import pytest

from tests.browser.axe import violations
from tests.browser.conftest import SIZES, started


@pytest.fixture(scope="module")
def nothing(tmp_path_factory):
    """An installation of its own: here a house stays in it."""
    yield from started(tmp_path_factory.mktemp("nothing"))


def test_an_empty_installation_leads_to_a_first_plan_of_ones_own_house(nothing, new_context):
    page = new_context(viewport=SIZES["phone"]).new_page()

    def tap(name):
        page.get_by_role("button", name=name, exact=True).click()

    page.goto(nothing.fresh_sign_in())
    tap("Sign in")
    page.get_by_role("link", name="Add a house of your own").click()
    page.get_by_label("What you call it").fill("Quay Cottage")
    tap("Add the house")

    page.get_by_role("link", name="Rooms", exact=True).click()
    page.get_by_label("Name").fill("Parlour")
    page.get_by_label("Inside size").fill("11'10\" x 9'")
    tap("Add the room")
    page.get_by_text("Added: Parlour.").wait_for()
    page.locator(".house-wall").first.click()
    page.get_by_role("heading", name="Doorways", level=1).wait_for()
    tap("Add the doorway")
    page.get_by_text("Added: Parlour – outside.").wait_for()
    assert violations(page) == []

    page.goto(f"{nothing.address}/house/floors/")
    page.get_by_label("Under which room").select_option(label="Parlour")
    page.get_by_text("Nothing is kept yet.").wait_for()
    tap("Keep this floor")
    page.get_by_text("Added: Parlour floor.").wait_for()

    page.goto(f"{nothing.address}/house/ready/")
    page.get_by_label("On which floor").select_option(label="Parlour floor")
    tap("Add the package")
    page.get_by_text("Added: Floor repair, Parlour floor.").wait_for()

    page.goto(f"{nothing.address}/house/hours/")
    for day in ("Tuesday", "Thursday", "Saturday"):
        page.get_by_label(day, exact=True).check()
    tap("Add these hours")
    page.get_by_text("Added: Me, Tuesday; Me, Thursday; Me, Saturday.").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

    page.get_by_role("link", name="To the house").click()
    assert violations(page) == []
    tap("Make the first plan")
    page.wait_for_load_state()
    page.goto(f"{nothing.address}/tonight/")

    assert page.locator("article.task").count() >= 1
