"""Links between tasks over HTTP."""

import pytest

from apps.work.models import Link
from tests import factories
from tests.api.asking import ids, is_problem, queries_of_list, refuses

LINKS = "/api/v1/links/"


def tasks_of(house, *titles):
    package = factories.WorkPackageFactory(property=house)
    return [factories.TaskFactory(package=package, title=title) for title in titles]


def test_a_link_with_a_drying_time_is_made(client, house):
    treat, lay = tasks_of(house, "Treat", "Lay")

    answer = client.post(
        LINKS,
        {"before": treat.pk, "after": lay.pk, "min_lag_minutes": 2880, "reason": "It dries"},
    )

    assert answer.status_code == 201
    assert (answer.json()["kind"], answer.json()["lag_clock"]) == ("FS", "elapsed")


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"kind": "XX"}, "/kind", "not a valid choice"),
        ({"lag_clock": "lunar"}, "/lag_clock", "not a valid choice"),
        ({"min_lag_minutes": -5}, "/min_lag_minutes", "greater than or equal to 0"),
        ({"min_lag_minutes": 1_000_001}, "", "at most 1,000,000 minutes"),
        ({"min_lag_minutes": 60, "max_lag_minutes": 30}, "", "no shorter than the shortest"),
        ({"before": None}, "/before", "null"),
        ({"after": 1.5}, "/after", "pk value"),
    ],
)
def test_what_no_link_can_be_is_refused(client, house, changes, pointer, words):
    before, after = tasks_of(house, "A", "B")
    link = factories.LinkFactory(before=before, after=after)

    assert refuses(client.patch(f"{LINKS}{link.pk}/", changes), pointer, words)


def test_a_task_is_not_linked_to_itself(client, house):
    (task,) = tasks_of(house, "A")

    answer = client.post(LINKS, {"before": task.pk, "after": task.pk})

    assert refuses(answer, "", "A task cannot wait for itself.")


def test_two_tasks_are_linked_once_in_a_way(client, house):
    before, after = tasks_of(house, "A", "B")
    factories.LinkFactory(before=before, after=after)

    again = client.post(LINKS, {"before": before.pk, "after": after.pk, "kind": "FS"})
    otherwise = client.post(LINKS, {"before": before.pk, "after": after.pk, "kind": "FF"})

    assert refuses(again, "", "linked this way already")
    assert otherwise.status_code == 201


def test_a_link_that_closes_a_circle_names_it_in_order(client, house):
    lift, repair, lay = tasks_of(house, "Lift", "Repair", "Lay")
    factories.LinkFactory(before=lift, after=repair)
    factories.LinkFactory(before=repair, after=lay)

    answer = client.post(LINKS, {"before": lay.pk, "after": lift.pk})

    assert is_problem(answer, 409, "link-circle")
    assert answer.json()["detail"] == (
        "These would wait for each other: Lay → Lift → Repair → Lay."
    )
    assert [task["id"] for task in answer.json()["tasks"]] == [lay.pk, lift.pk, repair.pk]
    assert Link.objects.count() == 2


def test_turning_a_link_round_is_judged_without_its_old_direction(client, house):
    lift, repair, lay = tasks_of(house, "Lift", "Repair", "Lay")
    only = factories.LinkFactory(before=lift, after=repair)

    turned = client.patch(f"{LINKS}{only.pk}/", {"before": repair.pk, "after": lift.pk})
    factories.LinkFactory(before=lift, after=lay)
    closing = client.patch(f"{LINKS}{only.pk}/", {"before": lay.pk, "after": lift.pk})

    assert turned.status_code == 200
    assert is_problem(closing, 409, "link-circle")


def test_one_task_may_happen_during_another(client, house):
    watch, cure = tasks_of(house, "Watch", "Cure")
    factories.LinkFactory(before=cure, after=watch, kind="SS")

    answer = client.post(LINKS, {"before": watch.pk, "after": cure.pk, "kind": "FF"})

    assert answer.status_code == 201


def test_tasks_of_two_houses_are_not_linked(client, house):
    second = factories.MemberFactory(user=house.owner, role="owner").property
    (ours,), (others,) = tasks_of(house, "A"), tasks_of(second, "B")

    answer = client.post(LINKS, {"before": ours.pk, "after": others.pk})

    assert refuses(answer, "/after", "another house")


def test_links_are_filtered_by_task_and_house(client, house):
    one, two, three = tasks_of(house, "A", "B", "C")
    first = factories.LinkFactory(before=one, after=two)
    second = factories.LinkFactory(before=two, after=three, kind="SS")

    assert ids(client.get(LINKS, {"before": two.pk})) == [second.pk]
    assert ids(client.get(LINKS, {"after": two.pk})) == [first.pk]
    assert ids(client.get(LINKS, {"kind": "SS", "property": house.pk})) == [second.pk]


def test_links_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            before, after = tasks_of(house, "A", "B")
            factories.LinkFactory(before=before, after=after)

    make(2)
    few = queries_of_list(client, LINKS)
    make(18)

    assert queries_of_list(client, LINKS) == few
