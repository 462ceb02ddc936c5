"""Visits over HTTP: wanted, asked, agreed, done, missed; and the boards that wait for them."""

import pytest

from apps.trades.models import AccessNeed
from tests import factories
from tests.api.asking import ago, ahead, ids, is_problem, queries_of_list, refuses

VISITS = "/api/v1/visits/"


def times(starts, ends):
    return {"starts": starts.isoformat(), "ends": ends.isoformat()}


def agreed(house, starts, ends, **fields):
    return factories.VisitFactory(
        property=house, state="agreed", starts=starts, ends=ends, **fields
    )


def post(client, visit, step, body=None):
    return client.post(f"{VISITS}{visit.pk}/{step}/", body or {})


def test_a_visit_is_wanted_with_its_window_and_tasks(client, house):
    plumber = factories.TradeFactory(property=house)
    task = factories.TaskFactory(package__property=house, trade=plumber)

    answer = client.post(
        VISITS,
        {
            "property": house.pk, "trade": plumber.pk, "tasks": [task.pk], "minutes": 180,
            "window_from": "2026-03-16", "window_to": "2026-03-20",
        },
    )  # fmt: skip

    assert answer.status_code == 201
    assert answer.json()["state"] == "wanted"
    assert answer.json()["tasks"] == [task.pk]


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"minutes": 14}, "", "15 to 1440 minutes"),
        ({"window_from": "2026-03-20", "window_to": "2026-03-19"}, "", "no earlier than it begins"),
        ({"window_from": "soon"}, "/window_from", "wrong format"),
        ({"trade": None}, "/trade", "null"),
        ({"tasks": [987654321]}, "/tasks", "does not exist"),
    ],
)
def test_what_no_visit_can_be_is_refused(client, house, changes, pointer, words):
    visit = factories.VisitFactory(property=house)

    assert refuses(client.patch(f"{VISITS}{visit.pk}/", changes), pointer, words)


def test_a_visit_only_takes_tasks_of_its_trade(client, house):
    visit = factories.VisitFactory(property=house)
    crews = factories.TaskFactory(package__property=house, title="Lift")

    answer = client.patch(f"{VISITS}{visit.pk}/", {"tasks": [crews.pk]})

    assert refuses(answer, "/tasks", "Lift is a task of the crew")
    assert not visit.tasks.exists()


def test_state_and_agreed_times_are_never_written_directly(client, house):
    visit = factories.VisitFactory(property=house)

    answer = client.patch(f"{VISITS}{visit.pk}/", {"state": "done", **times(ago(2), ago(1))})

    assert answer.json()["state"] == "wanted"
    assert answer.json()["starts"] is None


def test_a_visit_is_asked_for_agreed_moved_and_done(client, house):
    visit = factories.VisitFactory(property=house)

    asked = post(client, visit, "ask")
    first = post(client, visit, "agree", times(ahead(24), ahead(26)))
    moved = post(client, visit, "agree", times(ago(3), ago(1)))
    done = post(client, visit, "done")

    states = [answer.json()["state"] for answer in (asked, first, moved, done)]
    assert states == ["asked", "agreed", "agreed", "done"]
    assert done.json()["starts"] == ago(3).isoformat().replace("+00:00", "Z")
    assert done["ETag"] == '"5"'


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({}, "/starts", "required"),
        ({"starts": "2026-03-16T09:00:00Z"}, "/ends", "required"),
        (
            {"starts": "2026-03-16T09:00:00Z", "ends": "2026-03-16T09:00:00Z"},
            "/ends",
            "ends after it starts",
        ),
        ({"starts": "2026-03-16T09:00:00", "ends": "2026-03-16T10:00:00Z"}, "/starts", "time zone"),
    ],
)
def test_times_that_cannot_be_agreed_are_refused(client, house, body, pointer, words):
    visit = factories.VisitFactory(property=house)

    answer = post(client, visit, "agree", body)

    visit.refresh_from_db()
    assert refuses(answer, pointer, words)
    assert visit.state == "wanted"


def test_one_trade_cannot_be_here_twice_at_once(client, house):
    first = agreed(house, ahead(24), ahead(26), title="First fix")
    second = factories.VisitFactory(property=house, trade=first.trade)

    overlapping = post(client, second, "agree", times(ahead(25), ahead(27)))
    second.refresh_from_db()
    straight_after = post(client, second, "agree", times(ahead(26), ahead(27)))

    assert is_problem(overlapping, 409, "visit-overlaps")
    assert "First fix" in overlapping.json()["detail"]
    assert overlapping.json()["visit"]["id"] == first.pk
    assert (second.state, second.version) == ("wanted", 1)
    assert straight_after.status_code == 200


