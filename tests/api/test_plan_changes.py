"""What moved since the plan before, and because of what: one story for each kind of change."""

from __future__ import annotations

from datetime import date, time

import pytest

from apps.planning.models import Plan
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan

AREA = rectangle(1000, 300)


@pytest.fixture
def two(house):
    """A crew with two hours each weekday evening, and two tasks that fill two of them."""
    house.mar = crew(house)
    work = package(house)
    house.first = factories.TaskFactory(package=work, title="Sand the floor")
    house.second = factories.TaskFactory(package=work, title="Oil the floor")
    factories.LinkFactory(before=house.first, after=house.second)
    plan(house)
    return house


def change_of(made, row):
    """The one change that is about a row."""
    kind = row._meta.model_name
    (found,) = [c for c in made.changes if c["about"] == {"kind": kind, "id": row.pk,
                                                          "name": str(row)}]  # fmt: skip
    return found


def causes(change):
    return [(ref["kind"], ref["id"]) for ref in change["because"]["by"]]


def change_task(task, **fields):
    type(task).objects.filter(pk=task.pk).update(**fields)


def test_nothing_changed_and_nothing_moved(two):
    again = plan(two)

    assert again.changes == []
    assert again.moved == {
        "stints": 2, "moved": 0, "share": 0.0,
        "sentence": "0 of the 2 stints that were still ahead moved.",
    }  # fmt: skip


def test_a_longer_task_says_so_and_is_the_cause_of_what_it_pushes(two):
    change_task(two.first, likely_minutes=240, high_minutes=300)

    made = plan(two)

    longer, pushed = change_of(made, two.first), change_of(made, two.second)
    assert longer["sentence"] == "Sand the floor now ends Tue 6 Jan, 20:00, not Mon 5 Jan, 20:00."
    assert (longer["was"], longer["now"]) == (at(0, 18).isoformat(), at(0, 18).isoformat())
    assert (longer["was_until"], longer["now_until"]) == (
        at(0, 20).isoformat(), at(1, 20).isoformat(),
    )  # fmt: skip
    assert pushed["sentence"] == ("Oil the floor moves from Tue 6 Jan, 18:00 to Wed 7 Jan, 18:00.")
    assert pushed["because"]["sentence"] == "Sand the floor has 4 h left, not 2 h."
    assert causes(pushed) == [("task", two.first.pk)]
    assert made.moved["share"] == 0.5


def test_a_task_that_was_not_done_when_planned_moves_the_rest(two):
    made = plan(two, as_of=at(1, 8))

    late, pushed = change_of(made, two.first), change_of(made, two.second)
    assert late["sentence"] == "Sand the floor moves from Mon 5 Jan, 18:00 to Tue 6 Jan, 18:00."
    assert late["because"]["sentence"] == (
        "Sand the floor was planned for Mon 5 Jan, 18:00 and has 2 h left to do."
    )
    assert causes(pushed) == [("task", two.first.pk)]


def test_a_task_done_early_draws_the_next_one_forward(two):
    change_task(two.first, status="done", started_at=MONDAY, finished_at=MONDAY)

    made = plan(two)

    gone, drawn = change_of(made, two.first), change_of(made, two.second)
    assert gone["now"] is None
    assert gone["sentence"] == (
        "Sand the floor was planned Mon 5 Jan, 18:00 and is not to be done any more."
    )
    assert drawn["now"] == at(0, 18).isoformat()
    assert drawn["because"] == {
        "sentence": "Sand the floor is done.",
        "by": [{"kind": "task", "id": two.first.pk, "name": "Sand the floor"}],
    }


def test_a_dropped_task_draws_the_next_one_forward(two):
    change_task(two.first, status="dropped")

    drawn = change_of(plan(two), two.second)

    assert drawn["because"]["sentence"] == "Sand the floor was dropped."


def test_an_added_task_that_comes_first_is_the_cause(two):
    added = factories.TaskFactory(package=two.first.package, title="Punch the nails")
    factories.LinkFactory(before=added, after=two.first)

    made = plan(two)

    assert change_of(made, added)["sentence"] == "Punch the nails is new: Mon 5 Jan, 18:00."
    moved = change_of(made, two.first)
    assert moved["because"]["sentence"] == "The link Punch the nails → Sand the floor was added."
    assert ("task", added.pk) in causes(change_of(made, added))


def test_a_day_off_is_named_with_its_person_and_day(two):
    two.mar.exceptions.create(date=date(2026, 1, 6))

    moved = change_of(plan(two), two.second)

    assert moved["because"] == {
        "sentence": "Mar has Tue 6 Jan off.",
        "by": [{"kind": "person", "id": two.mar.pk, "name": "Mar"}],
    }


def test_a_cause_two_steps_away_is_told_with_the_way_it_takes(two):
    third = factories.TaskFactory(package=two.first.package, title="Skirting")
    factories.LinkFactory(before=two.second, after=third)
    plan(two)
    change_task(two.first, likely_minutes=240, high_minutes=300)

    moved = change_of(plan(two), third)

    assert moved["because"]["sentence"] == (
        "Sand the floor has 4 h left, not 2 h. It comes by way of Oil the floor."
    )
    assert causes(moved) == [("task", two.first.pk), ("task", two.second.pk)]


