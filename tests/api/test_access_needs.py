"""Access needs over HTTP: who needs what opened, and what releases it."""

import pytest

from apps.property.outlines import rectangle
from apps.trades.models import AccessNeed
from tests import factories
from tests.api.asking import ago, ids, is_problem, queries_of_list, refuses

NEEDS = "/api/v1/access-needs/"


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def post(client, need, step, body=None):
    return client.post(f"{NEEDS}{need.pk}/{step}/", body or {})


def test_the_plumber_needs_a_run_open_until_the_visit_is_done(client, house):
    visit = factories.VisitFactory(property=house)
    floor = factories.FloorFactory(property=house)

    answer = client.post(
        NEEDS,
        {
            "property": house.pk, "floor": floor.pk, "purpose": "Run the waste",
            "route": [[200, 0], [200, 4000]], "trade": visit.trade_id, "visit": visit.pk,
            "until": "visit_done",
        },
    )  # fmt: skip

    assert answer.status_code == 201
    need = answer.json()
    assert (need["clearance_mm"], need["open_as"], need["released_at"]) == (150, "up", None)


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"purpose": ""}, "/purpose", "blank"),
        ({"area": None}, "", "an area or a route, one of the two"),
        ({"route": [[0, 0], [900, 0]]}, "", "an area or a route, one of the two"),
        ({"area": [[0, 0], [1, 1]]}, "/area", "outline"),
        ({"area": rectangle(9000, 500)}, "/area", "reaches 6000 mm past the outline"),
        ({"area": None, "route": [[3100, 0], [3100, 900]]}, "/route", "lies beside"),
        ({"trade": None}, "", "Say who needs it"),
        ({"visit": None}, "", "Say what releases it"),
        ({"until": "task_done"}, "", "Say what releases it"),
        ({"until": "date"}, "", "Say what releases it"),
        ({"until": "doomsday"}, "/until", "not a valid choice"),
        ({"open_as": "ajar"}, "/open_as", "not a valid choice"),
        ({"clearance_mm": 2001}, "", "at most 2000 mm"),
    ],
)
def test_what_no_need_can_be_is_refused(client, house, changes, pointer, words):
    need = factories.AccessNeedFactory(property=house)

    answer = client.patch(f"{NEEDS}{need.pk}/", changes)

    need.refresh_from_db()
    assert refuses(answer, pointer, words)
    assert need.version == 1


def test_a_trades_need_waits_for_that_trades_visit(client, house):
    need = factories.AccessNeedFactory(property=house)
    another = factories.VisitFactory(property=house, title="Second fix")

    answer = client.patch(f"{NEEDS}{need.pk}/", {"visit": another.pk})

    assert refuses(answer, "/visit", f"Second fix is not a visit of {need.trade}")


def test_a_need_stays_in_one_house(client, house):
    need = factories.AccessNeedFactory(property=house)
    second = factories.MemberFactory(user=house.owner, role="owner").property

    answer = client.patch(
        f"{NEEDS}{need.pk}/", {"floor": factories.FloorFactory(property=second).pk}
    )

    assert refuses(answer, "/floor", "another house")


def ended(house, until):
    """The end named by `until`, come already, and the need's fields that name it."""
    if until == "visit_done":
        visit = factories.VisitFactory(
            property=house, title="First fix", state="done", starts=ago(3), ends=ago(1)
        )
        return "visit", {"visit": visit.pk, "trade": visit.trade_id}, "First fix is done already"
    if until == "task_done":
        task = task_of(house, title="Wire", status="done", finished_at=ago(1))
        return "task", {"task": task.pk}, "Wire is done already"
    look = factories.InspectionFactory(property=house, title="Joist ends", state="accepted")
    return "inspection", {"inspection": look.pk}, "Joist ends is signed off already"


@pytest.mark.parametrize("until", ["visit_done", "task_done", "signed_off"])
def test_a_need_whose_end_has_come_is_refused(client, house, until):
    field, named, words = ended(house, until)
    floor = factories.FloorFactory(property=house)

    answer = client.post(
        NEEDS,
        {
            "property": house.pk, "floor": floor.pk, "purpose": "Run the waste",
            "area": rectangle(500, 500), "until": until, **named,
        },
    )  # fmt: skip

    assert refuses(answer, f"/{field}", f"{words}; nothing would release this.")
    assert not AccessNeed.objects.exists()


def test_a_need_is_released_by_hand_with_a_reason_and_held_again(client, house):
    need = factories.AccessNeedFactory(property=house)

    released = post(client, need, "release", {"note": "The waste goes the other way"})
    again = post(client, need, "release", {"note": "Again"})
    held = post(client, need, "hold-again")

    assert released.json()["release_note"] == "The waste goes the other way"
    assert released.json()["released_at"] is not None
    assert is_problem(again, 409, "wrong-step")
    assert again.json()["allowed"] == ["hold-again"]
    assert (held.json()["released_at"], held.json()["release_note"]) == (None, "")


@pytest.mark.parametrize("body", [{}, {"note": ""}, {"note": "   "}, {"note": "x" * 1001}])
def test_a_release_by_hand_says_why(client, house, body):
    need = factories.AccessNeedFactory(property=house)

    answer = post(client, need, "release", body)

    need.refresh_from_db()
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/note"
    assert need.released_at is None


def test_what_is_held_cannot_be_held_again(client, house):
    answer = post(client, factories.AccessNeedFactory(property=house), "hold-again")

    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["allowed"] == ["release"]


def test_a_release_is_never_written_directly(client, house):
    need = factories.AccessNeedFactory(property=house)

    answer = client.patch(f"{NEEDS}{need.pk}/", {"released_at": ago(1).isoformat()})

    assert answer.json()["released_at"] is None


def test_a_need_released_when_its_end_came_can_still_be_described_better(client, house):
    need = factories.AccessNeedFactory(
        property=house, visit__state="done", visit__starts=ago(3), visit__ends=ago(1),
        released_at=ago(1),
    )  # fmt: skip

    answer = client.patch(f"{NEEDS}{need.pk}/", {"purpose": "Run the waste and the cold"})

    assert answer.status_code == 200


def test_a_strangers_need_is_neither_released_nor_held(client, house):
    theirs = factories.AccessNeedFactory()

    released = post(client, theirs, "release", {"note": "Mine now"})
    held = post(client, theirs, "hold-again")

    assert (released.status_code, held.status_code) == (404, 404)


def test_needs_are_filtered_by_floor_end_and_whether_they_still_hold(client, house):
    held = factories.AccessNeedFactory(property=house)
    dated = factories.AccessNeedFactory(
        property=house, until="date", until_date="2026-03-20", released_at=ago(1)
    )

    assert ids(client.get(NEEDS, {"floor": held.floor_id})) == [held.pk]
    assert ids(client.get(NEEDS, {"released_at__isnull": "true"})) == [held.pk]
    assert ids(client.get(NEEDS, {"until": "date"})) == [dated.pk]
    assert ids(client.get(NEEDS, {"until_date__lte": "2026-03-20"})) == [dated.pk]


def test_needs_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    factories.AccessNeedFactory.create_batch(2, property=house)
    few = queries_of_list(client, NEEDS)
    factories.AccessNeedFactory.create_batch(18, property=house)

    assert queries_of_list(client, NEEDS) == few
