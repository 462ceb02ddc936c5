"""The week on a phone and on a desk."""

from __future__ import annotations

import json
import re

import pytest


def test_the_page_says_what_the_terminal_says(demo, visit):
    told = json.loads(demo.installation.manage("week", "--json"))

    page = visit("/week/").page

    text = page.locator("main").text_content()
    stints = [row["title"] for day in told["week"]["days"] for row in day["stints"]]
    assert stints
    assert [title for title in stints if title not in text] == []
    assert [row["sentence"] for row in told["alerts"] if row["sentence"] not in text] == []
    held_for = {hold["for"]["name"] for hold in told["holds"] if not hold["released"]}
    assert held_for
    assert [name for name in held_for if f"For {name}" not in text] == []


def test_what_to_stop_for_comes_before_the_days(visit):
    page = visit("/week/").page

    headings = page.get_by_role("heading", level=2).all_inner_texts()

    assert headings[0] == "Before anything else"
    assert page.locator(".alerts .stamp").first.inner_text().lower() == "stop"
    assert headings[1].endswith("TODAY")


def test_every_mark_of_severity_is_a_word_too(visit):
    page = visit("/week/").page

    rows = page.locator(".alerts li")

    assert rows.count() > 3
    for row in rows.all():
        assert row.text_content().strip().startswith(("stop", "act", "watch"))


def test_a_board_mark_always_comes_with_its_floor(visit):
    page = visit("/week/").page

    lifts = page.locator(".boards h3").all_text_contents()

    assert lifts
    line = r"((Lift|Fix) \d+ boards?|Lay \d+ boards? loose for the night) · .+"
    assert [said for said in lifts if not re.fullmatch(line, said)] == []


def test_the_weeks_before_and_after_are_one_tap_away(visit):
    page = visit("/week/").page
    this_week = page.get_by_role("heading", level=1).inner_text()

    page.get_by_role("link", name="Week after").click()
    next_week = page.get_by_role("heading", level=1).inner_text()
    page.get_by_role("link", name="This week").click()

    assert next_week != this_week
    assert page.get_by_role("heading", level=1).inner_text() == this_week


def test_planning_again_makes_a_new_plan_and_comes_back_to_the_same_week(demo, visit):
    page = visit("/week/?property=1").page
    count = "from apps.planning.models import Plan; answer = Plan.objects.count()"
    before = demo.installation.run(count)
    week = page.get_by_role("heading", level=1).inner_text()

    page.get_by_role("button", name="Plan again").click()

    assert demo.installation.run(count) == before + 1
    assert page.get_by_role("heading", level=1).inner_text() == week
    assert page.get_by_text("Planned as of").is_visible()


@pytest.mark.parametrize("path", ["/week/?property=999", "/week/?on=someday", "/nowhere/"])
def test_a_wrong_address_gets_a_page_and_a_way_back(visit, path):
    page = visit(path).page

    page.get_by_role("link", name="Open tonight").click()

    assert page.get_by_role("heading", name="In this order").is_visible()


def test_the_api_description_is_readable_and_stays_on_this_host(demo, visit):
    visitor = visit("/api/docs/", "desk")

    visitor.page.locator("[data-path^='/api/v1/']").first.wait_for()

    assert visitor.console == []
    assert visitor.hosts == {f"127.0.0.1:{demo.port}"}
