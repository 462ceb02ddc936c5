"""What the job wants of timber over HTTP: by hand, from a floor's set-out, and when."""

from __future__ import annotations

from datetime import date

import pytest

from apps.timber.models import Need
from apps.timber.services.needs import note_planned_starts
from tests import factories
from tests.api.asking import is_problem, refuses
from tests.api.walk import viewer_of

NEEDS = "/api/v1/timber-needs/"
FROM_SET_OUT = f"{NEEDS}from-set-out/"


def at(need, action=""):
    return f"{NEEDS}{need.pk}/{action}"


def add(client, house, **said):
    return client.post(
        NEEDS,
        {
            "property": house.pk, "role": "plate", "title": "Wall plate, north", "quantity": 2,
            "length_mm": 2700, "breadth_mm": 50, "depth_mm": 100, **said,
        },
    )  # fmt: skip


def floor_with_joists(house, positions=(0, 400, 800, 1200), **fields):
    floor = factories.FloorFactory(property=house, name="Back parlour", **fields)
    for n, x in enumerate(positions):
        factories.JoistFactory(floor=floor, mark=f"J{n + 1}", line=[[x, 0], [x, 4000]])
    return floor


def test_a_need_is_noted_by_hand(client, house):
    need = add(client, house, strength_class="c16", needed_by="2026-12-12").json()

    assert (need["state"], need["priority"], need["moisture_limit_pct"]) == ("open", 5, 20)
    assert (need["strength_class"], need["wanted_on"]) == ("C16", "2026-12-12")


@pytest.mark.parametrize(
    ("said", "pointer", "words"),
    [
        ({"length_mm": "2.7 m"}, "/length_mm", "whole millimetres"),
        ({"length_mm": 2.7}, "/length_mm", "whole millimetres"),
        ({"length_mm": -2700}, "/length_mm", "0 or more"),
        ({"length_mm": 20_001}, "", "20,000 mm long"),
        ({"breadth_mm": 0}, "", "5 to 600 mm"),
        ({"breadth_mm": 200}, "", "the smaller side"),
        ({"quantity": 0}, "", "1 to 1000 pieces"),
        ({"priority": 10}, "", "1 (first) to 9"),
        ({"moisture_limit_pct": 140}, "", "5 to 100 per cent"),
        ({"role": "rafter"}, "/role", "rafter"),
        ({"title": ""}, "/title", "blank"),
        ({"strength_class": "SC3"}, "/strength_class", "permissible-stress"),
    ],
)
def test_what_no_need_can_be_is_refused(client, house, said, pointer, words):
    assert refuses(add(client, house, **said), pointer, words)
    assert not Need.objects.exists()


def test_a_joist_is_one_of_the_floor_that_is_named(client, house):
    floor, joist = floor_with_joists(house), factories.JoistFactory(floor__property=house)

    assert refuses(add(client, house, floor=floor.pk, joist=joist.pk), "/joist", "not a joist of")


def test_a_need_longer_than_anything_sold_can_still_be_wanted(client, house):
    factories.StockLengthFactory(property=house, length_mm=4800)

    assert add(client, house, length_mm=9000).status_code == 201


def test_the_day_said_by_hand_goes_before_the_planned_one(client, house):
    task = factories.TaskFactory(package__property=house)
    by_hand = factories.NeedFactory(property=house, task=task, needed_by=date(2026, 12, 1))
    planned = factories.NeedFactory(property=house, task=task)
    without = factories.NeedFactory(property=house)

    changed = note_planned_starts(house=house, starts={task.pk: date(2026, 12, 12)})

    assert changed == 2
    assert client.get(at(by_hand)).json()["wanted_on"] == "2026-12-01"
    assert client.get(at(planned)).json()["wanted_on"] == "2026-12-12"
    assert client.get(at(without)).json()["wanted_on"] is None


def test_a_plan_that_says_the_same_again_changes_nothing(house):
    task = factories.TaskFactory(package__property=house)
    need = factories.NeedFactory(property=house, task=task)
    starts = {task.pk: date(2026, 12, 12)}
    note_planned_starts(house=house, starts=starts)

    assert note_planned_starts(house=house, starts=starts) == 0
    need.refresh_from_db()
    assert need.version == 2


def test_a_task_without_a_place_in_the_plan_has_no_planned_day_any_more(house):
    task = factories.TaskFactory(package__property=house)
    need = factories.NeedFactory(property=house, task=task, planned_on=date(2026, 12, 12))

    note_planned_starts(house=house, starts={})

    need.refresh_from_db()
    assert need.planned_on is None


def test_another_task_is_planned_for_another_day(client, house):
    first, other = (factories.TaskFactory(package__property=house) for _ in range(2))
    need = factories.NeedFactory(property=house, task=first, planned_on=date(2026, 12, 12))

    assert client.patch(at(need), {"task": other.pk}).json()["planned_on"] is None


