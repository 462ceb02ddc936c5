"""Work packages over HTTP, and ready ones with their tasks and links."""

from itertools import pairwise

import pytest

from apps.property.outlines import rectangle
from apps.work.models import Link, Task, WorkPackage
from apps.work.ready import READY
from tests import factories
from tests.api.asking import ids, refuses

PACKAGES = "/api/v1/work-packages/"
READY_URL = f"{PACKAGES}ready/"


def body_for(house, **changes):
    """A floor repair of 2 m² on a floor of 3 × 4 m."""
    floor = factories.FloorFactory(property=house, name="Parlour floor")
    return {"kind": "floor_repair", "floor": floor.pk, "area": rectangle(2000, 1000)} | changes


def test_a_package_is_made_and_found_again(client, house):
    made = client.post(
        PACKAGES, {"property": house.pk, "title": "Back parlour floor", "kind": "floor"}
    )
    factories.WorkPackageFactory(property=house, kind="damp", title="North wall")

    assert made.status_code == 201
    assert ids(client.get(PACKAGES, {"kind": "floor"})) == [made.json()["id"]]
    assert ids(client.get(PACKAGES, {"search": "parlour"})) == [made.json()["id"]]


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"title": "x" * 121}, "/title", "120 characters"),
        ({"kind": "magic"}, "/kind", "not a valid choice"),
    ],
)
def test_what_no_package_can_be_is_refused(client, house, changes, pointer, words):
    package = factories.WorkPackageFactory(property=house)

    assert refuses(client.patch(f"{PACKAGES}{package.pk}/", changes), pointer, words)


def test_a_floor_repair_comes_with_its_tasks_in_order_and_its_drying_time(client, house):
    answer = client.post(READY_URL, body_for(house))

    ready = answer.json()
    assert answer.status_code == 201
    assert ready["package"]["title"] == "Floor repair, Parlour floor"
    assert [task["floor_action"] for task in ready["tasks"]] == [
        "lift", "work_open", "work_open", "work_open", "fix",
    ]  # fmt: skip
    assert all(task["area"] == rectangle(2000, 1000) for task in ready["tasks"])
    assert ready["tasks"][0]["likely_minutes"] == 90
    ways = [(link["before_title"], link["after_title"]) for link in ready["links"]]
    titles = [task["title"] for task in ready["tasks"]]
    assert set(ways) == set(pairwise(titles))
    drying = next(link for link in ready["links"] if link["min_lag_minutes"])
    assert (drying["before_title"], drying["after_title"]) == (titles[3], titles[4])
    assert (drying["min_lag_minutes"], drying["lag_clock"]) == (2880, "elapsed")
    assert client.get(f"/api/v1/tasks/{ready['tasks'][0]['id']}/").json() == ready["tasks"][0]


@pytest.mark.parametrize("kind", sorted(READY))
def test_every_ready_package_can_be_previewed_and_made(client, house, kind):
    body = body_for(house, kind=kind)

    preview = client.post(f"{READY_URL}?dry_run=1", body)
    nothing_yet = (WorkPackage.objects.count(), Task.objects.count(), Link.objects.count())
    made = client.post(READY_URL, body)

    def without_ids(ready):
        rows = [ready["package"], *ready["tasks"], *ready["links"]]
        drop = {"id", "package", "before", "after"}
        return [{key: row[key] for key in row.keys() - drop} for row in rows]

    assert (preview.status_code, made.status_code) == (200, 201)
    assert nothing_yet == (0, 0, 0)
    assert preview.json()["package"]["id"] is None
    assert without_ids(preview.json()) == without_ids(made.json())
    assert Task.objects.count() == len(READY[kind].tasks)


def test_a_first_fix_run_follows_a_route_and_its_trade_does_it(client, house):
    plumber = factories.TradeFactory(property=house)
    body = body_for(house, kind="first_fix_run", trade=plumber.pk, route=[[200, 0], [200, 3000]])
    del body["area"]

    ready = client.post(READY_URL, body).json()

    by_trade = [task["trade"] for task in ready["tasks"]]
    assert by_trade == [None, plumber.pk, None, None]
    assert {str(task["route"]) for task in ready["tasks"]} == {"[[200, 0], [200, 3000]]"}
    # 30 minutes and 25 for each of 0.9 m² (3 m of run, 150 mm each side), in quarters up.
    assert ready["tasks"][0]["likely_minutes"] == 60


def test_clearing_air_bricks_needs_no_place_on_the_floor(client, house):
    body = body_for(house, kind="vent_clearing")
    del body["area"]

    answer = client.post(READY_URL, body)

    assert answer.status_code == 201
    assert {task["floor_action"] for task in answer.json()["tasks"]} == {"none"}


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"kind": "floor"}, "/kind", "not a valid choice"),
        ({"floor": None}, "/floor", "null"),
        ({"floor": 987654321}, "/floor", "does not exist"),
        ({"area": None}, "/area", "null"),
        ({"area": [[0, 0], [1, 1]]}, "/area", "outline"),
        ({"area": [[0, 0], [900, 900], [900, 0], [0, 900]]}, "/area", "crosses itself"),
        ({"area": rectangle(9000, 500)}, "/area", "past the outline of Parlour floor"),
        ({"route": [[0, 0], [900, 0]]}, "", "an area or a route, not both"),
        ({"route": [[0, 0]]}, "/route", "line"),
        ({"clearance_mm": 2001}, "/clearance_mm", "less than or equal"),
        ({"title": "x" * 121}, "/title", "120 characters"),
    ],
)
def test_a_ready_package_that_cannot_be_leaves_nothing_behind(
    client, house, changes, pointer, words
):
    answer = client.post(READY_URL, body_for(house, **changes))

    assert refuses(answer, pointer, words)
    assert (WorkPackage.objects.count(), Task.objects.count()) == (0, 0)


def test_a_floor_package_without_a_place_is_refused(client, house):
    body = body_for(house)
    del body["area"]

    answer = client.post(READY_URL, body)

    assert refuses(answer, "/area", "Say where on the floor")


@pytest.mark.parametrize("field", ["property", "room", "trade"])
def test_a_ready_package_stays_in_one_house(client, house, field):
    second = factories.MemberFactory(user=house.owner, role="owner").property
    theirs = {
        "property": second,
        "room": factories.RoomFactory(property=second),
        "trade": factories.TradeFactory(property=second),
    }

    answer = client.post(READY_URL, body_for(house, **{field: theirs[field].pk}))

    assert refuses(answer, f"/{field}", "another house")


def test_a_ready_package_on_a_strangers_floor_does_not_exist(client, house):
    answer = client.post(READY_URL, body_for(factories.PropertyFactory()))

    assert refuses(answer, "/floor", "does not exist")


def test_a_strange_word_for_a_preview_makes_nothing(client, house):
    answer = client.post(f"{READY_URL}?dry_run=please", body_for(house))

    assert refuses(answer, "/dry_run", "1 or 0")
    assert not WorkPackage.objects.exists()
