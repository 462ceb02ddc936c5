"""Suppositions: the same answer, and nothing of it kept."""

from __future__ import annotations

import pytest
from django.apps import apps

from apps.planning.models import Plan, Stint
from apps.property.outlines import rectangle
from renovation.models import RememberedAnswer
from tests import factories
from tests.api.houses import MONDAY, crew, floor_with_boards, package, plan

pytestmark = pytest.mark.usefixtures("handed_out")
OUR_APPS = {"property", "floors", "work", "inspections", "trades", "timber", "repairs", "planning"}


@pytest.fixture
def two(house):
    house.mar = crew(house)
    house.work = package(house)
    house.first = factories.TaskFactory(package=house.work, title="Sand the floor")
    house.second = factories.TaskFactory(package=house.work, title="Oil the floor")
    factories.LinkFactory(before=house.first, after=house.second)
    plan(house)
    return house


def suppose(client, house, what_if):
    return client.post(
        "/api/v1/plans/",
        {"property": house.pk, "as_of": MONDAY.isoformat(), "seconds": 1, "what_if": what_if},
    )


def stored():
    """All rows of the record with their values, plans and what plans keep left out."""
    return {
        model.__name__: list(model.objects.order_by("pk").values())
        for model in apps.get_models()
        if model._meta.app_label in OUR_APPS and model not in {Plan, Stint, RememberedAnswer}
    }


def starts(body, row):
    return [s["starts"] for s in body["stints"] if s["task"] == row.pk]


SUPPOSITIONS = {
    "days_off": lambda house: [{"person": house.mar.pk, "date": "2026-01-05"}],
    "more_hours": lambda house: [
        {"person": house.mar.pk, "date": "2026-01-06", "starts": "09:00", "ends": "11:00"}
    ],
    "drop_tasks": lambda house: [house.first.pk],
    "add_tasks": lambda house: [
        {"title": "Punch the nails", "package": house.work.pk, "likely_minutes": 60}
    ],
}


@pytest.mark.parametrize("name", SUPPOSITIONS)
def test_a_supposition_saves_nothing_but_its_own_plan(client, two, name):
    before, current = stored(), Plan.objects.get(is_current=True)

    answer = suppose(client, two, {name: SUPPOSITIONS[name](two)})

    assert (answer.status_code, answer.json()["status"]) == (201, "ready")
    assert answer.json()["is_current"] is False
    assert answer.json()["changes"] != []
    assert stored() == before
    assert Plan.objects.get(is_current=True) == current


def test_a_day_off_that_is_only_supposed_moves_the_work_and_says_why(client, two):
    body = suppose(client, two, {"days_off": SUPPOSITIONS["days_off"](two)}).json()

    assert starts(body, two.first) == ["2026-01-06T18:00:00Z"]
    assert body["changes"][0]["because"]["sentence"] == "Mar has Mon 5 Jan off."


def test_two_more_hours_are_worked_beside_the_usual_ones(client, two):
    body = suppose(client, two, {"more_hours": SUPPOSITIONS["more_hours"](two)}).json()

    assert starts(body, two.first) == ["2026-01-05T18:00:00Z"]
    assert starts(body, two.second) == ["2026-01-06T09:00:00Z"]
    assert body["changes"][0]["because"]["sentence"] == "Mar works 09:00–11:00 more on Tue 6 Jan."


def test_a_supposed_task_takes_its_place_among_the_others(client, two):
    added = [
        {"title": "Fill", "package": two.work.pk, "likely_minutes": 120, "after": [two.first.pk],
         "before": [-2]},
        {"title": "Sand again", "package": two.work.pk, "likely_minutes": 120,
         "before": [two.second.pk]},
    ]  # fmt: skip

    body = suppose(client, two, {"add_tasks": added}).json()

    shown = [(s["task"], s["supposed"], s["starts"]) for s in body["stints"]]
    assert shown == [
        (two.first.pk, None, "2026-01-05T18:00:00Z"),
        (None, "Fill", "2026-01-06T18:00:00Z"),
        (None, "Sand again", "2026-01-07T18:00:00Z"),
        (two.second.pk, None, "2026-01-08T18:00:00Z"),
    ]
    assert [c["about"]["name"] for c in body["changes"]] == ["Fill", "Sand again", "Oil the floor"]
    assert body["stints"][1]["why_not_sooner"]["by"][0]["id"] == two.first.pk
    assert client.get(f"/api/v1/plans/{body['id']}/").json() == body


def test_a_supposed_task_keeps_the_rules_of_its_kind(client, two):
    floor = floor_with_boards(two)
    tool = factories.ToolFactory(property=two)
    trade = factories.TradeFactory(property=two, days=[3])
    added = [
        {"title": "Lift", "package": two.work.pk, "likely_minutes": 60, "floor": floor.pk,
         "floor_action": "lift", "area": rectangle(1000, 300), "tools": [tool.pk],
         "due": "2026-01-06T20:00:00+00:00"},
        {"title": "Pipe", "package": two.work.pk, "likely_minutes": 60, "trade": trade.pk},
    ]  # fmt: skip

    body = suppose(client, two, {"add_tasks": added}).json()

    shown = {s["supposed"]: s["starts"] for s in body["stints"] if s["supposed"]}
    assert shown["Pipe"] == "2026-01-08T08:00:00Z"
    assert set(shown) == {"Lift", "Pipe"}


