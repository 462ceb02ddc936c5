"""The demo house: one house in any week, and one that shows every alert and reason."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date, datetime, time, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

import pytest
from django.db.models import Model
from shapely import Polygon

from apps.floors.models import Board, BoardMove, BoardStay, Floor, Joist
from apps.inspections.models import Inspection, SignOff
from apps.planning import demo, selectors, services
from apps.planning.ground import touched_by
from apps.planning.models import Person, Plan, WorkingTime, WorkingTimeException
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.work.models import Finding, Link, Supply, Task, TimeEntry, Tool, Trade, WorkPackage
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2026, 11, 23)
PATHS = {
    Storey: "property", Room: "property", Doorway: "property", HouseholdRoute: "property",
    Floor: "property", Joist: "floor__property", Board: "floor__property",
    BoardMove: "floor__property", BoardStay: "board__floor__property",
    Person: "property", WorkingTime: "person__property",
    WorkingTimeException: "person__property", Tool: "property", Trade: "property",
    WorkPackage: "property", Task: "package__property", Link: "before__package__property",
    TimeEntry: "task__package__property", Supply: "property", Finding: "property",
    Visit: "property", Inspection: "property", SignOff: "inspection__property",
    AccessNeed: "property", TemporaryMeasure: "property",
}  # fmt: skip


def rows(house, model):
    return model.objects.filter(**{PATHS[model]: house}).order_by("pk")


def load(today=MONDAY):
    return demo.load_demo(owner=UserFactory(), today=today)


# Ids, and what is made of ids and instants.
OF_THIS_LOADING = {"id", "recorded_at", "stated", "digest", "previous_digest"}


def told(house, monday):
    """Every row of a house, its dates counted from a Monday and other rows by their place."""
    kept = {model: list(rows(house, model)) for model in PATHS}
    place = {row: (model.__name__, n) for model in kept for n, row in enumerate(kept[model])}

    def plain(value):
        if isinstance(value, datetime):
            local = value.astimezone(LONDON)
            return (local.date() - monday).days, local.time()
        if isinstance(value, date):
            return (value - monday).days
        return place.get(value, "outside") if isinstance(value, Model) else value

    def columns(row):
        own = [c for c in row._meta.concrete_fields if c.name not in OF_THIS_LOADING]
        many = {
            c.name: {place[o] for o in getattr(row, c.name).all()} for c in row._meta.many_to_many
        }
        return {c.name: plain(getattr(row, c.name)) for c in own} | many

    return {place[row]: columns(row) for row in place}


def test_the_house_has_the_size_it_is_described_with():
    house = load()

    counts = {model.__name__: rows(house, model).count() for model in PATHS}
    assert counts["Storey"] == 2
    assert counts["Room"] == 7
    assert counts["Floor"] == 3
    assert counts["Joist"] == 41
    assert counts["Board"] == 124
    assert counts["WorkPackage"] == 8
    assert counts["Task"] == 60
    assert counts["Trade"] == 3
    assert counts["Visit"] == 5
    assert rows(house, Inspection).exclude(state="accepted").count() == 3
    assert Counter(rows(house, Task).values_list("status", flat=True)) == {
        "done": 10, "doing": 2, "to_do": 48,
    }  # fmt: skip


def test_rooms_of_a_storey_do_not_overlap():
    house = load()

    for storey in rows(house, Storey):
        shapes = [Polygon(room.outline) for room in storey.rooms.all()]
        assert all(one.intersection(two).area == 0 for one, two in combinations(shapes, 2))


def test_boards_tile_their_floors():
    house = load()

    for floor in rows(house, Floor):
        shapes = [Polygon(board.outline) for board in floor.boards.all()]
        assert sum(shape.area for shape in shapes) == Polygon(floor.outline).area
        assert all(one.intersection(two).area == 0 for one, two in combinations(shapes, 2))


def test_every_board_is_as_its_last_move_left_it():
    house = load()

    moved = BoardStay.objects.filter(board__floor__property=house, until=None)
    assert {stay.board_id: stay.move.to_state for stay in moved} == dict(
        rows(house, Board).exclude(state="fixed").values_list("pk", "state")
    )
    earlier = BoardStay.objects.filter(board__floor__property=house).exclude(until=None)
    assert all(stay.since < stay.until for stay in earlier)


@pytest.mark.parametrize(
    "today",
    [
        date(2026, 3, 29),  # clocks go forward on this Sunday
        date(2026, 10, 22),  # clocks go back on the Sunday of this week
        date(2026, 11, 2),  # the past of this week lies before the change
        date(2028, 2, 29),
    ],
)
def test_the_house_is_the_same_in_any_week(today):
    here = load(today)
    there = load(MONDAY)

    monday = today - timedelta(days=today.weekday())
    assert told(here, monday) == told(there, MONDAY)


def test_the_house_belongs_to_the_one_it_was_loaded_for():
    owner = UserFactory()
    house = demo.load_demo(owner=owner, today=MONDAY)

    assert [(m.user, m.role) for m in house.members.all()] == [(owner, "owner")]
    assert {move.moved_by for move in rows(house, BoardMove)} == {owner}


def test_a_name_that_no_row_has_is_refused_by_name():
    reader = demo.Reader(load(), UserFactory(), MONDAY)

    with pytest.raises(ValueError, match="names a room 'Scullery'"):
        reader.add(Finding, {"kind": "damp", "title": "Wet wall", "room": "Scullery"})


def test_a_house_that_cannot_be_loaded_leaves_nothing_behind():
    with pytest.raises(OverflowError):
        load(date.max)

    assert not Property.objects.exists()


def test_plumber_electrician_and_inspector_need_the_same_boards():
    house = load()

    touched = touched_by(rows(house, Board), [(need.pk, need) for need in rows(house, AccessNeed)])
    wanted_by = {}
    for need in rows(house, AccessNeed):
        for board in touched[need.pk]:
            wanted_by.setdefault(board, set()).add(str(need.trade or need.inspection or need.task))
    shared = {board for board, who in wanted_by.items() if len(who) > 2}
    assert {"B20.2", "B21.2"} <= {b.mark for b in rows(house, Board) if b.pk in shared}


def listed_in_readme(heading):
    """First column of the table under a heading of the demo's README."""
    text = (demo.FOLDER / "README.md").read_text(encoding="utf-8")
    section = text.partition(f"## {heading}\n")[2].partition("\n## ")[0]
    return set(re.findall(r"^\| `(\w+)` \|", section, flags=re.MULTILINE))


