"""What is kept of a house's ground is right after every edit: as right as worked out anew."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest
from django.core.cache import cache
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.floors.models import Board
from apps.floors.services import move_boards, undo_move
from apps.planning import kept, selectors
from apps.planning.models import Plan, Stint
from apps.planning.tonight import tonight
from apps.planning.week import week
from apps.property.outlines import rectangle
from renovation.kept import store
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package


def lived_in(house):
    """Two rooms with a way over a floor whose boards a planned task lifts and another fixes."""
    crew(house)
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room, line=[[1000, 4000], [1800, 4000]])
    other = factories.RoomFactory(property=house, outline=rectangle(3000, 900, (0, -1000)))
    door = factories.DoorwayFactory(
        property=house, room_a=room, room_b=other, line=[[1000, -50], [1800, -50]]
    )
    floor = floor_with_boards(house, courses=26)
    work = package(house)
    place = {"package": work, "floor": floor, "area": rectangle(3000, 900)}
    lift = factories.TaskFactory(floor_action="lift", **place)
    fix = factories.TaskFactory(floor_action="fix", **place)
    plan = Plan.objects.create(property=house, as_of=MONDAY, state="ready", is_current=True)
    for task, day in ((lift, 1), (fix, 3)):
        Stint.objects.create(
            plan=plan, task=task, starts=at(day, 18), ends=at(day, 20), why_not_sooner={}
        )
    return {
        "house": house, "room": room, "door": door, "floor": floor, "lift": lift, "fix": fix,
        "plan": plan, "user": factories.UserFactory(),
        "route": factories.HouseholdRouteFactory(property=house, from_room=other, to_room=None),
        "need": factories.AccessNeedFactory(property=house, floor=floor, area=rectangle(900, 900)),
    }  # fmt: skip


def move_some(made, chance):
    boards = chance.sample(list(made["floor"].boards.all()), 3)
    state = chance.choice(["up", "loose", "fixed", "missing"])
    if boards := [board for board in boards if board.state != state]:
        made["moved"] = move_boards(
            boards=boards, to_state=state, moved_at=timezone.now(), note="",
            moved_by=made["user"], forced_reason="It was so.",
        )  # fmt: skip


def take_back(made, chance):
    if moved := made.pop("moved", None):
        undo_move(move=moved, moved_by=made["user"], forced_reason="It was so.")


def past_the_services(made, chance):
    made["floor"].boards.filter(course=chance.randint(1, 26)).update(
        state=chance.choice(["up", "fixed"])
    )


def rot_a_joist(made, chance):
    joist = chance.choice(list(made["floor"].joists.all()))
    joist.change(condition=chance.choice(["sound", "decayed", "missing"]))


def narrow_the_door(made, chance):
    made["door"].change(line=[[1000, -50], [chance.choice([1300, 1500, 1800]), -50]])


def widen_the_way(made, chance):
    made["route"].change(width_mm=chance.choice([400, 600, 750]))


def rename_the_room(made, chance):
    made["room"].change(name=f"Room {chance.randint(1, 3)}")


def rename_the_floor(made, chance):
    made["floor"].change(name=f"Floor {chance.randint(1, 3)}")


def lift_elsewhere(made, chance):
    made["lift"].change(area=rectangle(3000, chance.choice([300, 900, 2000])))


def plan_it_later(made, chance):
    made["plan"].stints.filter(task=made["lift"]).update(
        starts=at(chance.randint(0, 2), 18), ends=at(2, 20)
    )


def need_elsewhere(made, chance):
    made["need"].change(area=rectangle(chance.choice([300, 900]), 900))


def remove_a_board(made, chance):
    unmoved = made["floor"].boards.filter(stays=None).order_by("?").first()
    if unmoved:
        unmoved.delete()


EDITS = [
    move_some, take_back, past_the_services, rot_a_joist, narrow_the_door, widen_the_way,
    rename_the_room, rename_the_floor, lift_elsewhere, plan_it_later, need_elsewhere,
    remove_a_board,
]  # fmt: skip


def answers(house):
    told = tonight(house, now=MONDAY)
    return {
        "week": week(house, on=MONDAY.date(), now=MONDAY),
        "nights": selectors.nights(house, first=date(2026, 1, 6), days=3, now=MONDAY),
        "as they lie": selectors.nights(
            house, first=MONDAY.date(), days=1, now=MONDAY, planned=False
        ),
        "alerts": selectors.alerts(house, now=MONDAY),
        "holds": selectors.board_holds(house, now=MONDAY),
        "tonight": {key: told[key] for key in ("boards", "ways", "open_floors")},
    }


@pytest.mark.django_db
@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(edits=st.lists(st.sampled_from(EDITS), min_size=1, max_size=8), seed=st.integers(0, 99))
def test_what_is_kept_is_what_would_be_worked_out_anew(transactional_edits, edits, seed):
    made, chance = lived_in(factories.PropertyFactory()), random.Random(seed)
    answers(made["house"])

    for edit in edits:
        edit(made, chance)
        kept_answers = answers(made["house"])
        cache.clear()
        assert kept_answers == answers(made["house"]), edit.__name__


@pytest.fixture
def transactional_edits(db):
    """Nothing here depends on commits: keys are made of what is read."""


def test_the_second_asking_works_nothing_out(house, monkeypatch):
    lived_in(house)
    first = answers(house)
    monkeypatch.setattr("apps.planning.selectors.read_ground", None)
    monkeypatch.setattr("apps.planning.ground.touched_by", None)

    assert answers(house) == first


def test_what_was_worked_out_while_a_board_moved_is_not_kept(house):
    made = lived_in(house)
    lie = kept.lie_of(house)

    def meanwhile():
        move_some(made, random.Random(1))
        return ["of neither"]

    assert kept.of_house(house, "test", (), meanwhile, lie=lie) == ["of neither"]
    assert kept.of_house(house, "test", (), lambda: ["afresh"], lie=lie) == ["afresh"]


def test_without_a_cache_it_is_worked_out_each_time(house, monkeypatch, caplog):
    def down(*args, **kwargs):
        raise ConnectionError("redis://:hunter2@10.0.0.1 is down")

    monkeypatch.setattr(store, "get", down)
    monkeypatch.setattr(store, "set", down)
    lived_in(house)

    assert week(house, on=MONDAY.date(), now=MONDAY)["days"]
    assert "what was kept cannot be read" in caplog.text


def test_yesterday_is_not_told_tomorrow(house):
    lived_in(house)

    today = selectors.nights(house, first=MONDAY.date(), days=7, now=MONDAY)
    tomorrow = selectors.nights(house, first=MONDAY.date(), days=7, now=MONDAY + timedelta(days=1))

    assert [night["date"].day for night in today] == [5, 6, 7, 8, 9, 10, 11]
    assert tomorrow == today[1:]


def test_two_houses_with_the_same_boards_are_told_apart(house):
    other = factories.PropertyFactory()
    for one in (house, other):
        lived_in(one)

    boards = [
        {row["board"] for hold in [selectors.board_holds(one, now=MONDAY)] for row in hold}
        for one in (house, other)
    ]

    assert boards[0]
    assert not boards[0] & boards[1]
    assert Board.objects.filter(pk__in=boards[1], floor__property=other).count() == len(boards[1])
