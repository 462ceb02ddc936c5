"""From rows to a plan: what a person records becomes where the work is put."""

from __future__ import annotations

from datetime import date, time

from apps.planning.models import Plan
from apps.planning.services import requeue_left_plans, solve
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan, times

AREA = rectangle(1000, 300)


def codes(made):
    return [alert["code"] for alert in made.alerts]


def reason(made, task):
    return next(s.why_not_sooner for s in made.stints.all() if s.task_id == task.pk)


def test_a_task_goes_into_the_first_evening(house):
    crew(house)
    task = factories.TaskFactory(package=package(house), likely_minutes=120)

    made = plan(house)

    assert made.state == Plan.State.READY
    assert times(made, task) == [(5, 18, 120)]


def test_time_already_spent_is_not_planned_again(house):
    from apps.work.models import TimeEntry

    crew(house)
    task = factories.TaskFactory(package=package(house), likely_minutes=120, status="doing")
    TimeEntry.objects.create(task=task, starts=MONDAY, minutes=75, noted_by=house.owner)

    assert times(plan(house), task) == [(5, 18, 45)]


def test_loud_work_keeps_to_the_loud_hours(house):
    house.loud_work_hours = [{"weekdays": [0, 1, 2, 3, 4], "from": "08:00", "to": "19:00"}]
    house.save()
    crew(house)
    task = factories.TaskFactory(package=package(house), likely_minutes=120, loud=True)

    assert times(plan(house), task) == [(5, 18, 60), (6, 18, 60)]


def test_two_person_work_waits_for_the_helper(house):
    crew(house, weekdays=range(7))
    helper = factories.PersonFactory(property=house, name="Sam", role="helper")
    factories.WorkingTimeFactory(person=helper, weekday=6, starts=time(18), ends=time(20))
    task = factories.TaskFactory(package=package(house), people=2)

    made = plan(house)

    assert times(made, task) == [(11, 18, 120)]
    assert reason(made, task)["code"] == "helper_away"


def test_a_day_off_is_a_day_off(house):
    person = crew(house)
    person.exceptions.create(date=date(2026, 1, 5))
    task = factories.TaskFactory(package=package(house))

    assert times(plan(house), task) == [(6, 18, 120)]


def test_bank_holidays_count_only_if_the_house_says_so(house):
    house.work_on_bank_holidays = False
    house.save()
    crew(house, weekdays=[3, 4])
    task = factories.TaskFactory(package=package(house))

    # Thursday 1 January 2026 is New Year's Day.
    made = plan(house, as_of=MONDAY.replace(year=2025, month=12, day=29))

    assert times(made, task) == [(2, 18, 120)]


def test_drying_is_waited_out_on_the_wall_clock(house):
    crew(house)
    work = package(house)
    coat, next_ = factories.TaskFactory(package=work), factories.TaskFactory(package=work)
    factories.LinkFactory(before=coat, after=next_, min_lag_minutes=24 * 60)

    made = plan(house)

    assert times(made, next_) == [(7, 18, 120)]
    assert reason(made, next_)["code"] == "drying"


def test_drying_that_began_with_a_task_already_done_is_still_waited_out(house):
    crew(house)
    work = package(house)
    coat = factories.TaskFactory(package=work, status="done", finished_at=at(-1, 20))
    next_ = factories.TaskFactory(package=work)
    factories.LinkFactory(before=coat, after=next_, min_lag_minutes=48 * 60)

    made = plan(house)

    assert times(made, next_) == [(7, 18, 120)]


def test_a_supply_holds_its_tasks_until_it_comes(house):
    crew(house)
    task = factories.TaskFactory(package=package(house), due=at(1, 20))
    supply = factories.SupplyFactory(property=house, expected_on=date(2026, 1, 7))
    supply.tasks.add(task)

    made = plan(house)

    assert times(made, task) == [(7, 18, 120)]
    assert reason(made, task)["code"] == "supply"
    assert {"supply_late", "due_missed"} <= set(codes(made))


def test_an_overdue_supply_is_said_to_be_late(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    supply = factories.SupplyFactory(property=house, expected_on=date(2026, 1, 2))
    supply.tasks.add(task)

    made = plan(house)

    assert times(made, task) == [(6, 18, 120)]
    assert "supply_late" in codes(made)


def test_boards_come_up_before_the_agreed_visit_and_are_fixed_after_it(house):
    crew(house)
    floor = floor_with_boards(house)
    work = package(house)
    lift = factories.TaskFactory(package=work, floor=floor, floor_action="lift", area=AREA)
    fix = factories.TaskFactory(package=work, floor=floor, floor_action="fix", area=AREA)
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(2, 9), ends=at(2, 11))
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)

    made = plan(house)

    assert times(made, lift) == [(5, 18, 120)]
    assert times(made, fix) == [(7, 18, 120)]
    assert reason(made, fix)["code"] == "boards_held"


