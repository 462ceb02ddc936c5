"""What a plan does not manage, what would help and what cannot hold together, over HTTP."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package
from tests.api.test_planning_service import AREA

pytestmark = pytest.mark.usefixtures("handed_out")


def ask(client, house, **fields):
    answer = client.post(
        "/api/v1/plans/",
        {"property": house.pk, "as_of": MONDAY.isoformat(), "seconds": 2, "horizon_days": 14,
         **fields},
    )  # fmt: skip
    assert answer.status_code == 201, answer.json()
    return answer.json()


@pytest.fixture
def short(house):
    """Three hours of lifting before a plumber on Tuesday morning, and one evening of two hours."""
    crew(house, weekdays=[0, 2, 3, 4])
    floor = floor_with_boards(house)
    lift = factories.TaskFactory(
        package=package(house), floor=floor, floor_action="lift", area=AREA, title="Lift",
        low_minutes=100, likely_minutes=180, high_minutes=200,
    )  # fmt: skip
    trade = factories.TradeFactory(property=house, days=[0, 1, 2, 3, 4], notice_days=0)
    visit = factories.VisitFactory(
        property=house, trade=trade, state="agreed", starts=at(2, 9), ends=at(2, 11)
    )
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)
    house.lift, house.visit = lift, visit
    return house


def test_an_unready_visit_says_what_is_short_and_what_would_help(client, short):
    body = ask(client, short)

    (row,) = body["unready"]
    assert row["about"] == {"kind": "visit", "id": short.visit.pk, "name": str(short.visit)}
    assert row["kind"] == "unready"
    # It ends on Wednesday at 19:00; nobody works on Tuesday.
    assert (row["short_minutes"], row["short_working_minutes"]) == (600, 60)
    assert row["by"][0]["id"] == short.lift.pk
    by_kind = {remedy["kind"]: remedy for remedy in row["remedies"]}
    evening, moved = by_kind["add_evening"], by_kind["move_visit"]
    assert evening["times"] == [
        {"starts": "2026-01-06T18:00:00+00:00", "ends": "2026-01-06T20:00:00+00:00"}
    ]
    assert evening["sentence"].startswith("Work one evening more, Tue 6 Jan, 18:00–20:00: all is")
    assert moved["times"][0]["starts"] == "2026-01-08T09:00:00+00:00"
    assert moved["sentence"].startswith(f"Move “{short.visit}” to Thu 8 Jan, 09:00: all is ready")
    assert moved["effect"]["short_after_minutes"] == 0
    assert moved["effect"]["moved_minutes"] == 24 * 60
    alert = next(alert for alert in body["alerts"] if alert["code"] == "visit_unready")
    assert alert["sentence"].endswith(row["remedies"][0]["sentence"])
    assert alert["figures"] == {"short_minutes": 600, "short_working_minutes": 60}


@pytest.mark.parametrize("kind", ["add_evening", "move_visit"])
def test_each_remedy_can_be_tried_as_it_is_told(client, short, kind):
    row = ask(client, short)["unready"][0]
    remedy = next(remedy for remedy in row["remedies"] if remedy["kind"] == kind)

    supposed = ask(client, short, what_if=remedy["what_if"])

    assert supposed["unready"] == supposed["contradictions"] == []


def test_a_contradiction_is_told_in_one_sentence_with_its_rules(client, short):
    (found,) = ask(client, short)["contradictions"]

    assert found["sentence"] == (
        f"“Lift” needs 3 h before “{short.visit}” (Wed 7 Jan, 09:00), and there are 2 h."
    )
    assert (found["smallest"], found["needed_minutes"], found["available_minutes"]) == (
        True, 180, 120,
    )  # fmt: skip
    assert [rule["kind"] for rule in found["rules"]] == ["hours", "task", "outsider"]
    assert found["rules"][1]["about"] == [{"kind": "task", "id": short.lift.pk, "name": "Lift"}]


def test_a_task_without_a_place_says_what_would_give_it_one(client, house):
    crew(house)
    long = factories.TaskFactory(
        package=package(house), likely_minutes=180, high_minutes=240, splittable=False
    )

    (row,) = ask(client, house)["unplaced"]

    assert row["about"]["id"] == long.pk
    assert row["taken_by"] == []
    (split,) = [remedy for remedy in row["remedies"] if remedy["kind"] == "split_task"]
    assert split["what_if"] is None
    assert split["effect"]["unplaced_minutes"] == -180


def test_a_task_without_room_says_who_takes_the_hours(client, house):
    person = crew(house, weekdays=[0])
    for week in range(1, 9):
        person.exceptions.create(date=date(2026, 1, 5) + timedelta(weeks=week))
    work = package(house)
    tasks = [factories.TaskFactory(package=work, splittable=False, title=t) for t in ("A", "B")]

    body = ask(client, house, horizon_days=1)

    # One evening of two hours is left of all the weeks that the plan looks at.
    planned = {stint["task"] for stint in body["stints"]}
    assert len(planned) == 1
    for row in body["unplaced"]:
        assert {taken["about"]["id"] for taken in row["taken_by"]} == planned
        assert row["code"] == "crew_busy"
        (name,) = (task.title for task in tasks if task.pk in planned)
        assert row["sentence"].endswith(f"The hours go to “{name}” (2 h).")


def test_a_helper_is_suggested_for_two_person_work_and_can_be_supposed(client, house):
    crew(house)
    helper = factories.PersonFactory(property=house, name="Sam", role="helper")
    factories.WorkingTimeFactory(person=helper, weekday=6, starts=time(18), ends=time(20))
    lift = factories.TaskFactory(package=package(house), people=2, title="Hang the trimmer")
    trade = factories.TradeFactory(property=house)
    pipe = factories.TaskFactory(package=lift.package, trade=trade)
    factories.LinkFactory(before=lift, after=pipe)
    visit = factories.VisitFactory(
        property=house, trade=trade, state="agreed", starts=at(3, 9), ends=at(3, 11)
    )
    visit.tasks.add(pipe)

    row = ask(client, house)["unready"][0]

    bring = next(remedy for remedy in row["remedies"] if remedy["kind"] == "bring_helper")
    (hours,) = bring["what_if"]["more_hours"]
    assert (hours["person"], hours["starts"], hours["ends"]) == (helper.pk, "18:00", "20:00")
    assert ask(client, house, what_if=bring["what_if"])["unready"] == []


def test_a_circle_of_links_names_its_tasks_and_links_in_order(client, house):
    crew(house)
    work = package(house)
    paint, skirting = (factories.TaskFactory(package=work, title=t) for t in ("Paint", "Skirting"))
    factories.LinkFactory(before=paint, after=skirting, reason="It hides the edge.")
    factories.LinkFactory(before=skirting, after=paint, kind="SS", reason="")

    body = ask(client, house)

    (found,) = body["contradictions"]
    assert found["sentence"].startswith(
        "These wait for each other and can never start: “Paint” → “Skirting” → “Paint”. "
    )
    assert [rule["sentence"] for rule in found["rules"]] == [
        "“Skirting” starts after “Paint” ends (It hides the edge)",
        "“Paint” starts after “Skirting” starts",
    ]
    assert [[ref["id"] for ref in rule["about"]] for rule in found["rules"]] == [
        [paint.pk, skirting.pk], [skirting.pk, paint.pk],
    ]  # fmt: skip
    assert {remedy["kind"] for row in body["unplaced"] for remedy in row["remedies"]} == {
        "drop_link"
    }


def test_where_all_is_managed_there_is_nothing_to_help(client, house):
    crew(house)
    factories.TaskFactory(package=package(house))

    body = ask(client, house)

    assert body["unready"] == body["contradictions"] == body["unplaced"] == []
