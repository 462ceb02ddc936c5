"""Signing in by the printed address."""

from __future__ import annotations

from tests.browser.conftest import SIZES, Visitor, sign_in


def test_the_printed_address_and_one_button_open_tonight(demo, new_context):
    visitor = Visitor(new_context(viewport=SIZES["phone"]).new_page()).watch()

    visitor.page.goto(demo.fresh_sign_in())
    visitor.page.get_by_role("button", name="Sign in").click()

    assert visitor.page.get_by_role("heading", name="In this order").is_visible()
    assert visitor.page.get_by_text("14 Tidemill Lane").first.is_visible()
    assert visitor.console == []


def test_opening_the_address_does_not_use_it_up(demo, new_context):
    address = demo.fresh_sign_in()
    new_context().new_page().goto(address)
    page = new_context().new_page()

    page.goto(address)
    page.get_by_role("button", name="Sign in").click()

    assert "/tonight/" in page.url


def test_a_used_address_is_refused_and_says_how_to_get_a_new_one(demo, new_context):
    address = demo.fresh_sign_in()
    first = new_context().new_page()
    first.goto(address)
    first.get_by_role("button", name="Sign in").click()
    second = new_context().new_page()

    answer = second.goto(address)

    assert answer.status == 410
    assert second.get_by_role("heading", level=1).inner_text() == "This address no longer works"
    assert second.get_by_text("manage.py sign_in").is_visible()
    assert second.get_by_role("button", name="Sign in").count() == 0


def test_a_button_pressed_after_someone_else_used_the_address_signs_nobody_in(demo, new_context):
    address = demo.fresh_sign_in()
    slow = new_context().new_page()
    slow.goto(address)
    quick = new_context().new_page()
    quick.goto(address)
    quick.get_by_role("button", name="Sign in").click()

    slow.get_by_role("button", name="Sign in").click()
    slow.goto(f"{demo.address}/")

    assert slow.url == f"{demo.address}/sign-in/"


def test_nobody_sees_the_week_without_signing_in(demo, new_context):
    page = new_context().new_page()

    page.goto(f"{demo.address}/week/?property=1")

    assert page.url == f"{demo.address}/sign-in/"
    assert "Tidemill" not in page.content()


def test_after_signing_out_the_week_is_closed_again(demo, new_context):
    page = new_context().new_page()
    sign_in(page, demo)

    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    page.goto(f"{demo.address}/week/?property=1")

    assert page.url == f"{demo.address}/sign-in/"


def test_signing_in_works_without_javascript(demo, new_context):
    page = new_context(java_script_enabled=False).new_page()

    sign_in(page, demo)

    assert page.get_by_role("heading", name="In this order").is_visible()