def test_a_visit_that_cannot_be_prepared_says_how_long_it_is_short(house):
    crew(house)
    floor = floor_with_boards(house)
    factories.TaskFactory(
        package=package(house), floor=floor, floor_action="lift", area=AREA,
        low_minutes=100, likely_minutes=180, high_minutes=200,
    )  # fmt: skip
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(1, 9), ends=at(1, 11))
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)

    made = plan(house)

    (alert,) = [a for a in made.alerts if a["code"] == "visit_unready"]
    # Three hours' work, two on Monday; it ends on Tuesday at 19:00, ten hours too late.
    assert alert["figures"] == {"short_minutes": 600, "short_working_minutes": 60}
    assert str(visit) in alert["sentence"]


def test_a_wanted_visit_is_placed_on_the_trades_days_after_its_notice(house):
    crew(house)
    trade = factories.TradeFactory(property=house, days=[2], notice_days=3)
    visit = factories.VisitFactory(property=house, trade=trade, minutes=120)

    made = plan(house)

    # Wednesday the 7th is within the notice of three days; the 14th is the next.
    (stint,) = [s for s in made.stints.all() if s.visit_id == visit.pk]
    assert (stint.starts.day, stint.starts.hour) == (14, 8)


def test_a_trades_task_is_done_when_its_visit_is(house):
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

    made = plan(house)

    assert times(made, pipe) == []
    assert times(made, after) == [(7, 18, 120)]
    assert reason(made, after)["code"] == "visit"


def test_nothing_is_covered_before_it_is_seen_and_notice_is_asked_for(house):
    crew(house)
    floor = floor_with_boards(house)
    work = package(house)
    fix = factories.TaskFactory(package=work, floor=floor, floor_action="fix", area=AREA)
    look = factories.InspectionFactory(
        property=house, floor=floor, area=AREA, notice_working_days=1
    )

    made = plan(house)

    # Notice on Monday, Tuesday is the whole working day, the look on Wednesday morning.
    (stint,) = [s for s in made.stints.all() if s.inspection_id == look.pk]
    assert (stint.starts.day, stint.starts.hour) == (7, 9)
    assert times(made, fix) == [(7, 18, 120)]
    assert reason(made, fix)["code"] == "sign_off"
    (alert,) = [a for a in made.alerts if a["code"] == "notice_due"]
    assert alert["figures"] == {"give_by": "2026-01-05", "look_on": "2026-01-07"}


def test_a_look_that_has_passed_without_a_sign_off_keeps_its_tasks_waiting(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    look = factories.InspectionFactory(
        property=house, state="booked", booked_starts=at(-2, 9), booked_ends=at(-2, 10)
    )
    look.blocks.add(task)

    made = plan(house)

    assert times(made, task) == []
    assert made.unplaced[0]["code"] == "sign_off"
    assert "hold_point_open" in codes(made)


def test_a_passed_visit_nobody_recorded_still_holds_its_boards(house):
    crew(house)
    floor = floor_with_boards(house)
    fix = factories.TaskFactory(package=package(house), floor=floor, floor_action="fix", area=AREA)
    visit = factories.VisitFactory(
        property=house, state="agreed", starts=at(-2, 9), ends=at(-2, 11)
    )
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)

    made = plan(house)

    assert times(made, fix) == []
    assert made.unplaced[0]["code"] == "boards_held"


def test_a_need_that_nobody_opens_for_is_an_alert(house):
    crew(house)
    floor = floor_with_boards(house)
    factories.AccessNeedFactory(property=house, floor=floor, area=AREA)

    assert "nobody_opens" in codes(plan(house))


def test_a_fix_due_before_the_need_is_over_is_an_alert(house):
    crew(house)
    floor = floor_with_boards(house)
    work = package(house)
    factories.TaskFactory(package=work, floor=floor, floor_action="fix", area=AREA, due=at(1, 20))
    visit = factories.VisitFactory(property=house, state="agreed", starts=at(2, 9), ends=at(2, 11))
    factories.AccessNeedFactory(property=house, floor=floor, visit=visit, area=AREA)

    assert "fix_before_access" in codes(plan(house))