def planned(house, as_of):
    plan = Plan.objects.create(property=house, as_of=as_of, seconds=1)
    services.solve(plan_id=plan.pk)
    plan.refresh_from_db()
    return plan


@pytest.mark.parametrize("day", [0, 6])
def test_the_plan_shows_every_alert_of_the_readme_from_monday_to_sunday(day):
    house = load()
    as_of = datetime.combine(MONDAY + timedelta(days=day), time(7), LONDON)

    planned(house, as_of)

    found = selectors.alerts(house, now=as_of)
    assert {alert["code"] for alert in found} == listed_in_readme("Alerts")


def test_mondays_plan_gives_every_reason_of_the_readme_and_leaves_out_the_circle_only():
    house = load()

    plan = planned(house, datetime.combine(MONDAY, time(7), LONDON))

    reasons = {stint.why_not_sooner["code"] for stint in plan.stints.all()}
    assert reasons == listed_in_readme("Reasons")
    assert {row["about"]["name"] for row in plan.unplaced} == {
        "Fit the hall skirting (after the paint)",
        "Paint the hall (after the skirting)",
    }


def test_tonight_three_loose_boards_bring_father_to_the_bathroom_and_the_sisters_need_a_deck():
    house = load()

    found = selectors.alerts(house, now=datetime.combine(MONDAY, time(7), LONDON))

    cut = {a["about"][0]["name"]: a["figures"] for a in found if a["code"] == "route_cut"}
    assert cut["Father's way to the bathroom"] == {"lay": 3, "deck": 0}
    assert cut["The sisters' way to the stair"] == {"lay": 0, "deck": 4}
