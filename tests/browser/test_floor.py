"""The floor drawing under a thumb, a mouse and the keyboard, on the demo house."""

from __future__ import annotations

import re

import pytest

from tests.browser.axe import violations

FLOOR = "/floor/?floor=2"


def board(page, mark):
    """A board's shape in the drawing, by its mark."""
    box = page.locator(".floor-boards label", has_text=re.compile(rf"^\s*{re.escape(mark)}\s*$"))
    return page.locator(f'[data-board="{box.locator("input").get_attribute("value")}"].b')


def middle(shape):
    """A spot of a board on the screen, away from its mark."""
    box = shape.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def state(page, mark):
    row = page.locator(".floor-boards tr", has=page.get_by_role("rowheader", name=mark, exact=True))
    return row.locator("[data-state]").inner_text().split(",")[0]


def picked(page):
    return page.locator(".floor-boards input:checked").count()


def test_boards_are_tapped_dragged_over_moved_and_put_back(demo, visit):
    visitor = visit(FLOOR, size="desk")
    page = visitor.page
    page.get_by_role("button", name="Closer").click()

    page.mouse.click(*middle(board(page, "B9.2")))
    card = page.locator("#board-card")
    card.wait_for()
    told = card.inner_text()
    page.get_by_role("button", name="Let go").click()
    page.get_by_role("button", name="Drag to pick").click()
    x, y = middle(board(page, "B7.2"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(middle(board(page, "B5.2"))[0], y)
    page.mouse.up()
    dragged = picked(page)
    page.get_by_role("button", name="Let go").click()
    page.mouse.click(*middle(board(page, "B10.3")))
    before = state(page, "B10.3")
    page.get_by_role("button", name="Lift", exact=True).click()
    page.get_by_role("button", name="Undo").wait_for()
    lifted = state(page, "B10.3")
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Put back as before: B10.3.").wait_for()

    assert "B9.2 is fixed" in told
    assert "electrician" in told
    assert dragged == 3
    assert (before, lifted, state(page, "B10.3")) == ("fixed", "up", "fixed")
    assert visitor.console == []
    assert visitor.hosts == {f"127.0.0.1:{demo.port}"}


def test_the_keyboard_walks_picks_and_zooms(visit):
    page = visit(FLOOR).page
    view = page.locator("[data-view]")
    whole = view.locator("svg").get_attribute("viewBox")

    view.focus()
    for key in ("ArrowRight", "ArrowUp", " ", "ArrowUp", " ", "+", "+"):
        page.keyboard.press(key)
    chosen = picked(page)
    heard = page.locator("[data-heard]").inner_text()
    closer = view.locator("svg").get_attribute("viewBox")
    detail = view.locator("svg").get_attribute("class")
    page.keyboard.press("Escape")
    page.keyboard.press("0")

    assert chosen == 2
    assert re.match(r"B\d+\.\d, .*picked\.", heard)
    assert closer != whole
    assert "near" in detail
    assert picked(page) == 0
    assert "far" in view.locator("svg").get_attribute("class")


def test_a_thumb_on_thin_boards_goes_closer_before_it_picks(visit):
    page = visit("/floor/?storey=1", has_touch=True).page
    view = page.locator("[data-view]")
    view.scroll_into_view_if_needed()
    box = view.bounding_box()
    x, y = box["x"] + box["width"] * 0.6, box["y"] + box["height"] * 0.4

    page.touchscreen.tap(x, y)
    first = picked(page), view.locator("svg").get_attribute("class")
    page.touchscreen.tap(*middle_of_view(page))

    assert first[0] == 0
    assert "near" in first[1]
    assert picked(page) == 1


def middle_of_view(page):
    """A spot on some board that is in the middle of what is seen."""
    return page.evaluate(
        """() => {
          const box = document.querySelector('[data-view]').getBoundingClientRect();
          for (let step = 0; step < 60; step += 1) {
            const x = box.left + box.width / 2 + (step % 2 ? step : -step) * 2;
            const y = box.top + box.height / 2;
            if (document.elementFromPoint(x, y).closest('.b')) return [x, y];
          }
          return null;
        }"""
    )


def test_without_a_script_the_list_and_its_buttons_do_the_same(visit):
    page = visit(FLOOR, java_script_enabled=False).page

    page.get_by_role("checkbox", name="B11.3").check()
    page.get_by_role("button", name="Lift", exact=True).click()
    lifted = state(page, "B11.3")
    page.get_by_role("button", name="Undo").click()

    assert lifted == "up"
    assert state(page, "B11.3") == "fixed"


@pytest.mark.parametrize("path", [FLOOR, "/floor/board/69/"])
def test_the_floor_is_for_everyone(visit, path):
    assert violations(visit(path).page) == []
