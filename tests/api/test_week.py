"""The week, the nights, the holds and the alerts of a house, computed on request."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from apps.planning import selectors
from apps.planning.models import Plan, Stint
from apps.planning.week import week
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan

AREA = rectangle(1000, 300)


def prepared(house):
    """Boards lifted on Monday for the plumber on Wednesday, fixed that evening."""
    crew(house)
    floor = floor_with_boards(house)
    work = package(house)
    made = {
        "lift": factories.TaskFactory(package=work, floor=floor, floor_action="lift", area=AREA),
        "fix": factories.TaskFactory(package=work, floor=floor, floor_action="fix", area=AREA),
        "visit": factories.VisitFactory(
            property=house, state="agreed", starts=at(2, 9), ends=at(2, 11)
        ),
    }
    made["need"] = factories.AccessNeedFactory(
        property=house, floor=floor, visit=made["visit"], area=AREA
    )
    made["plan"] = plan(house)
    return made


def day(found, number):
    return next(d for d in found["days"] if d["date"].day == number)


def test_the_week_runs_from_monday_and_names_its_iso_number(house):
    found = week(house, on=date(2026, 1, 8), now=MONDAY)

    assert found["week"] == "2026-W02"
    assert [d["date"].day for d in found["days"]] == [5, 6, 7, 8, 9, 10, 11]
    assert found["plan"] is None


def test_a_day_lists_hours_stints_visits_and_boards(house):
    made = prepared(house)

    found = week(house, on=MONDAY.date(), now=MONDAY)

    monday, wednesday = day(found, 5), day(found, 7)
    assert [row["starts"].hour for row in monday["working_times"]] == [18]
    assert [row["task"] for row in monday["stints"]] == [made["lift"].pk]
    assert [b["mark"] for b in monday["boards"]["lift"][0]["boards"]] == ["B1.1", "B2.1"]
    assert [row["visit"] for row in wednesday["visits"]] == [made["visit"].pk]
    assert wednesday["boards"]["fix"][0]["task"] == made["fix"].pk


def test_a_delivery_is_listed_on_its_day(house):
    factories.SupplyFactory(property=house, title="Hangers", expected_on=date(2026, 1, 8))

    found = week(house, on=MONDAY.date(), now=MONDAY)

    assert [row["title"] for row in day(found, 8)["deliveries"]] == ["Hangers"]


def test_an_agreed_visit_shows_even_without_a_plan(house):
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(2, 9), ends=at(2, 11))

    found = week(house, on=MONDAY.date(), now=MONDAY)

    assert [row["visit"] for row in day(found, 7)["visits"]] == [visit.pk]


def test_boards_are_held_for_the_plumber_from_the_lifting_until_the_visit(house):
    made = prepared(house)

    holds = selectors.board_holds(house, now=MONDAY)

    assert [hold["mark"] for hold in holds] == ["B1.1", "B2.1"]
    first = holds[0]
    assert first["for"] == {
        "kind": "trade",
        "id": made["visit"].trade_id,
        "name": made["visit"].trade.name,
    }
    assert (first["open_from"].day, first["open_until"]) == (5, at(2, 11))
    assert first["earliest_fix"] == at(2, 11)
    assert not first["released"]


def test_a_hold_outlives_its_planned_end_until_the_visit_is_recorded(house):
    prepared(house)

    (first, *_) = selectors.board_holds(house, now=at(5, 9))

    assert not first["released"]
    assert first["earliest_fix"] is None


def test_fixing_a_held_board_is_refused_with_its_holds(client, house):
    made = prepared(house)
    board = made["need"].floor.boards.first()
    now = timezone.now()
    move = {"boards": [board.pk], "moved_at": (now - timedelta(hours=1)).isoformat()}
    client.post("/api/v1/board-moves/", {**move, "to_state": "up"})

    held = {**move, "to_state": "fixed", "moved_at": now.isoformat()}
    refused = client.post("/api/v1/board-moves/", held)
    forced = client.post("/api/v1/board-moves/", {**held, "force_reason": "The baby crawls."})

    assert refused.status_code == 409
    assert refused.json()["type"].endswith("#board-held")
    assert refused.json()["holds"][0]["access_need"] == made["need"].pk
    assert forced.status_code == 201
    board.refresh_from_db()
    assert board.state == "fixed"


def test_the_way_is_cut_where_boards_are_up_and_the_bridge_is_named(house):
    crew(house)
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room, line=[[1000, 4000], [1800, 4000]])
    floor = floor_with_boards(house, courses=26)
    floor.boards.filter(course__in=range(10, 14)).update(state="up")
    other = factories.RoomFactory(property=house, outline=rectangle(3000, 900, (0, -1000)))
    factories.DoorwayFactory(
        property=house, room_a=room, room_b=other, line=[[1000, -50], [1800, -50]]
    )
    route = factories.HouseholdRouteFactory(property=house, from_room=other, to_room=None)

    (night, *_) = selectors.nights(house, first=MONDAY.date(), days=1, now=MONDAY)
    alerts = selectors.alerts(house, now=MONDAY)

    (way,) = night["routes"]
    assert way["route"]["id"] == route.pk
    assert not way["holds"]
    assert [row["mark"] for row in way["lay_loose"]] == ["B10.1", "B11.1", "B12.1", "B13.1"]
    assert "route_cut" in [alert["code"] for alert in alerts]


def test_at_bedtime_the_boards_count_as_they_lie_and_not_as_planned(house, client):
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room, line=[[1000, 4000], [1800, 4000]])
    other = factories.RoomFactory(property=house, outline=rectangle(3000, 900, (0, -1000)))
    factories.DoorwayFactory(
        property=house, room_a=room, room_b=other, line=[[1000, -50], [1800, -50]]
    )
    factories.HouseholdRouteFactory(property=house, from_room=other, to_room=None)
    lifting = factories.TaskFactory(
        package=package(house),
        floor=floor_with_boards(house, courses=26),
        floor_action="lift",
        area=rectangle(3000, 4000),
    )
    now = timezone.now()
    planned = Plan.objects.create(property=house, as_of=now, state="ready", is_current=True)
    Stint.objects.create(
        plan=planned, task=lifting, starts=now, ends=now + timedelta(seconds=1), why_not_sooner={}
    )

    def holds(query):
        nights = client.get(f"/api/v1/nights/?property={house.pk}{query}").json()["results"]
        return [way["holds"] for way in nights[-1]["routes"]]

    assert holds("") == [False]
    assert holds("&planned=false") == [True]


def test_boards_over_decayed_joists_are_not_to_be_stepped_on(house):
    floor = floor_with_boards(house)
    floor.joists.exclude(mark="J1").update(condition="decayed")

    (alert, *_) = selectors.alerts(house, now=MONDAY)

    assert (alert["code"], alert["severity"]) == ("unsupported_boards", "stop")
    assert "B1.1" in alert["sentence"]


def test_a_measure_that_was_not_looked_at_in_time_is_an_alert(house):
    factories.TemporaryMeasureFactory(property=house, since=at(-2, 8), check_every_hours=24)

    (alert,) = selectors.alerts(house, now=MONDAY)

    assert alert["code"] == "measure_unchecked"
    assert alert["figures"]["overdue_hours"] == 24
    assert alert["from_plan"] is None


def test_a_measure_left_in_place_when_its_task_begins_stops_the_work(house):
    task = factories.TaskFactory(package=package(house), status="doing")
    factories.TemporaryMeasureFactory(property=house, since=at(-2, 8), clear_before_task=task)

    (alert,) = selectors.alerts(house, now=MONDAY)

    assert (alert["code"], alert["severity"]) == ("measure_left", "stop")


@pytest.mark.parametrize("address", ["week", "board-holds", "alerts", "nights"])
def test_computed_views_want_a_house_and_show_no_strangers_one(client, house, address):
    other = factories.PropertyFactory()

    assert client.get(f"/api/v1/{address}/").status_code == 400
    assert client.get(f"/api/v1/{address}/", {"property": other.pk}).status_code == 404
    assert client.get(f"/api/v1/{address}/", {"property": "x"}).status_code == 400
    assert client.get(f"/api/v1/{address}/", {"property": house.pk}).status_code == 200


def test_a_misspelt_query_is_told_and_not_answered_with_everything(client, house):
    answer = client.get("/api/v1/board-holds/", {"property": house.pk, "flor": 3})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/flor"


def test_holds_can_be_asked_for_one_board_and_one_date(client, house):
    made = prepared(house)
    board = made["need"].floor.boards.get(mark="B2.1")
    query = {"property": house.pk, "board": board.pk}

    open_then = client.get("/api/v1/board-holds/", {**query, "on": "2026-01-06"}).json()["results"]
    before = client.get("/api/v1/board-holds/", {**query, "on": "2026-01-01"}).json()["results"]

    assert [hold["mark"] for hold in open_then] == ["B2.1"]
    assert before == []


def test_the_week_answers_in_json(client, house):
    prepared(house)

    body = client.get("/api/v1/week/", {"property": house.pk, "on": "2026-01-05"}).json()

    assert body["days"][0]["stints"][0]["starts"] == "2026-01-05T18:00:00Z"
    assert body["days"][0]["tonight"] == []
