"""Two plans side by side."""

from __future__ import annotations

import pytest

from apps.planning.models import Plan
from tests import factories
from tests.api.houses import MONDAY, at, crew, package, plan


@pytest.fixture
def pair(house):
    """The current plan with a visit that is not prepared, and one that supposes it a day later."""
    crew(house)
    work = package(house)
    trade = factories.TradeFactory(property=house, name="P. Plumber")
    house.ready = factories.TaskFactory(package=work, title="Chase the wall", likely_minutes=180)
    pipe = factories.TaskFactory(package=work, trade=trade, title="Pipes")
    factories.LinkFactory(before=house.ready, after=pipe)
    house.visit = factories.VisitFactory(
        property=house, trade=trade, state="agreed", starts=at(1, 9), ends=at(1, 11)
    )
    house.visit.tasks.add(pipe)
    later = {"id": house.visit.pk, "starts": at(2, 9).isoformat(), "ends": at(2, 11).isoformat()}
    return plan(house), plan(house, what_if={"visits": [later]})


def side_by_side(client, plan, other):
    return client.get(f"/api/v1/plans/{plan.pk}/against/{other.pk}/")


def test_the_better_plan_is_named_with_what_makes_it_better(client, house, pair):
    as_it_is, supposed = pair

    body = side_by_side(client, supposed, as_it_is).json()

    assert (body["plan"], body["against"], body["better"]) == (supposed.pk, as_it_is.pk, "plan")
    assert body["sentences"][0] == (
        "This plan is better: agreed visits and looks are better prepared."
    )
    unready = next(row for row in body["objective"] if row["level"] == "unready")
    assert unready == {
        "level": "unready", "plan": 0, "against": 600, "difference": -600, "better": "plan",
    }  # fmt: skip
    assert body["visits"] == [
        {
            "about": {"kind": "visit", "id": house.visit.pk, "name": str(house.visit)},
            "plan": {"starts": "2026-01-07T09:00:00Z", "ends": "2026-01-07T11:00:00Z",
                     "ready": True},
            "against": {"starts": "2026-01-06T09:00:00Z", "ends": "2026-01-06T11:00:00Z",
                        "ready": False},
            "sentence": f"{house.visit}: Wed 7 Jan, 09:00, ready here, "
                        "Tue 6 Jan, 09:00, not ready there.",
        }
    ]  # fmt: skip
    assert [row["about"]["id"] for row in body["moved"]] == [house.visit.pk]
    assert body["made_from"][0]["sentence"] == (
        f"{house.visit} was moved from Tue 6 Jan, 09:00 to Wed 7 Jan, 09:00."
    )
    assert body["finish"]["plan"] == body["finish"]["against"] == "2026-01-06T19:00:00Z"


def test_the_other_way_round_the_other_one_is_better(client, pair):
    body = side_by_side(client, *pair).json()

    assert body["better"] == "against"
    assert body["sentences"][0].startswith("The other plan is better")


def test_a_plan_beside_itself_differs_in_nothing(client, pair):
    body = side_by_side(client, pair[0], pair[0]).json()

    assert (body["better"], body["moved"], body["made_from"]) == ("neither", [], [])
    assert body["sentences"] == [
        "By all that the planner counts, the two are as good as each other.",
        "No things have other times.",
    ]


def test_what_is_only_supposed_and_what_has_no_place_is_told(client, house):
    crew(house)
    task = factories.TaskFactory(package=package(house), title="Sand")
    usual = plan(house)
    added = {"title": "Fill", "package": task.package_id, "likely_minutes": 60}
    two_people = {**added, "title": "Lift it", "people": 3}
    more = plan(house, what_if={"add_tasks": [{**added, "after": [task.pk]}, two_people]})

    body = side_by_side(client, more, usual).json()

    assert [row["sentence"] for row in body["moved"]] == [
        "Fill is planned Tue 6 Jan, 18:00 here and has no place there."
    ]
    assert [row["name"] for row in body["unplaced"]["only_plan"]] == ["Lift it"]
    assert body["unplaced"]["only_against"] == []
    assert body["sentences"][1] == ("The work ends Tue 6 Jan, 19:00 here, Mon 5 Jan, 20:00 there.")


@pytest.mark.parametrize("state", ["queued", "failed"])
def test_a_plan_without_an_answer_cannot_be_compared(client, pair, state):
    other = Plan.objects.create(property=pair[0].property, as_of=MONDAY, state=state)

    answer = side_by_side(client, pair[0], other)

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#plan-not-ready")
    assert answer.json()["state"] == state


def test_a_plan_of_another_house_is_not_there(client, house, pair):
    theirs = factories.PropertyFactory()
    factories.MemberFactory(property=theirs, user=house.owner, role="owner")
    other = plan(theirs)

    assert side_by_side(client, pair[0], other).status_code == 404
    assert client.get(f"/api/v1/plans/{pair[0].pk}/against/{10**30}/").status_code == 404


def test_a_stranger_sees_neither_and_a_viewer_sees_both(client, house, pair):
    house.members.update(role="viewer")
    assert side_by_side(client, *pair).status_code == 200

    client.force_authenticate(factories.UserFactory())
    assert side_by_side(client, *pair).status_code == 404