def test_two_trades_may_be_here_at_once(client, house):
    agreed(house, ahead(24), ahead(26))
    second = factories.VisitFactory(property=house)

    assert post(client, second, "agree", times(ahead(25), ahead(27))).status_code == 200


def test_a_step_that_is_not_possible_names_those_that_are(client, house):
    visit = factories.VisitFactory(property=house, title="First fix")

    answer = post(client, visit, "done")

    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["detail"] == (
        "First fix is wanted, so “done” is not possible; possible now: ask, agree."
    )


def test_a_withdrawn_visit_has_no_times(client, house):
    visit = agreed(house, ahead(24), ahead(26))

    answer = post(client, visit, "withdraw")

    assert (answer.json()["state"], answer.json()["starts"]) == ("wanted", None)


def test_a_visit_done_releases_the_boards_held_for_it_and_for_no_one_else(client, house):
    visit = agreed(house, ago(3), ago(1))
    need = factories.AccessNeedFactory(property=house, visit=visit)
    dated = factories.AccessNeedFactory(
        property=house, visit=visit, until="date", until_date="2026-03-20"
    )
    others = factories.AccessNeedFactory(property=house)

    post(client, visit, "done", {"at": ago(1).isoformat()})

    released = {row.pk: row.released_at for row in AccessNeed.objects.all()}
    assert released == {need.pk: ago(1), dated.pk: None, others.pk: None}


@pytest.mark.parametrize("undo", ["missed", "reopen", "withdraw"])
def test_undoing_a_visit_done_holds_its_boards_again(client, house, undo):
    visit = agreed(house, ago(3), ago(1))
    need = factories.AccessNeedFactory(property=house, visit=visit)
    by_hand = factories.AccessNeedFactory(property=house, visit=visit)
    client.post(f"/api/v1/access-needs/{by_hand.pk}/release/", {"note": "Not needed after all"})
    post(client, visit, "done")

    answer = post(client, visit, undo)

    need.refresh_from_db()
    by_hand.refresh_from_db()
    assert answer.status_code == 200
    assert need.released_at is None
    assert by_hand.released_at is not None


def test_reopening_is_refused_when_the_trade_agreed_to_come_then_since(client, house):
    visit = agreed(house, ago(3), ago(1), title="First fix")
    need = factories.AccessNeedFactory(property=house, visit=visit)
    post(client, visit, "done")
    agreed(house, ago(2), ahead(1), trade=visit.trade)

    answer = post(client, visit, "reopen")

    visit.refresh_from_db()
    need.refresh_from_db()
    assert is_problem(answer, 409, "visit-overlaps")
    assert visit.state == "done"
    assert need.released_at is not None


def test_a_visit_goes_to_another_trade_only_while_it_is_wanted(client, house):
    visit = agreed(house, ahead(24), ahead(26), title="First fix")
    other = factories.TradeFactory(property=house)

    answer = client.patch(f"{VISITS}{visit.pk}/", {"trade": other.pk})

    assert refuses(answer, "/trade", "First fix is agreed; withdraw it first.")


def test_a_strangers_visit_takes_no_step(client, house):
    theirs = factories.VisitFactory()

    steps = ("ask", "agree", "done", "missed", "reopen", "withdraw")
    assert {post(client, theirs, step).status_code for step in steps} == {404}


def test_visits_are_filtered_by_state_trade_and_time(client, house):
    wanted = factories.VisitFactory(property=house, window_from="2026-03-16")
    coming = agreed(house, ahead(24), ahead(26))

    assert ids(client.get(VISITS, {"state": "wanted"})) == [wanted.pk]
    assert ids(client.get(VISITS, {"trade": coming.trade_id})) == [coming.pk]
    assert ids(client.get(VISITS, {"starts__gte": ahead(1).isoformat()})) == [coming.pk]
    assert ids(client.get(VISITS, {"window_from__lte": "2026-03-16"})) == [wanted.pk]


def test_visits_with_tasks_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            visit = factories.VisitFactory(property=house)
            visit.tasks.add(factories.TaskFactory(package__property=house, trade=visit.trade))

    make(2)
    few = queries_of_list(client, VISITS)
    make(18)

    assert queries_of_list(client, VISITS) == few
