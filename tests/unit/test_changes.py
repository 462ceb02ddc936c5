"""From what moved to what was changed: trails, and where they end."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from apps.planning.blockers import blockers
from apps.planning.changes import Before, Moved, changes, moved
from apps.planning.edits import Edit, PlannedPast, edits
from apps.planning.problem import (
    Activity,
    Calendar,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Release,
    Resource,
)

CREW = Calendar("crew", "no_working_time", "", ((0, 100), (200, 300)), (Ref("person", 1, "Mar"),))


def ref(key):
    return Ref("task", int(key.partition(":")[2]), f"T{key[-1]}")


def task(n, effort=4, **fields):
    key = f"task:{n}"
    return Activity(key, ref(key), effort, **{"uses": ("crew",), "calendars": ("crew",), **fields})


def problem(*activities, **fields):
    return Problem(
        datetime(2026, 1, 5, tzinfo=UTC), 400, activities,
        **{"calendars": (CREW,), "resources": (Resource("crew", "Mar", "crew"),), **fields},
    )  # fmt: skip


def told(question, placed, before, found=(), *, now=0, **fields):
    """Sentence and causes of each change, by activity."""
    names = {key: ref(key) for key in before}
    return {
        f"{change.about.kind}:{change.about.id}": change
        for change in changes(
            question, placed, Before(before, names=names, **fields), list(found), now=now, say=str
        )
    }


LONGER = Edit(Ref("task", 1, "T1"), "T1 has more left.", ("task:1",))


@pytest.mark.parametrize(
    ("fields", "activity", "place", "things", "activities"),
    [
        ({}, task(3, releases=(Release(50, "supply", "", (Ref("supply", 4, "Oil"),)),)), (44, 48),
         {"supply:4"}, set()),
        ({}, task(3), (98, 102), {"calendar:crew", "person:1"}, set()),
        ({"links": (Link("task:1", "task:3", min_lag=8, by=(Ref("task", 1, "T1"),)),)},
         task(3), (10, 14), {"tie:task:1>task:3", "task:1"}, {"task:1"}),
        ({"links": (Link("task:3", "task:1", max_lag=2),)}, task(3), (250, 254),
         {"tie:task:3>task:1"}, {"task:1"}),
        ({"links": (Link("task:1", "task:3", min_lag=98, clock="working"),),
          "working_calendar": "crew"}, task(3, uses=()), (200, 204),
         {"tie:task:1>task:3"}, {"task:1"}),
        ({"links": (Link("task:9", "task:3"),)}, task(3), (50, 54),
         {"tie:task:9>task:3"}, {"task:9"}),
        ({"open_spans": (OpenSpan("task:1", None, ("task:3",), by=(Ref("floor", 2, "F"),)),)},
         task(3), (50, 54), {"floor:2"}, {"task:1"}),
        ({}, task(3), (2, 6), set(), {"task:1"}),
        ({"resources": (Resource("crew", "Mar", "crew", 3),)}, task(3, demand=(2,)), (2, 6),
         set(), set()),
        ({"resources": (Resource("crew", "Mar", "crew", 2),)}, task(3, demand=(2,)), (2, 6),
         set(), {"task:1"}),
        ({}, task(3), (50, 54), set(), set()),
    ],
)  # fmt: skip
def test_each_rule_in_the_way_is_found_with_what_it_comes_from(
    fields, activity, place, things, activities
):
    question = problem(task(1), activity, **fields)

    found = blockers(question, {"task:1": [(0, 4)]}, activity, place)

    assert {name for one in found for name in one.things} == things
    assert {name for one in found for name in one.activities} == activities


def test_what_nothing_was_changed_for_makes_room_and_says_no_more():
    question = problem(task(1), task(2))

    found = told(
        question, {"task:1": [(4, 8)], "task:2": [(0, 4)]},
        {"task:1": [(0, 4)], "task:2": [(4, 8)]},
    )  # fmt: skip

    assert found["task:1"].because.sentence == "It moves to make room for T2."
    assert found["task:1"].because.by == (ref("task:2"),)


def test_what_could_have_stayed_is_not_given_a_cause():
    found = told(problem(task(1)), {"task:1": [(8, 12)]}, {"task:1": [(0, 4)]})

    assert found["task:1"].because.sentence == (
        "Nothing that was changed asks for it. The work was put in another order."
    )
    assert found["task:1"].because.by == ()


def test_the_only_thing_that_was_changed_is_named_where_the_trail_ends():
    question = problem(task(1, effort=8), task(2))

    found = told(
        question, {"task:1": [(0, 8)], "task:2": [(80, 84)]},
        {"task:1": [(0, 4)], "task:2": [(50, 54)]}, [LONGER],
    )  # fmt: skip

    assert found["task:2"].because.sentence == (
        "T1 has more left. That alone was changed. The work was put in another order."
    )
    assert found["task:2"].because.by == (LONGER.ref,)


def test_a_long_trail_names_its_cause_and_its_last_step():
    question = problem(task(1, effort=8), *(task(n) for n in (2, 3, 4, 5)))
    before = {f"task:{n}": [(4 * n - 4, 4 * n)] for n in (1, 2, 3, 4, 5)}
    placed = {"task:1": [(0, 8)]} | {f"task:{n}": [(4 * n, 4 * n + 4)] for n in (2, 3, 4, 5)}

    found = told(question, placed, before, [LONGER])

    assert found["task:3"].because.sentence == "T1 has more left. It comes by way of T2."
    assert found["task:5"].because.sentence == (
        "T1 has more left. It comes by way of 3 others, T4 the last."
    )
    assert [one.name for one in found["task:5"].because.by] == ["T1", "T2", "T3", "T4"]


def test_what_held_it_before_is_asked_when_it_comes_forward():
    question = problem(task(2))
    dropped = Edit(Ref("task", 1, "T1"), "T1 was dropped.", ("task:1",))

    found = told(
        question, {"task:2": [(0, 4)]}, {"task:1": [(0, 4)], "task:2": [(4, 8)]}, [dropped],
        held_by={"task:2": (Ref("task", 1, "T1"),)},
    )  # fmt: skip

    assert found["task:2"].because.sentence == "T1 was dropped."
    assert found["task:1"].sentence == "T1 was planned 0 and is not to be done any more."


@pytest.mark.parametrize(
    ("was", "now", "sentence"),
    [
        ([(0, 4)], [(8, 12)], "T1 moves from 0 to 8."),
        ([(0, 4)], [(0, 6)], "T1 now ends 6, not 4."),
        ([(0, 2), (4, 6), (8, 9)], [(0, 2), (5, 7), (8, 9)],
         "T1 is spread otherwise between 0 and 9."),
        ([(0, 4)], None, "T1 was planned 0 and has no place now."),
        (None, [(8, 12)], "T1 is new: 8."),
        ([(-8, 2)], [(1, 3)], "T1 now ends 3, not 2."),
        ([(-8, -4)], [(1, 5)], "T1 moves from -8 to 1."),
        ([(-8, -4)], None, "T1 was planned -8 and has no place now."),
        ([(-8, 2)], [(1, 2)], None),
        ([(8, 12)], [(8, 12)], None),
        (None, None, None),
    ],
)  # fmt: skip
def test_what_a_change_is_called(was, now, sentence):
    before = {} if was is None else {"task:1": was}
    placed = {} if now is None else {"task:1": now}

    found = told(problem(task(1)), placed, before, now=1)

    assert [change.sentence for change in found.values()] == ([sentence] if sentence else [])


def test_what_had_no_place_before_is_not_called_new():
    found = told(problem(task(1)), {"task:1": [(8, 12)]}, {}, held_by={"task:1": ()})

    assert found["task:1"].sentence == "T1 has a place now: 8."


def test_the_share_that_moved_counts_what_can_move_and_is_still_ahead():
    fixed = task(3, fixed=(40, 44))
    before = Before({
        "task:1": [(-8, -4), (0, 4)], "task:2": [(4, 8), (8, 12)], "task:3": [(20, 24)],
        "task:4": [(60, 64)],
    })  # fmt: skip
    placed = {"task:1": [(0, 4)], "task:2": [(4, 8), (12, 16)], "task:3": [(40, 44)]}

    found = moved(problem(task(1), task(2), fixed), placed, before, now=0)

    assert found == Moved(3, 1)
    assert found.share == pytest.approx(1 / 3)
    assert found.sentence == "1 of the 3 stints that were still ahead moved."
    assert Moved(0, 0).sentence == "No stint of the plan before was still ahead."


TASK = {
    "name": "Sand", "status": "to_do", "minutes": 120, "around": 0, "people": 1,
    "splittable": True, "shortest": 30, "loud": False, "outdoors": False, "tools": [],
    "trade": None, "earliest": None, "due": None, "weight": 1, "place": ["none"],
}  # fmt: skip
VISIT = {"name": "Plumber", "state": "agreed", "starts": "2026-01-06T09:00:00+00:00",
         "ends": "2026-01-06T11:00:00+00:00", "window": [None, None], "minutes": 120,
         "on": ["visit:1"]}  # fmt: skip
PERSON = {"name": "Mar", "role": "crew", "week": [], "days": {"2026-01-06": []}}


def sentences(key, was, now, **past):
    before, after = ({} if one is None else {key: one} for one in (was, now))
    found = edits(
        before, after, past=past.get("past", {}), today=date(2026, 1, 5),
        say=lambda at: f"{at:%H:%M}",
    )  # fmt: skip
    return [edit.sentence for edit in found]


@pytest.mark.parametrize(
    ("key", "was", "now", "sentence"),
    [
        ("task:1", None, TASK, "Sand was added."),
        ("task:1", TASK, None, "Sand was taken out of the record."),
        ("task:1", None, {**TASK, "status": "done"}, None),
        ("task:1", TASK, {"name": "Sand", "status": "done"}, "Sand is done."),
        ("task:1", {"name": "Sand", "status": "done"}, {**TASK, "status": "doing"},
         "Sand was started."),
        ("task:1", TASK, {**TASK, "minutes": 45}, "Sand has 45 min left, not 2 h."),
        ("task:1", TASK, {**TASK, "earliest": "2026-01-07T18:00:00+00:00"},
         "Sand may not start before 18:00."),
        ("task:1", TASK, {**TASK, "due": "2026-01-07T18:00:00+00:00", "loud": True},
         "Sand is loud work now. Sand is due 18:00."),
        ("task:1", TASK, {**TASK, "splittable": False}, "Sand is to be done in one go."),
        ("visit:1", VISIT, {**VISIT, "state": "missed"}, "Plumber was missed."),
        ("visit:1", {**VISIT, "state": "asked", "starts": None}, VISIT,
         "Plumber is agreed for 09:00."),
        ("visit:1", VISIT, {**VISIT, "ends": "2026-01-06T12:00:00+00:00"},
         "Plumber now ends 12:00."),
        ("visit:1", VISIT, {**VISIT, "minutes": 60}, "Plumber was changed."),
        ("visit:1", None, VISIT, "Plumber was added."),
        ("supply:1", {"name": "Oil", "expected": None, "at": "12:00", "on": []}, None,
         "Oil has arrived."),
        ("supply:1", {"name": "Oil", "expected": "2026-01-06", "at": "12:00", "on": []},
         {"name": "Oil", "expected": None, "at": "12:00", "on": []},
         "Oil has no delivery date any more."),
        ("piece:1", {"name": "T7", "dry": "2026-01-06", "on": []},
         {"name": "T7", "dry": "2026-01-08", "on": []},
         "T7 is likely to be dry Thu 8 Jan, not Tue 6 Jan."),
        ("piece:1", None, {"name": "T7", "dry": None, "on": []},
         "T7 is too wet, and nobody can say when it will be dry."),
        ("condition:1", {"name": "Treat", "due": None, "on": []}, None,
         "The condition “Treat” was cleared."),
        ("link:1", {"name": "A → B", "on": ["task:1"]}, None, "The link A → B was taken out."),
        ("accessneed:1", {"name": "Waste", "on": []}, None,
         "The access need “Waste” is released."),
        ("person:1", PERSON, {**PERSON, "days": {"2026-01-06": [["18:00", "19:00"]]}},
         "Mar works 18:00–19:00 on Tue 6 Jan."),
        ("person:1", PERSON, {**PERSON, "days": {}},
         "Mar works the usual hours on Tue 6 Jan again."),
        ("person:1", PERSON, {**PERSON, "days": {**PERSON["days"], "2026-01-04": []}}, None),
        ("trade:1", {"name": "P", "days": []}, {"name": "P", "days": [1]},
         "What is said of P was changed."),
        ("property:1", {"name": "H", "loud": [], "outdoor": [], "holidays": True},
         {"name": "H", "loud": [1], "outdoor": [], "holidays": True},
         "The hours for loud work changed."),
        ("floor:1", {"name": "Parlour", "open": []}, {"name": "Parlour", "open": [3]},
         "Boards of Parlour were lifted or fixed."),
        ("tool:1", {"name": "Jack", "quantity": 1}, {"name": "Jack", "quantity": 1}, None),
    ],
)  # fmt: skip
def test_each_kind_of_change_has_its_sentence(key, was, now, sentence):
    assert sentences(key, was, now) == ([sentence] if sentence else [])


@pytest.mark.parametrize(
    ("left", "sentence"),
    [
        (60, None),
        (120, "Sand was planned for 18:00 and has 2 h left to do."),
        (90, "Sand has 1 h 30 min left; 1 h were to be left by now."),
        (15, "Sand has 15 min left; 1 h were to be left by now."),
    ],
)
def test_what_is_left_is_held_against_what_should_be_left_by_now(left, sentence):
    past = {"task:1": PlannedPast(60, datetime(2026, 1, 5, 18, tzinfo=UTC))}

    found = sentences("task:1", TASK, {**TASK, "minutes": left}, past=past)

    assert found == ([sentence] if sentence else [])