def test_a_circle_of_links_is_named_and_the_rest_is_planned(house):
    crew(house)
    work = package(house)
    one, two = (factories.TaskFactory(package=work, title=t) for t in ("Paint", "Skirting"))
    other = factories.TaskFactory(package=work)
    factories.LinkFactory(before=one, after=two)
    factories.LinkFactory(before=two, after=one)

    made = plan(house)

    (alert,) = [a for a in made.alerts if a["code"] == "link_circle"]
    assert "Paint" in alert["sentence"]
    assert "Skirting" in alert["sentence"]
    assert times(made, other) == [(5, 18, 120)]


def test_without_any_working_time_the_plan_says_so(house):
    task = factories.TaskFactory(package=package(house))

    made = plan(house)

    assert made.state == Plan.State.READY
    assert made.unplaced[0]["about"]["id"] == task.pk
    assert made.unplaced[0]["code"] == "no_working_time"


def test_a_new_plan_becomes_the_current_one_and_tells_what_moved(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    first = plan(house)
    task.earliest_start = at(1, 12)
    task.save()

    second = plan(house)

    first.refresh_from_db()
    assert (first.is_current, second.is_current) == (False, True)
    assert [change["about"]["id"] for change in second.changes] == [task.pk]
    assert "Mon 5 Jan, 18:00" in second.changes[0]["sentence"]


def test_a_supposition_never_becomes_current(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    first = plan(house)

    supposed = plan(house, what_if={"drop_tasks": [task.pk]})

    first.refresh_from_db()
    assert (first.is_current, supposed.is_current) == (True, False)
    assert list(supposed.stints.all()) == []
    task.refresh_from_db()
    assert task.status == "to_do"


def test_a_plan_is_solved_once_even_when_two_workers_take_it(house):
    crew(house)
    factories.TaskFactory(package=package(house))
    made = plan(house)
    solved_at = made.solved_at

    solve(plan_id=made.pk)

    made.refresh_from_db()
    assert made.solved_at == solved_at
    assert made.stints.count() == 1


def test_a_failed_plan_leaves_the_last_good_one_standing(house, caplog):
    crew(house)
    factories.TaskFactory(package=package(house))
    good = plan(house)
    # A zone that was valid when it was recorded and is not known to this machine.
    type(house).objects.filter(pk=house.pk).update(timezone="Atlantis/Harbour")

    failed = plan(house)

    good.refresh_from_db()
    assert failed.state == Plan.State.FAILED
    assert failed.failure
    assert good.is_current


def test_what_a_crash_left_queued_is_picked_up_again(house, django_capture_on_commit_callbacks):
    from datetime import timedelta

    crew(house)
    left = Plan.objects.create(property=house, as_of=MONDAY, state="solving")
    yesterday = MONDAY - timedelta(days=1)
    Plan.objects.filter(pk=left.pk).update(requested_at=yesterday, claimed_at=yesterday)

    requeue_left_plans()

    left.refresh_from_db()
    assert left.state == Plan.State.READY


def condition_on(house, task, **fields):
    """An accepted look whose one condition keeps a task from starting."""
    look = factories.InspectionFactory(property=house, state="accepted_with_conditions")
    signed = factories.SignOffFactory(inspection=look, result="accepted_with_conditions")
    made = signed.conditions.create(text="Second coat on the cut ends", **fields)
    made.blocks.add(task)


def test_an_open_condition_holds_its_task_until_the_day_after_it_is_due(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    condition_on(house, task, due_on=date(2026, 1, 7))

    made = plan(house)

    assert times(made, task) == [(8, 18, 120)]
    assert reason(made, task)["code"] == "sign_off"


def test_an_overdue_condition_gives_its_task_no_place(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    condition_on(house, task, due_on=date(2026, 1, 2))

    made = plan(house)

    assert times(made, task) == []
    assert made.unplaced[0]["code"] == "sign_off"


def test_missing_evidence_is_told_before_it_is_covered(house):
    crew(house)
    task = factories.TaskFactory(package=package(house))
    look = factories.InspectionFactory(
        property=house, required_evidence=[{"key": "joist_ends", "title": "Photo of joist ends"}]
    )
    look.blocks.add(task)

    (alert,) = [a for a in plan(house).alerts if a["code"] == "evidence_missing"]

    assert "Photo of joist ends" in alert["sentence"]
    assert alert["figures"] == {"tasks": 1}
