"""The demo house: one house in any week, and one that shows every alert and reason."""

from __future__ import annotations

import hashlib
import io
import re
from collections import Counter
from datetime import date, datetime, time, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.db.models import Model
from PIL import Image
from shapely import Polygon

from apps.floors.models import (
    AirBrick,
    Board,
    BoardMove,
    BoardStay,
    Floor,
    Joist,
    JoistProbe,
    SpotHeight,
)
from apps.inspections.evidence import store
from apps.inspections.models import (
    Certificate,
    Condition,
    Deviation,
    Evidence,
    Inspection,
    SignOff,
)
from apps.planning import demo, selectors, services
from apps.planning.ground import touched_by
from apps.planning.models import Person, Plan, WorkingTime, WorkingTimeException
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.work.models import Finding, Link, Supply, Task, TimeEntry, Tool, Trade, WorkPackage
from tests.clients import Client
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
    AccessNeed: "property", TemporaryMeasure: "property", Certificate: "property",
    Deviation: "property", Evidence: "property", Condition: "sign_off__property",
    AirBrick: "floor__property", JoistProbe: "joist__floor__property",
    SpotHeight: "floor__property",
}  # fmt: skip


def rows(house, model):
    return model.objects.filter(**{PATHS[model]: house}).order_by("pk")


def load(today=MONDAY):
    return demo.load_demo(owner=UserFactory(), today=today)


# Ids, and what is made of ids and instants.
OF_THIS_LOADING = {
    "id", "recorded_at", "stated", "digest", "previous_digest", "uploaded_at",
}  # fmt: skip


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
    assert counts["Evidence"] == 3
    assert Counter(rows(house, Inspection).values_list("state", flat=True)) == {
        "accepted": 1, "accepted_with_conditions": 1, "booked": 1, "due": 3,
    }  # fmt: skip
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


def test_a_house_whose_last_row_is_refused_leaves_no_file_behind(monkeypatch):
    files_then = []

    def refused(self, told):
        files_then.extend(store.digests())
        raise ValueError("refused")

    monkeypatch.setattr(demo.Reader, "sign_off", refused)

    with pytest.raises(ValueError, match="refused"):
        load()

    assert len(files_then) == 3
    assert list(store.all_files()) == []
    assert not Property.objects.exists()


def test_a_second_house_that_is_refused_leaves_the_files_of_the_first(monkeypatch):
    house = load()

    with pytest.raises(OverflowError):
        load(date.max)

    kept = set(rows(house, Evidence).values_list("sha256", flat=True))
    assert set(store.digests()) == kept
    assert len(kept) == 3


def test_the_record_of_the_house_is_well():
    house = load()

    out = io.StringIO()
    call_command("verify_record", f"--property={house.pk}", stdout=out)

    last = rows(house, SignOff).last()
    assert last.number == 2
    assert last.digest in out.getvalue()


def test_every_piece_of_evidence_is_a_picture_that_matches_its_digest():
    for row in rows(load(), Evidence):
        content = store.path_of(row.sha256).read_bytes()
        assert hashlib.sha256(content).hexdigest() == row.sha256
        assert len(content) == row.byte_size
        with Image.open(io.BytesIO(content)) as picture:
            assert picture.size == (row.width_px, row.height_px) == (480, 320)
            assert len(picture.getcolors()) > 3
        with Image.open(store.thumbnail_of(row.sha256)) as small:
            small.load()


def test_one_condition_is_open_and_due_in_the_week_to_come():
    condition = rows(load(), Condition).get()

    assert condition.cleared_at is None
    assert timedelta(days=7) <= condition.due_on - MONDAY < timedelta(days=14)
    assert [task.title for task in condition.blocks.all()] == [
        "Re-lay the boards by the north wall"
    ]


def test_one_deviation_is_put_and_waits_for_an_answer():
    deviation = rows(load(), Deviation).get()

    assert (deviation.state, deviation.decided_at) == ("put", None)
    assert deviation.evidence.count() == 1


def test_what_is_owed_lists_three_certificates():
    owner = UserFactory()
    house = demo.load_demo(owner=owner, today=MONDAY)
    client = Client()
    client.force_authenticate(owner)

    answer = client.get(f"/api/v1/properties/{house.pk}/owed/")

    assert answer.status_code == 200
    owed = answer.json()["owed"]
    assert Counter(item["kind"] for item in owed) == {
        "hold_point": 4, "condition": 1, "evidence": 1, "deviation": 1, "certificate": 3,
    }  # fmt: skip
    assert {item["id"] for item in owed if item["kind"] == "certificate"} == set(
        rows(house, Certificate).values_list("pk", flat=True)
    )
    assert all(certificate.visits.count() == 1 for certificate in rows(house, Certificate))


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


def as_it_falls_out():
    """The reasons that, by the README, hinge on which of several equal plans is found."""
    text = (demo.FOLDER / "README.md").read_text(encoding="utf-8")
    return set(re.findall(r"^\| `(\w+)` \| as it falls out:", text, flags=re.MULTILINE))


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
    listed = listed_in_readme("Reasons")
    assert as_it_falls_out() == {"boards_held", "tool_busy"}
    assert listed - as_it_falls_out() <= reasons <= listed
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
