"""The odds of a plan and the crew's pace, over HTTP and in the week."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.planning.demo import load_demo
from apps.planning.generator import generate
from apps.planning.loading import chances
from apps.planning.loading.house import read_house
from apps.planning.loading.question import question
from apps.planning.models import Plan
from apps.planning.sampler import run
from apps.planning.week import week
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan

pytestmark = pytest.mark.usefixtures("handed_out")
AREA = rectangle(1000, 300)


def finished(house, *, minutes, count=1, kind="first_fix", **fields):
    """So many tasks done, with time noted on them."""
    work, noted_by = package(house, kind=kind), factories.UserFactory()
    for _ in range(count):
        task = factories.TaskFactory(
            package=work, low_minutes=60, likely_minutes=60, high_minutes=60, status="done",
            finished_at=MONDAY - timedelta(days=3), **fields,
        )  # fmt: skip
        if minutes:
            task.time_entries.create(
                starts=MONDAY - timedelta(days=3, hours=2), minutes=minutes, noted_by=noted_by
            )


def prepared(house, *, low=60, likely=120, high=240):
    """Boards to lift on Monday evening, 18:00 to 20:00, for a plumber on Tuesday."""
    crew(house)
    floor = floor_with_boards(house)
    lift = factories.TaskFactory(
        package=package(house), floor=floor, floor_action="lift", area=AREA,
        low_minutes=low, likely_minutes=likely, high_minutes=high,
    )  # fmt: skip
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(1, 9), ends=at(1, 11))
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)
    return lift, visit


def ask(client, house, **fields):
    answer = client.post(
        "/api/v1/plans/",
        {"property": house.pk, "as_of": MONDAY.isoformat(), "seconds": 1, **fields},
    )
    assert answer.status_code == 201
    return answer.json()


def test_a_plan_tells_the_odds_that_the_floor_is_open(client, house):
    _, visit = prepared(house)

    odds = ask(client, house)["odds"]

    assert odds["runs"] == chances.RUNS
    (row,) = odds["visits"]
    assert row["about"] == {"kind": "visit", "id": visit.pk, "name": str(visit)}
    assert row["by"] == "2026-01-06T09:00:00Z"
    # Low 60, likely and planned 120, high 240: done within the evening in about 4 of 10 runs.
    assert 0.35 < row["chance"] < 0.5
    assert row["by_80"] > "2026-01-06T18:00"
    assert row["sentence"].startswith(
        "4 in 10 that the floor is open for the plumber on Tue 6 Jan, 09:00; 8 in 10 by Tue 6 Jan"
    )
    assert set(odds["finish"]) == {"about", "by", "chance", "words", "by_80", "sentence"}
    (part,) = odds["packages"]
    assert part["sentence"].startswith("4 in 10 that Back parlour floor is done by the end of")


def test_without_any_spread_what_is_planned_in_time_is_in_time(client, house):
    prepared(house, low=120, high=120)

    odds = ask(client, house)["odds"]

    assert [row["chance"] for row in (*odds["visits"], odds["finish"])] == [1, 1]
    assert odds["visits"][0]["words"] == "more than 19 in 20"


def test_the_crews_own_record_moves_the_odds_and_not_the_plan(client, house):
    prepared(house, low=60, likely=105, high=120)
    before = ask(client, house)
    finished(house, minutes=90, count=12, kind="floor")

    after = ask(client, house)

    moments = [[(s["task"], s["starts"], s["ends"]) for s in p["stints"]] for p in (before, after)]
    assert moments[0] == moments[1]
    assert after["odds"]["visits"][0]["chance"] < before["odds"]["visits"][0]["chance"] - 0.2
    assert (before["odds"]["pace"], before["odds"]["corrected"]) == ([], [])
    (corrected,) = after["odds"]["corrected"]
    assert corrected["likely_minutes"] == 105
    assert corrected["corrected_minutes"] == round(105 * after["odds"]["pace"][0]["factor"], 0)


def test_a_quick_plan_makes_fewer_runs(client, house):
    prepared(house)

    made = ask(client, house, quick=True)

    assert made["odds"]["runs"] == chances.QUICK_RUNS < chances.RUNS
    assert 0.3 < made["odds"]["visits"][0]["chance"] < 0.55


def test_a_supposition_has_odds_too(client, house):
    _, visit = prepared(house)

    supposed = ask(
        client, house,
        what_if={"visits": [{"id": visit.pk, "starts": at(2, 9).isoformat(),
                             "ends": at(2, 11).isoformat()}]},
    )  # fmt: skip

    assert supposed["is_current"] is False
    (row,) = supposed["odds"]["visits"]
    assert (row["by"], row["words"]) == ("2026-01-07T09:00:00Z", "more than 19 in 20")


def test_a_hold_point_has_odds_and_a_package_without_a_place_says_so(client, house):
    crew(house)
    work = package(house)
    lift = factories.TaskFactory(package=work)
    look = factories.InspectionFactory(
        property=house, state="booked", booked_starts=at(1, 9), booked_ends=at(1, 10)
    )
    look.looks_at.add(lift)
    nowhere = factories.TaskFactory(
        package=package(house, title="Loft"), people=2, title="Carry the beam up"
    )

    odds = ask(client, house)["odds"]

    (row,) = odds["inspections"]
    assert row["about"]["id"] == look.pk
    assert f"that all is ready to be seen for {look}" in row["sentence"]
    loft = next(row for row in odds["packages"] if row["about"]["id"] == nowhere.package_id)
    assert (loft["by"], loft["chance"], loft["by_80"]) == (None, 0, None)
    assert loft["sentence"] == "Part of Loft has no place in the plan."


def test_a_plan_that_cannot_be_followed_is_kept_without_odds(client, house, monkeypatch):
    prepared(house)

    def refuse(*_):
        raise ValueError("task:1 cannot begin when the plan says")

    monkeypatch.setattr(chances, "run", refuse)

    made = ask(client, house)

    assert (made["status"], made["odds"]) == ("ready", None)


def test_the_week_shows_the_odds_of_its_visits(client, house):
    prepared(house)
    made = plan(house)

    found = week(house, on=MONDAY.date(), now=MONDAY)

    (entry,) = found["days"][1]["visits"]
    assert entry["odds"] == made.odds["visits"][0]
    shown = client.get("/api/v1/week/", {"property": house.pk, "on": "2026-01-05"}).json()
    assert shown["days"][1]["visits"][0]["odds"]["sentence"] == entry["odds"]["sentence"]
    Plan.objects.update(odds=None)
    assert week(house, on=MONDAY.date(), now=MONDAY)["days"][1]["visits"][0]["odds"] is None


def test_the_demo_house_is_followed_stint_for_stint_and_has_odds_for_all_who_come(db):
    demo = load_demo(owner=factories.UserFactory(), today=MONDAY.date())
    asked = question(read_house(demo, as_of=MONDAY, horizon_days=28), previous=None)
    movable = [a.key for a in asked.problem.activities if a.fixed is None]
    made = generate(asked.problem, movable)

    runs = run(asked.problem, made, {}, 1)
    odds = chances.plan_odds(asked, made)

    assert len(runs.stints) == len(made.stints) > 40
    for stint, starts, ends in runs.stints:
        assert (starts[0], ends[0]) == (stint.start * 15, stint.end * 15), stint
    placed = {stint.activity for stint in made.stints}
    told = {f"{row['about']['kind']}:{row['about']['id']}"
            for row in (*odds["visits"], *odds["inspections"])}  # fmt: skip
    assert told == {key for key in placed if not key.startswith("task:")}
    assert all(0 <= row["chance"] <= 1 for row in odds["packages"])


def test_the_pace_is_by_kind_of_work_and_in_words(client, house):
    finished(house, minutes=84, count=7)
    finished(house, minutes=60, kind="damp")
    finished(house, minutes=0, kind="floor")
    finished(house, minutes=99, kind="plaster", trade=factories.TradeFactory(property=house))

    rows = client.get("/api/v1/pace/", {"property": house.pk}).json()["results"]

    assert [row["kind"] for row in rows] == ["damp", "first_fix"]
    first_fix = rows[1]
    assert (first_fix["tasks"], first_fix["minutes"], first_fix["expected_minutes"]) == (
        7,
        588,
        420,
    )
    assert 1 < first_fix["low"] < first_fix["factor"] < first_fix["high"] < 1.4
    assert first_fix["sentence"] == "Your first-fix work takes 1.2 times your estimates (7 tasks)."


def test_another_house_is_not_found(client):
    other = factories.PropertyFactory()
    finished(other, minutes=84)

    assert client.get("/api/v1/pace/", {"property": other.pk}).status_code == 404
    assert client.get("/api/v1/pace/").status_code == 400
