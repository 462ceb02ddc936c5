"""The pages as answers: who may see what, what is refused, what a browser may do with them.

How they look and work in a browser is in tests/browser.
"""

from __future__ import annotations

import time

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from apps.pages.owner import SIGN_IN_SECONDS, owner_account, sign_in_ticket, user_of_ticket
from apps.planning.models import Plan
from tests import factories


@pytest.fixture
def browser(house):
    """A browser signed in as the house's owner."""
    made = Client()
    made.force_login(house.owner)
    return made


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


@pytest.mark.parametrize("address", ["/", "/week/", "/week/?property=1"])
def test_a_page_about_a_house_needs_signing_in(db, address):
    answer = Client().get(address)

    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")


def test_someone_elses_house_is_not_there(house):
    stranger = signed_in(factories.MemberFactory().user)

    looked = stranger.get(f"/week/?property={house.pk}")
    asked = stranger.post("/week/plan-again/", {"property": house.pk})

    assert (looked.status_code, asked.status_code) == (404, 404)
    assert house.name not in looked.text + asked.text
    assert not Plan.objects.exists()


def test_a_viewer_sees_the_week_and_cannot_plan(house):
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)

    looked = viewer.get(f"/week/?property={house.pk}")
    asked = viewer.post("/week/plan-again/", {"property": house.pk})

    assert looked.status_code == 200
    assert "plan-again" not in looked.text
    assert asked.status_code == 403
    assert not Plan.objects.exists()


def test_planning_again_asks_for_a_plan_and_comes_back(house, browser):
    answer = browser.post("/week/plan-again/", {"property": house.pk, "on": "2026-03-05"})

    assert answer["Location"] == f"/week/?property={house.pk}&on=2026-03-05"
    assert Plan.objects.get().requested_by == house.owner


def test_a_plan_in_the_making_is_said_and_not_asked_for_again(house, browser):
    Plan.objects.create(property=house, as_of="2026-03-02T18:00Z", state="solving")

    page = browser.get("/week/").text

    assert "A plan is being made." in page
    assert "plan-again" not in page


def test_a_plan_that_failed_says_so(house, browser):
    Plan.objects.create(
        property=house, as_of="2026-03-02T18:00Z", state="failed", failure="It stopped."
    )

    assert "It stopped." in browser.get("/week/").text


def test_without_a_plan_the_page_offers_one(house, browser):
    page = browser.get("/week/").text

    assert "No plan yet." in page
    assert "Make a plan" in page
    assert "Nothing to stop for." in page


@pytest.mark.parametrize(
    "query", ["property=0", "property=x", "property=-1", "property=9999999999999999999999",
              "property=²", "on=2026-02-30", "on=9999-12-31", "on=0001-01-01", "on=%00"],
)  # fmt: skip
def test_a_query_that_means_nothing_gets_a_page(house, browser, query):
    answer = browser.get(f"/week/?{query}")

    assert answer.status_code == 404
    assert "Open tonight" in answer.text


def test_several_houses_are_offered_by_name(house, browser):
    other = factories.MemberFactory(user=house.owner).property

    page = browser.get("/").text

    assert house.name in page
    assert f"/tonight/?property={other.pk}" in page


def test_what_people_wrote_is_shown_as_text(house, browser):
    house.change(name="<script>alert(1)</script>")

    page = browser.get("/week/").text

    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script>" not in page


def test_the_week_of_many_tasks_costs_no_more_queries_than_of_one(house, browser):
    plan = Plan.objects.create(
        property=house, as_of="2026-03-02T18:00Z", state="ready", is_current=True, proven=True
    )

    def queries():
        with CaptureQueriesContext(connection) as counted:
            page = browser.get("/week/?on=2026-03-02")
        return page.text.count('class="work"'), len(counted)

    def stint(hour):
        plan.stints.create(
            task=factories.TaskFactory(package__property=house, room=room),
            starts=f"2026-03-02T{hour:02d}:00Z", ends=f"2026-03-02T{hour:02d}:45Z",
            why_not_sooner={"code": "none", "sentence": "", "by": []},
        )  # fmt: skip

    room = factories.RoomFactory(property=house)
    stint(7)
    browser.get("/week/")  # The first visit notes which house is looked at.
    one, cost_of_one = queries()
    for hour in range(8, 20):
        stint(hour)
    many, cost_of_many = queries()

    assert (one, many) == (1, 13)
    assert cost_of_many == cost_of_one <= 40


def test_a_form_from_another_site_is_refused_with_a_page(house):
    careful = Client(enforce_csrf_checks=True)
    careful.force_login(house.owner)

    answer = careful.post("/week/plan-again/", {"property": house.pk})

    assert answer.status_code == 403
    assert "Open the page again" in answer.text
    assert not Plan.objects.exists()


def test_a_ticket_signs_in_once(db):
    address = f"/sign-in/{sign_in_ticket(owner_account())}/"

    first = Client().post(address)
    second = Client().post(address)

    assert (first.status_code, first["Location"]) == (302, "/")
    assert second.status_code == 410
    assert "manage.py sign_in" in second.text


def test_looking_at_the_sign_in_page_signs_nobody_in(db):
    visitor = Client()

    visitor.get(f"/sign-in/{sign_in_ticket(owner_account())}/")

    assert "sessionid" not in visitor.cookies


@pytest.mark.parametrize("bend", [lambda t: t[:-1], lambda t: t + "x", lambda t: "x", str.swapcase])
def test_a_ticket_that_was_altered_is_worth_nothing(db, bend):
    ticket = sign_in_ticket(owner_account())

    assert user_of_ticket(ticket) == owner_account()
    assert user_of_ticket(bend(ticket)) is None


def test_an_old_ticket_is_worth_nothing(db, monkeypatch):
    ticket = sign_in_ticket(owner_account())
    issued = time.time()

    monkeypatch.setattr("time.time", lambda: issued + SIGN_IN_SECONDS + 60)

    assert user_of_ticket(ticket) is None


def test_a_ticket_of_someone_who_was_shut_out_is_worth_nothing(db):
    owner = owner_account()
    ticket = sign_in_ticket(owner)

    owner.is_active = False
    owner.save()

    assert user_of_ticket(ticket) is None


@pytest.mark.parametrize("address", ["/week/", "/sign-in/", "/nowhere/", "/api/v1/rooms/"])
def test_every_answer_forbids_what_is_not_ours(house, browser, address):
    answer = browser.get(address)

    policy = dict(
        rule.strip().split(" ", 1) for rule in answer["Content-Security-Policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == "'none'"
    assert policy["script-src"] == policy["connect-src"] == "'self'"
    assert "unsafe" not in answer["Content-Security-Policy"]
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"


def test_a_week_is_not_left_in_the_browsers_store(house, browser):
    assert "no-store" in browser.get("/week/")["Cache-Control"]


def test_an_address_that_nobody_knows_is_a_page_and_under_the_api_a_problem(house, browser):
    page, problem = browser.get("/nowhere/"), browser.get("/api/nowhere/")

    assert (page.status_code, problem.status_code) == (404, 404)
    assert page["Content-Type"].startswith("text/html")
    assert problem["Content-Type"] == "application/problem+json"


def test_a_page_is_sent_compressed_and_an_answer_of_the_api_as_it_is(house):
    browser = Client(headers={"accept-encoding": "gzip"})
    browser.force_login(house.owner)

    page, answer = browser.get("/week/"), browser.get(f"/api/v1/properties/{house.pk}/")

    assert page["Content-Encoding"] == "gzip"
    assert "Content-Encoding" not in answer
    assert answer["ETag"].startswith('"')