def test_a_supply_that_comes_later_is_the_cause(two):
    supply = factories.SupplyFactory(property=two, title="Oil", expected_on=date(2026, 1, 6))
    supply.tasks.add(two.second)
    plan(two)
    supply.expected_on = date(2026, 1, 8)
    supply.save()

    moved = change_of(plan(two), two.second)

    assert moved["now"] == at(3, 18).isoformat()
    assert moved["because"]["sentence"] == "Oil is expected Thu 8 Jan, not Tue 6 Jan."
    assert causes(moved) == [("supply", supply.pk)]


def test_a_visit_that_was_moved_is_the_cause_of_what_waits_for_it(house):
    crew(house)
    work = package(house)
    trade = factories.TradeFactory(property=house, name="P. Plumber")
    pipe = factories.TaskFactory(package=work, trade=trade)
    after = factories.TaskFactory(package=work)
    factories.LinkFactory(before=pipe, after=after)
    visit = factories.VisitFactory(
        property=house, trade=trade, state="agreed", starts=at(1, 9), ends=at(1, 11)
    )
    visit.tasks.add(pipe)
    plan(house)
    visit.starts, visit.ends = at(2, 9), at(2, 11)
    visit.save()

    made = plan(house)

    assert causes(change_of(made, visit)) == [("visit", visit.pk)]
    waits = change_of(made, after)
    assert waits["because"]["sentence"] == (
        f"{visit} was moved from Tue 6 Jan, 09:00 to Wed 7 Jan, 09:00."
    )
    assert causes(waits) == [("visit", visit.pk)]


def test_a_sign_off_that_was_refused_is_the_cause_of_what_waits_for_it(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    look = factories.InspectionFactory(property=house, title="Joist ends", state="accepted")
    look.blocks.add(task)
    plan(house)
    type(look).objects.filter(pk=look.pk).update(state="rejected")

    moved = change_of(plan(house), task)

    assert moved["because"]["sentence"] == "Joist ends was not accepted."
    assert causes(moved) == [("inspection", look.pk)]


def test_a_piece_that_is_still_wet_is_the_cause(house, monkeypatch):
    from apps.planning.loading import house as loading
    from apps.timber.wet import WetTimber

    crew(house)
    task = factories.TaskFactory(package=package(house))
    need = factories.NeedFactory(property=house)
    piece = factories.PieceFactory(property=house, mark="T7")
    plan(house)
    wet = WetTimber(task.pk, need, piece, date(2026, 1, 8), "T7 is likely dry on Thu 8 Jan.")
    monkeypatch.setattr(loading, "wet_timber", lambda house, *, today: [wet])

    moved = change_of(plan(house), task)

    assert moved["now"] == at(3, 18).isoformat()
    assert moved["because"]["sentence"] == f"{piece} is likely to be dry Thu 8 Jan."
    assert causes(moved) == [("piece", piece.pk)]


def test_boards_that_must_stay_up_longer_are_the_cause(house):
    crew(house)
    floor = floor_with_boards(house)
    fix = factories.TaskFactory(package=package(house), floor=floor, floor_action="fix", area=AREA)
    plan(house)
    need = factories.AccessNeedFactory(
        property=house, floor=floor, area=AREA, visit=None, trade=factories.TradeFactory(
            property=house), until="date", until_date=date(2026, 1, 7),
    )  # fmt: skip

    moved = change_of(plan(house), fix)

    assert moved["because"]["sentence"] == f"The access need “{need}” was added."
    assert causes(moved) == [("accessneed", need.pk)]


def test_more_hours_draw_the_work_forward(two):
    factories.WorkingTimeFactory(person=two.mar, weekday=1, starts=time(9), ends=time(11))

    moved = change_of(plan(two), two.second)

    assert moved["now"] == at(1, 9).isoformat()
    assert moved["because"]["sentence"] == "Mar's usual week was changed."


def test_what_has_no_place_any_more_is_told_with_its_cause(two):
    change_task(two.second, people=2)

    gone = change_of(plan(two), two.second)

    assert gone["now"] is None
    assert gone["sentence"] == "Oil the floor was planned Tue 6 Jan, 18:00 and has no place now."
    assert gone["because"]["sentence"] == "Oil the floor takes 2 people now."


def test_a_plan_before_that_kept_no_note_is_not_guessed_about(two):
    Plan.objects.update(inputs={})
    two.mar.exceptions.create(date=date(2026, 1, 6))

    moved = change_of(plan(two), two.second)

    assert moved["because"] == {
        "sentence": "The plan before kept no note of what it was made from.", "by": [],
    }  # fmt: skip


def test_what_goes_as_planned_is_no_change(two):
    from apps.work.models import TimeEntry

    TimeEntry.objects.create(task=two.first, starts=at(0, 18), minutes=120, noted_by=two.owner)
    change_task(two.first, status="done", started_at=at(0, 18), finished_at=at(0, 20))

    made = plan(two, as_of=at(1, 8))

    assert made.changes == []
    assert (made.moved["stints"], made.moved["moved"]) == (1, 0)
