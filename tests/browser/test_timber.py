"""The timber screen on a phone: a reading, its forecast, and the cuts by the tape."""

from __future__ import annotations

from tests.browser.axe import violations

TOO_WET = "/timber/?q=T11"


def test_a_reading_is_noted_and_its_forecast_and_the_cuts_are_shown(demo, visit):
    visitor = visit(TOO_WET)
    page = visitor.page
    page.get_by_role("article").filter(has_text="T11").get_by_role("link", name="T11").click()
    page.get_by_role("heading", name="T11").wait_for()

    page.get_by_label("Meter, %").fill("140")
    page.get_by_role("button", name="Note the reading").click()
    page.get_by_text("0 to 100 %").first.wait_for()
    page.get_by_label("Meter, %").fill("23,1")
    page.get_by_role("button", name="Note the reading").click()
    page.get_by_text("Noted: T11 is at 23.1 %.").wait_for()
    chart = page.locator(".timber-chart svg").get_attribute("aria-label")
    faults = violations(page)
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Removed: 23.1 % in T11.").wait_for()

    page.goto(f"{demo.address}/timber/plan/1/")
    bar = page.locator("section.sheet", has=page.locator(".timber-tape")).first
    tape = [int(mark) for mark in bar.locator("tbody th").all_inner_texts()]
    drawn = bar.locator("svg").get_attribute("aria-label")

    assert "should be below 20 % by" in chart
    assert len(tape) > 1
    assert tape == sorted(tape)
    assert str(tape[-1]) in drawn
    assert faults == []
    assert not visitor.console or all("400" in said for said in visitor.console)
    assert visitor.hosts == {demo.address.removeprefix("http://")}