def test_several_things_are_supposed_at_once(client, two):
    supposed = {name: SUPPOSITIONS[name](two) for name in ("days_off", "more_hours")}

    body = suppose(client, two, supposed).json()

    assert starts(body, two.first) == ["2026-01-06T09:00:00Z"]
    assert starts(body, two.second) == ["2026-01-06T18:00:00Z"]


def one_task(**fields):
    return {"title": "Fill", "package": 1, "likely_minutes": 60, **fields}


@pytest.mark.parametrize(
    ("what_if", "pointer"),
    [
        ({"rain": True}, "/what_if"),
        ({}, "/what_if"),
        ({"visits": 3}, "/what_if/visits"),
        ({"visits": [{"id": 1}]}, "/what_if/visits/0"),
        ({"visits": [{"id": 1, "starts": "2026-01-05T09:00", "ends": "x"}]},
         "/what_if/visits/0/starts"),
        ({"visits": [{"id": 1, "starts": "2026-01-05T09:00Z", "ends": "2026-01-05T09:00Z"}]},
         "/what_if/visits/0"),
        ({"days_off": [{"person": 1}]}, "/what_if/days_off/0"),
        ({"days_off": [{"person": True, "date": "2026-01-05"}]}, "/what_if/days_off/0/person"),
        ({"days_off": [{"person": 1, "date": "Monday"}]}, "/what_if/days_off/0/date"),
        ({"days_off": [{"person": 1, "date": "0001-01-05"}]}, "/what_if/days_off/0/date"),
        ({"more_hours": [{"person": 1, "date": "2026-01-05", "starts": "09:00", "ends": "x"}]},
         "/what_if/more_hours/0/ends"),
        ({"more_hours": [{"person": 1, "date": "2026-01-05", "starts": "11:00",
                          "ends": "09:00"}]}, "/what_if/more_hours/0"),
        ({"drop_tasks": ["x"]}, "/what_if/drop_tasks"),
        ({"drop_tasks": [10**30]}, "/what_if/drop_tasks"),
        ({"add_tasks": [{"title": "Fill"}]}, "/what_if/add_tasks/0"),
        ({"add_tasks": [one_task(colour="red")]}, "/what_if/add_tasks/0"),
        ({"add_tasks": [one_task(title="\x00")]}, "/what_if/add_tasks/0/title"),
        ({"add_tasks": [one_task(likely_minutes="1 h")]}, "/what_if/add_tasks/0/likely_minutes"),
        ({"add_tasks": [one_task(loud="yes")]}, "/what_if/add_tasks/0/loud"),
        ({"add_tasks": [one_task(area=7)]}, "/what_if/add_tasks/0/area"),
    ],
)  # fmt: skip
def test_what_cannot_be_supposed_is_refused_with_its_place(client, house, what_if, pointer):
    answer = suppose(client, house, what_if)

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert not Plan.objects.exists()


@pytest.mark.parametrize(
    ("name", "item", "pointer", "word"),
    [
        ("visits", {"id": 9, "starts": "2026-01-05T09:00Z", "ends": "2026-01-05T10:00Z"},
         "/what_if/visits/0/id", "visit"),
        ("days_off", {"person": 9, "date": "2026-01-05"}, "/what_if/days_off/0/person", "person"),
        ("drop_tasks", 9, "/what_if/drop_tasks/0", "task"),
        ("add_tasks", one_task(package=9), "/what_if/add_tasks/0/package", "work package"),
        ("add_tasks", one_task(trade=9), "/what_if/add_tasks/0/trade", "trade"),
        ("add_tasks", one_task(tools=[9]), "/what_if/add_tasks/0/tools/0", "tool"),
        ("add_tasks", one_task(after=[9]), "/what_if/add_tasks/0/after/0", "task"),
        ("add_tasks", one_task(before=[-1]), "/what_if/add_tasks/0/before/0", "task"),
    ],
)  # fmt: skip
def test_what_the_house_has_not_is_refused_by_name(client, two, name, item, pointer, word):
    other = package(factories.PropertyFactory())
    theirs = factories.TaskFactory(package=other)
    ids = {9: theirs.pk if word == "task" else 900, 1: two.work.pk}
    answer = suppose(client, two, {name: [renamed(item, ids)]})

    assert answer.status_code == 400
    assert answer.json()["errors"] == [
        {"pointer": pointer, "detail": f"There is no such {word} in this house."}
    ]


def renamed(item, ids):
    """The item with the ids of the test's rows in place of 1 and 9."""
    if isinstance(item, dict):
        return {name: renamed(each, ids) if name != "likely_minutes" else each
                for name, each in item.items()}  # fmt: skip
    if isinstance(item, list):
        return [renamed(each, ids) for each in item]
    return ids.get(item, item) if type(item) is int else item


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"people": 0}, "/what_if/add_tasks/0"),
        ({"low_minutes": 90}, "/what_if/add_tasks/0"),
        ({"floor_action": "paint"}, "/what_if/add_tasks/0/floor_action"),
        ({"title": "x" * 121}, "/what_if/add_tasks/0/title"),
        ({"area": [[0, 0]]}, "/what_if/add_tasks/0/area"),
    ],
)
def test_a_task_that_could_not_be_is_not_supposed(client, two, fields, pointer):
    answer = suppose(client, two, {"add_tasks": [one_task(package=two.work.pk, **fields)]})

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_a_viewer_supposes_nothing(client, two):
    two.members.update(role="viewer")

    assert suppose(client, two, {"drop_tasks": [two.first.pk]}).status_code == 403
