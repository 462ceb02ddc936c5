"""What a browser may do with our answers, and what other sites may make it send."""

from __future__ import annotations

import pytest
from django.test import Client

from apps.pages.owner import sign_in_ticket
from tests import factories
from tests.api.actors import changed, everything, with_browser, with_token
from tests.api.walk import is_problem

STOREYS = "/api/v1/storeys/"
OTHER_SITES = [
    {"HTTP_ORIGIN": "https://evil.example"},
    {"HTTP_ORIGIN": "null"},
    {"HTTP_ORIGIN": "http://testserver:8001"},
    {"HTTP_ORIGIN": "https://testserver"},
    {"HTTP_ORIGIN": "http://[half"},
    {"HTTP_SEC_FETCH_SITE": "cross-site"},
    {"HTTP_SEC_FETCH_SITE": "same-site"},
]
OUR_OWN = [
    {},
    {"HTTP_ORIGIN": "http://testserver"},
    {"HTTP_ORIGIN": "http://testserver", "HTTP_SEC_FETCH_SITE": "same-origin"},
    {"HTTP_SEC_FETCH_SITE": "same-origin"},
    {"HTTP_SEC_FETCH_SITE": "none"},
]


@pytest.mark.parametrize("sent_by", OTHER_SITES)
@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_another_sites_page_changes_nothing_even_with_a_token(house, sent_by, method):
    storey = factories.StoreyFactory(property=house)
    script = with_token(house.owner)
    before = everything()

    answer = getattr(script, method)(f"{STOREYS}{storey.pk}/", {"name": "Attic"}, **sent_by)

    assert is_problem(answer, 403)
    assert answer.json()["type"].endswith("#wrong-origin")
    assert changed(before) == []


@pytest.mark.parametrize("sent_by", OTHER_SITES)
def test_another_sites_page_sends_no_form(house, sent_by):
    browser = with_browser(house.owner)
    before = everything()

    answer = browser.post("/house/storeys/add/", {"name": "Attic", "level": 4}, **sent_by)

    assert answer.status_code == 403
    assert "another site" in answer.text
    assert changed(before) == []


@pytest.mark.parametrize("sent_by", OUR_OWN)
def test_our_own_page_and_a_plain_script_are_let_through(house, sent_by):
    body = {"property": house.pk, "name": "Attic", "level": 4}

    assert with_token(house.owner).post(STOREYS, body, **sent_by).status_code == 201


@pytest.mark.parametrize(
    ("trusted", "origin", "status"),
    [
        ("https://boards.example", "https://boards.example", 201),
        ("https://*.boards.example", "https://hall.boards.example", 201),
        ("https://*.boards.example", "https://boards.example.evil.example", 403),
        ("https://boards.example", "http://boards.example", 403),
    ],
)
def test_an_origin_that_the_settings_name_is_let_through(
    house, settings, trusted, origin, status
):  # fmt: skip
    settings.CSRF_TRUSTED_ORIGINS = [trusted]
    body = {"property": house.pk, "name": "Attic", "level": 4}

    answer = with_token(house.owner).post(
        STOREYS, body, HTTP_ORIGIN=origin, HTTP_SEC_FETCH_SITE="cross-site"
    )

    assert answer.status_code == status


def test_reading_is_not_asked_where_it_comes_from(house):
    """A link from a letter opens a page; another site's script cannot read the answer."""
    answer = with_browser(house.owner).get("/houses/", HTTP_SEC_FETCH_SITE="cross-site")

    assert answer.status_code == 200
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "Access-Control-Allow-Origin" not in answer


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.20", ""])
@pytest.mark.parametrize("path", ["/", "/sign-in/", "/api/v1/properties/", "/api/docs/", "/sw.js"])
def test_a_name_that_somebody_else_points_here_is_refused(db, host, path):
    answer = Client().get(path, HTTP_HOST=host)

    assert answer.status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost:8000", "[::1]:8000"])
def test_this_machines_own_names_are_answered(db, host):
    assert Client().get("/sign-in/", HTTP_HOST=host).status_code == 200


@pytest.mark.parametrize(
    "path", ["/sign-in/", "/houses/", "/api/v1/properties/", "/api/v1/none/", "/no-such-page/"]
)
def test_every_answer_says_what_a_browser_may_do_with_it(house, path):
    answer = with_browser(house.owner).get(path)

    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"


def test_the_description_of_the_api_runs_no_script_of_its_page(db):
    answer = Client().get("/api/docs/")

    assert "script-src 'self';" in answer["Content-Security-Policy"]
    assert "<script>" not in answer.text
    assert " onload=" not in answer.text


def test_the_session_cookie_is_not_for_scripts_or_other_sites(house):
    browser = Client()
    browser.post(f"/sign-in/{sign_in_ticket(house.owner)}/")

    cookie = browser.cookies["sessionid"]

    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