def test_a_need_is_dropped_or_met_by_hand_and_reopened(client, house):
    need = factories.NeedFactory(property=house)

    for step, state in (("drop/", "dropped"), ("met/", "met")):
        silent = client.post(at(need, step), {})
        done = client.post(at(need, step), {"reason": "Cut from a pallet"}).json()
        again = client.post(at(need, step), {"reason": "Cut from a pallet"})
        back = client.post(at(need, "reopen/")).json()

        assert refuses(silent, "/reason", "required")
        assert (done["state"], done["state_reason"]) == (state, "Cut from a pallet")
        assert is_problem(again, 409, "wrong-step")
        assert (back["state"], back["state_reason"]) == ("open", "")


@pytest.mark.parametrize("state", ["planned", "met"])
def test_what_a_cutting_plan_counts_on_stays_as_it_is(client, house, state):
    need = factories.NeedFactory(property=house, state=state)

    assert is_problem(client.patch(at(need), {"length_mm": 400}), 409, "need-committed")
    assert is_problem(client.delete(at(need)), 409, "need-committed")
    assert client.post(at(need, "drop/"), {"reason": "No"}).status_code == 409
    assert client.post(at(need, "reopen/")).status_code == 409
    assert client.patch(at(need), {"priority": 1, "length_mm": 349}).status_code == 200


def test_all_noggins_of_a_floor_are_wanted_in_one_call(client, house):
    floor = floor_with_joists(house, positions=(0, 400, 800, 1160))

    answer = client.post(
        FROM_SET_OUT,
        {"floor": floor.pk, "rows": 2, "allowance_mm": 2, "breadth_mm": 50, "depth_mm": 100},
    )

    assert answer.status_code == 201, answer.json()
    found = [(n["length_mm"], n["quantity"]) for n in answer.json()["needs"]]
    assert found == [(348, 4), (308, 2)]
    first = answer.json()["needs"][0]
    assert first["length_rule"] == "Clear gap of 350 mm between joists, less 2 mm."
    assert (first["title"], first["role"]) == ("Back parlour: noggins of 348 mm", "noggin")
    assert (first["floor"], first["property"]) == (floor.pk, house.pk)
    assert Need.objects.count() == 2


def test_a_dry_run_shows_the_noggins_and_adds_none(client, house):
    floor = floor_with_joists(house)
    body = {"floor": floor.pk, "breadth_mm": 50, "depth_mm": 100, "at_mm": [2000]}

    answer = client.post(f"{FROM_SET_OUT}?dry_run=1", body)

    assert answer.status_code == 200
    assert [(n["id"], n["length_mm"]) for n in answer.json()["needs"]] == [(None, 349)]
    assert not Need.objects.exists()


@pytest.mark.parametrize(
    ("said", "pointer", "words"),
    [
        ({"at_mm": [9000]}, "/at_mm", "crosses no two joists"),
        ({"at_mm": [2.5]}, "/at_mm/0", "whole millimetres"),
        ({"at_mm": []}, "/at_mm", "empty"),
        ({"rows": 0}, "/rows", "greater than or equal to 1"),
        ({"allowance_mm": 3}, "/allowance_mm", "2 at most"),
        ({"role": "joist"}, "/role", "joist"),
        ({"breadth_mm": 1}, "", "5 to 600 mm"),
        ({"depth_mm": "4 in"}, "/depth_mm", "whole millimetres"),
        ({"floor": None}, "/floor", "null"),
    ],
)
def test_what_no_row_can_be_is_refused(client, house, said, pointer, words):
    body = {"floor": floor_with_joists(house).pk, "breadth_mm": 50, "depth_mm": 100, **said}

    assert refuses(client.post(FROM_SET_OUT, body), pointer, words)
    assert not Need.objects.exists()


def test_a_floor_without_joists_has_no_noggins(client, house):
    body = {"floor": factories.FloorFactory(property=house).pk, "breadth_mm": 50, "depth_mm": 100}

    assert is_problem(client.post(FROM_SET_OUT, body), 409, "no-joists")


def test_noggins_of_a_strangers_floor_are_not_there(client, house):
    elsewhere = factories.TaskFactory(
        package__property=factories.MemberFactory(user=house.owner, role="owner").property
    )
    body = {"floor": floor_with_joists(house).pk, "breadth_mm": 50, "depth_mm": 100}

    stranger = client.post(FROM_SET_OUT, {**body, "floor": factories.FloorFactory().pk})
    looking = viewer_of(house).post(FROM_SET_OUT, body)
    other_house = client.post(FROM_SET_OUT, {**body, "task": elsewhere.pk})

    assert refuses(stranger, "/floor", "does not exist")
    assert is_problem(looking, 403, "not-allowed")
    assert refuses(other_house, "/task", "another house")
