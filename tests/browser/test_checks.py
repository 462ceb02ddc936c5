"""Asking whether a joist is good enough, on a phone, from the list to a notch that is too deep."""

from __future__ import annotations

from tests.browser.axe import violations


def test_a_joist_is_asked_about_with_one_thumb(visit):
    visitor = visit("/checks/?property=1")
    page = visitor.page

    page.get_by_role("link", name="Is this joist good enough?", exact=True).click()
    page.locator("#from-joist > summary").click()
    page.locator("#from-joist a").first.click()
    assert page.get_by_text("Filled in from").is_visible()
    page.goto(page.url.partition("?")[0] + "?property=1")
    page.get_by_label("Clear span").fill("7.5m")
    page.get_by_role("button", name="Work it out").click()

    assert page.get_by_text("Does not pass", exact=True).is_visible()
    assert page.locator(".check-figure svg").is_visible()

    page.get_by_label("Clear span").fill("about three")
    page.get_by_role("button", name="Work it out").click()

    assert page.locator("#f-span_mm-error").is_visible()
    assert violations(page) == []
    page.go_back()
    assert page.get_by_label("Clear span").input_value() == "7.5m"
    assert [said for said in visitor.console if "400" not in said] == []
