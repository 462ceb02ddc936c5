"""The looks on a phone: somebody looked, and it is in the record with its photo."""

from __future__ import annotations

from tests.browser.axe import violations
from tests.pictures import jpeg

LOOK = "Void clear and vents open, own check"


def test_a_sign_off_with_its_photo_is_logged_in_a_few_taps(demo, visit, tmp_path):
    photo = tmp_path / "void.jpg"
    photo.write_bytes(jpeg())
    visitor = visit("/looks/")
    page = visitor.page
    waits = page.get_by_role("article").filter(has_text=LOOK)
    waits.get_by_role("link", name="I looked").click()
    page.get_by_role("heading", name=LOOK, level=1).wait_for()
    faults = violations(page)
    what_they_ask = page.get_by_label("What is still to be done?").first

    hidden = not what_they_ask.is_visible()
    page.get_by_label("Passed, with conditions").first.check()
    shown = what_they_ask.is_visible()
    page.get_by_label("Passed", exact=True).first.check()
    page.get_by_label("Who looked?").first.fill("Us, by torch and mirror")
    page.get_by_label("Photo", exact=True).first.set_input_files(photo)
    page.get_by_role("button", name="Write it into the record").first.click()
    page.get_by_text("In the record as number").first.wait_for()
    picture = page.locator(".shot img").first
    picture.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.shot img')?.naturalWidth > 0")

    page.goto(f"{demo.address}/looks/")
    page.get_by_text("3 passed").wait_for()
    assert (hidden, shown) == (True, True)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert violations(page) == faults == []
    assert (visitor.console, visitor.hosts) == ([], {demo.address.removeprefix("http://")})
