"""Every page and every form with every method: for nobody, a stranger, a viewer.

What cannot be classified fails: a page is one of a house (`house_page`, `house_action`), one of a
person, or open, and the last two kinds are named here with why.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import URLPattern, get_resolver

from tests.api.actors import changed, everything, member_of, somebody_else, with_browser
from tests.api.samples import SAMPLES

# Each says by itself who may do what, and has tests of its own.
OPEN = {
    "sign-in": "how to get in",
    "sign-in-ticket": "the address is the key, once",
    "service-worker": "a script, the same for all",
    "without-signal": "a sentence, the same for all",
    "feed": "the address is the key",
    "visit-link": "the address is the key",
    "schema": "what the API takes, without any house",
    "docs": "the same, to be read",
}
OF_A_PERSON = {
    "home": "one's own houses",
    "houses": "one's own houses",
    "look-round": "a new house of one's own",
    "house-new": "a new house of one's own",
    "house-feet": "how lengths are shown to oneself, a viewer too",
    "sign-out": "one's own session",
    "bring-in": "a new house of one's own",
    "bring-in-stop": "a new house of one's own",
    "tokens": "one's own tokens",
    "token-new": "one's own tokens",
    "token-revoke": "one's own tokens",
}
# What an id in an address is of, by the word before it.
ROWS = {
    "tasks": "tasks", "found": "findings", "measures": "temporary-measures", "board": "boards",
    "visit": "visits", "visits": "visits", "changes": "plans", "piece": "timber-pieces",
    "reading": "moisture-readings", "need": "timber-needs", "plan": "cutting-plans", "cut": "cuts",
    "floor": "floors", "levels": "floors", "looks": "inspections", "hold": "inspections",
    "conditions": "conditions", "deviations": "deviations", "certificates": "certificates",
    "evidence": "evidence", "stop": "calendar-feeds", "link": "visits", "replies": "visit-replies",
    "rooms": "rooms", "storeys": "storeys", "floors": "floors", "routes": "household-routes",
    "hours": "working-times", "trades": "trades", "members": "members", "packages": "work-packages",
    "doorways": "doorways", "people": "people", "days": "working-time-exceptions",
    "needs": "access-needs",
}  # fmt: skip
WORDS = {"name": "joist", "kind": "tasks", "ticket": "x", "part": "x"}
METHODS = ("get", "post", "put", "patch", "delete", "head")


@dataclass(frozen=True)
class Page:
    route: str
    name: str
    view: Any

    @property
    def of_a_house(self) -> bool:
        return getattr(self.view, "of_a_house", False)

    @property
    def row(self) -> str | None:
        """The resource of the id in its address."""
        found = re.search(r"([\w-]+)/<int:\w+>", self.route)
        return found and ROWS[found[1]]

    def at(self, pk: Any = 0) -> str:
        with_row = re.sub(r"<int:\w+>", str(pk), "/" + self.route)
        return re.sub(r"<(?:\w+:)?(\w+)>", lambda found: WORDS[found[1]], with_row)


def pages(patterns=None, before=""):
    for entry in patterns or get_resolver().url_patterns:
        if isinstance(entry, URLPattern):
            yield Page(before + str(entry.pattern), entry.name or "", entry.callback)
        elif not str(entry.pattern).startswith("api/v1"):
            yield from pages(entry.url_patterns, before + str(entry.pattern))


ALL = list(pages())
every_page = pytest.mark.parametrize("page", ALL, ids=lambda page: page.route)
in_a_house = pytest.mark.parametrize(
    "page", [page for page in ALL if page.of_a_house], ids=lambda page: page.route
)


def test_every_page_has_a_rule():
    known = {*OPEN, *OF_A_PERSON}

    assert [page.route for page in ALL if not page.of_a_house and page.name not in known] == []
    assert [page.route for page in ALL if page.of_a_house and page.name in known] == []
    assert len([page for page in ALL if page.of_a_house]) > 100


def test_every_id_in_an_address_is_of_something():
    ids = [page.route for page in ALL for _ in re.findall(r"<int:", page.route)]
    words = {word for page in ALL for word in re.findall(r"<(?!int:)(?:\w+:)?(\w+)>", page.route)}

    assert len(ids) == len({*ids}), "an address has one id"
    assert {page.row for page in ALL} - {None} <= {*SAMPLES}
    assert words <= {*WORDS}


@pytest.mark.parametrize(
    "page", [page for page in ALL if page.name not in OPEN], ids=lambda page: page.route
)
def test_nobody_is_sent_to_sign_in(db, page):
    before = everything()

    for method in METHODS:
        answer = getattr(Browser(), method)(page.at(1))

        assert answer.status_code in {302, 405}
        assert answer.status_code == 405 or answer["Location"] == "/sign-in/"
    assert changed(before) == []


@in_a_house
def test_a_stranger_finds_no_such_page_and_changes_nothing(house, page):
    row = SAMPLES[page.row].make(house) if page.row else None
    outside = somebody_else()
    own = outside.houses.get().property_id
    browser = with_browser(outside)
    before = everything()

    for method in METHODS:
        for asked in (house.pk, own) if row else (house.pk,):
            # A form names the house in its fields, a page in its address.
            where = page.at(row.pk if row else 0)
            answer = (
                browser.post(where, {"property": asked})
                if method == "post"
                else getattr(browser, method)(f"{where}?property={asked}")
            )

            assert answer.status_code in {404, 405}
    assert changed(before) == []


@in_a_house
def test_a_viewer_reads_and_is_refused_every_form(house, page):
    row = SAMPLES[page.row].make(house) if page.row else None
    viewer = with_browser(member_of(house, "viewer"))
    before = everything()

    for method in METHODS:
        answer = getattr(viewer, method)(page.at(row.pk if row else 0))
        answer.close()

        if method == "post":
            assert answer.status_code in {403, 405}
        elif method in {"get", "head"}:
            # A page may want more than its address, or have nothing to draw; it is not refused.
            assert answer.status_code in {200, 302, 400, 404, 405, 409, 422}
            assert answer.status_code != 302 or answer["Location"] != "/sign-in/"
        else:
            assert answer.status_code == 405
    assert changed(before) == []
