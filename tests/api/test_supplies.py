"""Supplies over HTTP: what tasks wait for."""

import pytest

from tests import factories
from tests.api.asking import ago, ids, queries_of_list, refuses

SUPPLIES = "/api/v1/supplies/"


def task_of(house):
    return factories.TaskFactory(package__property=house)


def test_a_supply_is_noted_with_the_tasks_that_wait_for_it(client, house):
    task = task_of(house)

    answer = client.post(
        SUPPLIES,
        {
            "property": house.pk, "title": "C16 joists", "expected_on": "2026-03-20",
            "tasks": [task.pk],
        },
    )  # fmt: skip

    assert answer.status_code == 201
    assert (answer.json()["tasks"], answer.json()["expected_at"]) == ([task.pk], "12:00:00")


def test_an_arrival_is_noted_and_taken_back(client, house):
    supply = factories.SupplyFactory(property=house)
    address = f"{SUPPLIES}{supply.pk}/"

    arrived = client.patch(address, {"arrived_at": ago(1).isoformat()})
    not_yet = client.patch(address, {"arrived_at": None})

    assert arrived.json()["arrived_at"] is not None
    assert not_yet.json()["arrived_at"] is None


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"expected_on": "soon"}, "/expected_on", "wrong format"),
        ({"expected_at": "25:00"}, "/expected_at", "wrong format"),
        ({"arrived_at": "2999-01-01T00:00:00Z"}, "/arrived_at", "still to come"),
        ({"tasks": [987654321]}, "/tasks", "987654321 does not exist"),
        ({"tasks": "all"}, "/tasks", "list"),
    ],
)
def test_what_no_supply_can_be_is_refused(client, house, changes, pointer, words):
    supply = factories.SupplyFactory(property=house)

    assert refuses(client.patch(f"{SUPPLIES}{supply.pk}/", changes), pointer, words)


def test_a_supply_waits_only_with_tasks_of_its_own_house(client, house):
    second = factories.MemberFactory(user=house.owner, role="owner").property
    supply = factories.SupplyFactory(property=house)

    answer = client.patch(f"{SUPPLIES}{supply.pk}/", {"tasks": [task_of(second).pk]})

    assert refuses(answer, "/tasks", "another house")
    assert not supply.tasks.exists()


def test_supplies_are_filtered_by_task_and_by_what_is_still_to_come(client, house):
    task = task_of(house)
    coming = factories.SupplyFactory(property=house, expected_on="2026-03-20")
    coming.tasks.add(task)
    here = factories.SupplyFactory(property=house, arrived_at=ago(1))

    assert ids(client.get(SUPPLIES, {"tasks": task.pk})) == [coming.pk]
    assert ids(client.get(SUPPLIES, {"arrived_at__isnull": "false"})) == [here.pk]
    assert ids(client.get(SUPPLIES, {"expected_on__lte": "2026-03-20"})) == [coming.pk]


def test_supplies_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            factories.SupplyFactory(property=house).tasks.add(task_of(house))

    make(2)
    few = queries_of_list(client, SUPPLIES)
    make(18)

    assert queries_of_list(client, SUPPLIES) == few
