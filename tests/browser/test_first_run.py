"""From nothing to the first plan on a phone, without the demo house."""

from __future__ import annotations

import pytest

from tests.browser.axe import violations
from tests.browser.conftest import SIZES, started


@pytest.fixture(scope="module")
def nothing(tmp_path_factory):
    """An installation of its own: here houses stay in it, first none and then one more each."""
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
    tap("See its tasks first")
    page.get_by_label("Minutes: Lift the boards").fill("120")
    assert violations(page) == []
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


def test_a_room_in_feet_a_task_and_hours_lead_to_a_plan_and_the_task_is_put_right(
    nothing, new_context
):
    page = new_context(viewport=SIZES["phone"]).new_page()

    def tap(name):
        page.get_by_role("button", name=name, exact=True).click()

    def follow(name):
        page.get_by_role("link", name=name, exact=True).first.click()

    page.goto(nothing.fresh_sign_in())
    tap("Sign in")
    page.goto(f"{nothing.address}/house/new/")
    page.get_by_label("What you call it").fill("Ferry Cottage")
    tap("Add the house")
    page.get_by_role("heading", name="Three things, then a plan").wait_for()
    ticked = page.get_by_text("There already.").count()

    follow("Rooms")
    page.get_by_label("Name").fill("Box room")
    page.get_by_label("Inside size").fill("11'10\" x 3.62m")
    page.get_by_text("Box room, 13.1 m². Nothing is kept yet.").wait_for()
    tap("Add the room")
    page.get_by_text("Added: Box room.").wait_for()
    page.get_by_text("3,607 × 3,620 mm").wait_for()
    assert violations(page) == []

    follow("To the house")
    follow("Tasks")
    page.get_by_label("What is to be done").fill("Draw the old nails")
    page.get_by_label("Minutes, most likely").fill("60")
    page.get_by_label("Where").select_option(label="Box room")
    tap("Add the task")
    page.get_by_text("Added: Draw the old nails.").wait_for()

    follow("To the house")
    follow("When you have time")
    for day in ("Monday", "Wednesday", "Saturday"):
        page.get_by_label(day, exact=True).check()
    tap("Add these hours")
    page.get_by_text("Added: Me, Monday; Me, Wednesday; Me, Saturday.").wait_for()

    follow("To the house")
    assert (ticked, page.get_by_text("There already.").count()) == (0, 3)
    tap("Make the first plan")
    page.wait_for_load_state()
    page.goto(f"{nothing.address}/tonight/")
    planned = page.locator("article.task").filter(has_text="Draw the old nails").count()

    page.goto(f"{nothing.address}/house/tasks/")
    page.get_by_role("link", name="Draw the old nails").click()
    page.get_by_label("Minutes, most likely").fill("75")
    tap("Save")
    page.get_by_text("Changed: Draw the old nails.").wait_for()
    changed = page.get_by_label("Minutes, most likely").input_value()
    assert violations(page) == []
    tap("Undo")
    page.get_by_text("Undone: Draw the old nails is as it was.").wait_for()

    assert (planned, changed) == (1, "75")
    assert page.get_by_text("1 h, Box room").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_every_wall_of_a_plan_is_as_wide_as_a_thumb_on_the_narrowest_phone(visit):
    page = visit("/house/doorways/", viewport={"width": 320, "height": 640}).page
    boxes = page.locator(".house-wall").evaluate_all(
        "walls => walls.map(wall => wall.getBoundingClientRect())"
        ".map(({width, height}) => [width, height])"
    )
    page.locator(".house-wall").first.click()
    page.wait_for_url("**wall=**")

    assert len(boxes) > 20
    assert [box for box in boxes if min(box) < 43.5] == []
    assert page.get_by_label("In which wall").input_value()
