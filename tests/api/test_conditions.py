"""Conditions over HTTP: they come with a sign-off, keep tasks waiting, and are cleared."""

from datetime import date

import pytest

from tests import factories
from tests.api.asking import ago, ids, is_problem, queries_of_list, refuses
from tests.api.walk import another_house_of, strangers_house, viewer_of

CONDITIONS = "/api/v1/conditions/"


def look(house, **fields):
    return factories.InspectionFactory(property=house, **fields)


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def condition(house, **fields):
    return factories.condition(look(house), recorded_by=house.owner, **fields)


def sign_off(client, inspection, conditions):
    return client.post(
        "/api/v1/sign-offs/",
        {
            "inspection": inspection.pk, "result": "accepted_with_conditions",
            "seen_by": "A. Surveyor", "seen_at": ago(1).isoformat(), "conditions": conditions,
        },
    )  # fmt: skip


def post(client, row, step, body=None):
    return client.post(f"{CONDITIONS}{row.pk}/{step}/", body or {})


def test_conditions_come_with_the_sign_off_that_asks_for_them(client, house):
    inspection, lay = look(house), task_of(house)

    answer = sign_off(
        client, inspection,
        [
            {"text": "Treat the cut ends", "due_on": "2026-03-09", "blocks": [lay.pk]},
            {"text": "Send a photo of the vent"},
        ],
    )  # fmt: skip

    first, second = client.get(CONDITIONS, {"inspection": inspection.pk}).json()["results"]
    assert [row["text"] for row in answer.json()["conditions"]] == [first["text"], second["text"]]
    assert (first["due_on"], first["blocks"]) == ("2026-03-09", [lay.pk])
    assert (second["due_on"], second["blocks"], second["cleared_at"]) == (None, [], None)
    assert first["sign_off"] == answer.json()["id"]


@pytest.mark.parametrize("whose", [another_house_of, lambda owner: strangers_house()])
def test_a_condition_blocks_tasks_of_its_own_house_only(client, house, whose):
    theirs = task_of(whose(house.owner))

    answer = sign_off(client, look(house), [{"text": "Treat it", "blocks": [theirs.pk]}])

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/conditions/0/blocks"


@pytest.mark.parametrize("step", ["start", "finish"])
def test_an_open_condition_keeps_the_tasks_it_blocks_waiting(client, house, step):
    lay = task_of(house, title="Lay")
    row = condition(house, blocks=[lay])

    waits = client.post(f"/api/v1/tasks/{lay.pk}/{step}/")
    post(client, row, "clear", {"note": "Two coats, photo on file"})
    goes = client.post(f"/api/v1/tasks/{lay.pk}/{step}/")

    assert is_problem(waits, 409, "hold-point-open")
    assert "Lay waits until the condition “Treat the cut ends” of" in waits.json()["detail"]
    assert waits.json()["conditions"] == [{"id": row.pk, "text": "Treat the cut ends"}]
    assert goes.status_code == 200


def test_a_condition_is_cleared_with_a_note_and_opened_again(client, house):
    row = condition(house)

    cleared = post(client, row, "clear", {"note": "Two coats", "at": ago(3).isoformat()}).json()
    opened = post(client, row, "open-again").json()

    assert (cleared["cleared_note"], cleared["cleared_by"]) == ("Two coats", house.owner.username)
    assert cleared["cleared_at"] == ago(3).isoformat().replace("+00:00", "Z")
    assert (opened["cleared_at"], opened["cleared_note"], opened["cleared_by"]) == (None, "", None)
    assert opened["version"] == 3


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({}, "/note", "required"),
        ({"note": " "}, "/note", "blank"),
        ({"note": "x" * 1001}, "/note", "1000"),
        ({"note": "Done", "at": "2999-01-01T00:00:00Z"}, "/at", "still to come"),
    ],
)
def test_clearing_says_how_and_when(client, house, body, pointer, words):
    row = condition(house)

    assert refuses(post(client, row, "clear", body), pointer, words)
    row.refresh_from_db()
    assert row.cleared_at is None


def test_a_step_that_is_not_possible_names_those_that_are(client, house):
    row = condition(house)
    too_early = post(client, row, "open-again")
    post(client, row, "clear", {"note": "Done"})

    twice = post(client, row, "clear", {"note": "Done"})

    assert is_problem(too_early, 409, "wrong-step")
    assert (too_early.json()["allowed"], twice.json()["allowed"]) == (["clear"], ["open-again"])


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_what_was_asked_for_is_not_rewritten(client, house, method):
    row = condition(house)

    answer = getattr(client, method)(f"{CONDITIONS}{row.pk}/", {"text": "Nothing"})

    assert answer.status_code == 405
    assert client.post(CONDITIONS, {"text": "Something"}).status_code == 405


def test_a_viewer_clears_nothing_and_a_stranger_finds_nothing(client, house):
    row = condition(house)
    theirs = factories.condition(factories.InspectionFactory())

    assert post(viewer_of(house), row, "clear", {"note": "Done"}).status_code == 403
    assert post(client, theirs, "clear", {"note": "Done"}).status_code == 404
    assert client.get(f"{CONDITIONS}{theirs.pk}/").status_code == 404


def test_conditions_are_filtered_by_what_they_block_when_due_and_whether_open(client, house):
    lay = task_of(house)
    blocking = condition(house, blocks=[lay])
    dated = condition(house, due_on=date(2026, 3, 9))
    post(client, dated, "clear", {"note": "Done"})

    assert ids(client.get(CONDITIONS, {"blocks": lay.pk})) == [blocking.pk]
    assert ids(client.get(CONDITIONS, {"due_on__lte": "2026-03-09"})) == [dated.pk]
    assert ids(client.get(CONDITIONS, {"cleared_at__isnull": "true"})) == [blocking.pk]
    assert ids(client.get(CONDITIONS, {"property": house.pk, "search": "ends"})) != []


def test_conditions_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            condition(house, blocks=[task_of(house)])

    make(2)
    few = queries_of_list(client, CONDITIONS)
    make(18)

    assert queries_of_list(client, CONDITIONS) == few
