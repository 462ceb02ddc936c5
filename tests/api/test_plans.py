"""Plans over HTTP."""

from __future__ import annotations

import pytest

from apps.planning.models import Plan
from tests import factories
from tests.api.houses import MONDAY, at, crew, package, plan

pytestmark = pytest.mark.usefixtures("handed_out")


def ask(client, house, **fields):
    return client.post(
        "/api/v1/plans/",
        {"property": house.pk, "as_of": MONDAY.isoformat(), "seconds": 1, **fields},
    )


def test_a_plan_is_worked_out_and_answered_at_once_with_in_process_tasks(client, house):
    crew(house)
    task = factories.TaskFactory(package=package(house))

    answer = ask(client, house)

    assert answer.status_code == 201
    body = answer.json()
    assert (body["status"], body["is_current"], body["proven"]) == ("ready", True, True)
    (stint,) = body["stints"]
    assert stint["task"] == task.pk
    assert stint["starts"] == "2026-01-05T18:00:00Z"
    assert set(stint["why_not_sooner"]) == {"code", "sentence", "by"}
    assert [level["level"] for level in body["objective"]] == [
        "unplaced",
        "unready",
        "late",
        "disturbed",
        "finish",
        "open_nights",
        "breaks",
        "moved",
    ]
    assert client.get(answer["Location"]).json() == body


def test_the_same_question_gets_the_same_plan(client, house):
    crew(house)
    work = package(house)
    for minutes in (45, 120, 200, 60):
        factories.TaskFactory(
            package=work, likely_minutes=minutes, high_minutes=300, low_minutes=15
        )

    first, second = (ask(client, house).json() for _ in range(2))

    moments = [[(s["task"], s["starts"], s["ends"]) for s in p["stints"]] for p in (first, second)]
    assert moments[0] == moments[1]
    assert second["changes"] == []


def test_a_repeated_request_with_its_key_makes_one_plan(client, house):
    crew(house)

    answers = [
        client.post(
            "/api/v1/plans/",
            {"property": house.pk, "seconds": 1},
            headers={"Idempotency-Key": "k1"},
        )
        for _ in range(2)
    ]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert Plan.objects.count() == 1


def test_a_queued_plan_is_answered_with_202(client, house, monkeypatch):
    from apps.planning import services

    monkeypatch.setattr(services.transaction, "on_commit", lambda act: None)

    answer = ask(client, house)

    assert (answer.status_code, answer.json()["status"]) == (202, "queued")


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"horizon_days": 0}, "/horizon_days"),
        ({"horizon_days": 401}, "/horizon_days"),
        ({"seconds": 0}, "/seconds"),
        ({"seconds": 1e9}, "/seconds"),
        ({"as_of": "2026-01-05T18:00"}, "/as_of"),
        ({"as_of": "yesterday"}, "/as_of"),
        ({"property": 0}, "/property"),
        ({"what_if": {"rain": True}}, "/what_if"),
        ({"what_if": {"visits": [{"id": 1}]}}, "/what_if/visits/0"),
        ({"what_if": {"drop_tasks": ["x"]}}, "/what_if/drop_tasks"),
    ],
)
def test_a_bad_question_is_refused_with_a_pointer(client, house, fields, pointer):
    answer = ask(client, house, **fields)

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert not Plan.objects.exists()


def test_what_if_the_visit_came_earlier(client, house):
    crew(house)
    work = package(house)
    trade = factories.TradeFactory(property=house)
    pipe = factories.TaskFactory(package=work, trade=trade)
    after = factories.TaskFactory(package=work)
    factories.LinkFactory(before=pipe, after=after)
    visit = factories.VisitFactory(
        property=house, trade=trade, state="agreed", starts=at(2, 9), ends=at(2, 11)
    )
    visit.tasks.add(pipe)
    ask(client, house)

    supposed = ask(
        client, house,
        what_if={"visits": [{"id": visit.pk, "starts": at(1, 9).isoformat(),
                             "ends": at(1, 11).isoformat()}]},
    ).json()  # fmt: skip

    assert supposed["is_current"] is False
    moved = {
        change["about"]["id"] for change in supposed["changes"] if change["about"]["kind"] == "task"
    }
    assert after.pk in moved
    visit.refresh_from_db()
    assert visit.starts == at(2, 9)


def test_a_strangers_house_cannot_be_planned(client):
    other = factories.PropertyFactory()

    answer = client.post("/api/v1/plans/", {"property": other.pk})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/property"


def test_the_list_leaves_the_stints_out_and_filters(client, house):
    crew(house)
    first, second = plan(house), plan(house)

    found = client.get("/api/v1/plans/", {"property": house.pk, "is_current": True}).json()

    assert [row["id"] for row in found["results"]] == [second.pk]
    assert "stints" not in found["results"][0]
    assert first.pk != second.pk
