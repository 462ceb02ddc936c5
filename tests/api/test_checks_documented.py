"""Every calculator answers its worked request just as docs/reference/api.md shows."""

from __future__ import annotations

import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from tests.api.documented import NAMES, asked, blocks
from tests.api.walk import is_problem, pointers, stranger, viewer_of
from tests.walkthrough import is_part

calculators = pytest.mark.parametrize("name", NAMES)


@calculators
def test_the_documented_request_is_answered_as_documented(client, name):
    request, shown = blocks(name)

    answer = client.post(f"/api/v1/checks/{name}/", request)

    assert answer.status_code == 200, answer.content
    assert is_part(shown, answer.json()), json.dumps(answer.json(), ensure_ascii=False)[:3000]


@calculators
def test_every_member_in_the_table_of_an_answer_is_there_and_no_other(client, name):
    from tests.unit.test_docs import read, section

    told = section(read("reference/api.md"), f"checks/{name}")
    table = told.partition("| answer | meaning |")[2].partition("\n\n")[0]
    rows = {line.split("`")[1] for line in table.splitlines() if line.startswith("| `")}

    assert set(client.post(f"/api/v1/checks/{name}/", asked(name)).json()) == rows


@calculators
def test_asking_stores_nothing(client, name):
    with CaptureQueriesContext(connection) as caught:
        client.post(f"/api/v1/checks/{name}/", asked(name))

    assert [query["sql"] for query in caught] == []


def test_a_viewer_and_a_stranger_may_ask(house):
    for who in (viewer_of(house), stranger()):
        assert who.post("/api/v1/checks/deck/", asked("deck")).status_code == 200


@calculators
def test_nobody_asks_without_signing_in(db, name):
    assert is_problem(APIClient().post(f"/api/v1/checks/{name}/", asked(name)), 401)


@calculators
def test_a_field_that_nobody_knows_is_refused_with_those_there_are(client, name):
    answer = client.post(f"/api/v1/checks/{name}/", asked(name, colour="green"))

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/colour"]
    assert "There is no such field; there are" in answer.json()["errors"][0]["detail"]


@calculators
def test_a_body_that_is_no_object_is_refused(client, name):
    for body in ([], "3600", 7, None):
        answer = client.post(
            f"/api/v1/checks/{name}/", json.dumps(body), content_type="application/json"
        )
        assert is_problem(answer, 400), body


@calculators
def test_the_same_question_gets_the_same_answer(client, name):
    first, again = (client.post(f"/api/v1/checks/{name}/", asked(name)) for _ in range(2))

    assert first.content == again.content


def test_what_was_given_can_be_asked_again_with_the_same_answer(client):
    for name in ("joist", "lap", "bearing", "deck"):
        first = client.post(f"/api/v1/checks/{name}/", asked(name)).json()

        again = client.post(f"/api/v1/checks/{name}/", first["given"]).json()

        assert again["outcome"] == first["outcome"], name
