"""Who must have which boards open before whom."""

from __future__ import annotations

from apps.planning.floor_order import FloorTask, OpenNeed, order_floor, say_marks
from apps.planning.problem import OpenSpan, Ref

MARKS = {1: "B1.1", 2: "B2.1", 3: "B3.1", 4: "B10.1", 5: "B10.2", 6: "B11.1"}
NEVER = 9999


def task(key, action, *boards):
    return FloorTask(key, Ref("task", int(key[-1]), f"Task {key[-1]}"), action, frozenset(boards))


def need(key, *boards, until=None):
    return OpenNeed(
        Ref("accessneed", 7, "Run the waste"), frozenset(boards), key, "the plumber",
        "Run the waste", until,
    )  # fmt: skip


def order(tasks, needs=(), *, open_now=(), before=None):
    return order_floor(
        tasks, needs, marks=MARKS, open_now=frozenset(open_now), before=before or {}, never=NEVER
    )


def pairs(found):
    return {(link.before, link.after) for link in found.links}


def test_boards_come_up_before_the_visit_and_go_down_after_it():
    found = order([task("task:1", "lift", 1, 2), task("task:2", "fix", 1, 2)], [need("visit:1", 2)])

    assert pairs(found) == {("task:1", "visit:1"), ("visit:1", "task:2"), ("task:1", "task:2")}
    assert all(link.code == "boards_held" for link in found.links)


def test_a_task_on_other_boards_waits_for_nobody():
    found = order([task("task:1", "lift", 1), task("task:2", "fix", 3)], [need("visit:1", 2)])

    assert not found.links


def test_work_in_the_open_floor_needs_its_boards_like_an_outsider():
    found = order(
        [task("task:1", "lift", 1), task("task:2", "work_open", 1), task("task:3", "fix", 1)]
    )

    assert {("task:1", "task:2"), ("task:2", "task:3")} <= pairs(found)


def test_the_persons_own_order_is_never_turned_into_a_circle():
    found = order([task("task:2", "fix", 1)], [need("visit:1", 1)], before={"task:2": ["visit:1"]})

    assert not found.links


def test_derived_links_do_not_close_a_circle_through_other_tasks():
    tasks = [task("task:1", "lift", 1), task("task:2", "fix", 1)]

    found = order(tasks, [need("visit:1", 1)], before={"task:2": ["task:9"], "task:9": ["task:1"]})

    assert ("task:1", "visit:1") in pairs(found)
    assert ("visit:1", "task:2") not in pairs(found)
    assert ("task:1", "task:2") not in pairs(found)


def test_a_need_with_no_end_in_sight_keeps_its_boards_from_being_fixed():
    found = order([task("task:2", "fix", 1)], [need(None, 1)])

    (release,) = found.releases["task:2"]
    assert release.at == NEVER
    assert release.sentence.endswith("held open: B1.1.")


def test_a_need_until_a_date_lets_go_on_that_date():
    found = order([task("task:2", "fix", 1)], [need(None, 1, until=200)])

    assert [release.at for release in found.releases["task:2"]] == [200]


def test_standing_on_boards_waits_while_they_are_up():
    tasks = [task("task:1", "lift", 1), task("task:2", "fix", 1), task("task:3", "stand_on", 1)]

    found = order(tasks)

    (span,) = found.open_spans
    assert (span.opens, span.closes, span.excludes) == ("task:1", "task:2", ("task:3",))


def test_standing_on_boards_that_are_up_already_waits_for_the_fixing():
    found = order([task("task:2", "fix", 1), task("task:3", "stand_on", 1)], open_now=[1])

    assert [(span.opens, span.closes) for span in found.open_spans] == [(None, "task:2")]
    assert isinstance(found.open_spans[0], OpenSpan)


def test_marks_are_said_in_counting_order_and_not_all_of_them():
    assert say_marks([4, 2], MARKS) == "B2.1 and B10.1"
    assert say_marks([3], MARKS) == "B3.1"
    assert say_marks(MARKS, MARKS) == "B1.1, B2.1, B3.1, B10.1 and 2 more"
