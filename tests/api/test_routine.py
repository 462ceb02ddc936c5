"""What happens by itself: plans after edits and at night, the morning brief, reminders."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.core import mail

from apps.planning.models import Brief, MeasureReminder, Plan, PlanningPreferences
from apps.planning.routine import brief, measures, replanning
from apps.property.outlines import rectangle
from tests import factories
from tests.api.houses import MONDAY, at, crew, floor_with_boards, package, plan

DELAY = timedelta(minutes=10)


def wants(house, **fields):
    return PlanningPreferences.objects.create(
        property=house, **{"replans_after_edits": True, **fields}
    )


def of_edits(house):
    return Plan.objects.filter(property=house, because="edits")


def nightly(house):
    return Plan.objects.filter(property=house, because="night").order_by("pk")


@pytest.fixture
def planned(house):
    """A house with a crew, a task and a current plan."""
    crew(house)
    house.task = factories.TaskFactory(package=package(house))
    plan(house)
    return house


def test_several_edits_within_the_pause_give_one_plan(planned):
    wants(planned)
    planned.task.change(likely_minutes=90)
    for minutes in (0, 4, 9):
        replanning.note_edit(house_id=planned.pk, now=MONDAY + timedelta(minutes=minutes))

    for minutes in (10, 18, 19, 20, 40):
        replanning.replan_edited(now=MONDAY + timedelta(minutes=minutes))

    made = of_edits(planned).get()
    assert made.as_of == MONDAY + timedelta(minutes=19)
    assert made.horizon_days == 14


def test_a_house_that_does_not_ask_for_it_is_left_alone(planned):
    wants(planned, replans_after_edits=False)
    planned.task.change(likely_minutes=90)
    replanning.note_edit(house_id=planned.pk, now=MONDAY)

    replanning.replan_edited(now=MONDAY + DELAY)

    assert not of_edits(planned).exists()


def test_an_edit_that_no_plan_depends_on_makes_none(planned):
    wants(planned)
    replanning.note_edit(house_id=planned.pk, now=MONDAY)

    replanning.replan_edited(now=MONDAY + DELAY)

    assert not of_edits(planned).exists()
    assert PlanningPreferences.objects.get().replan_at is None


def test_an_edit_made_while_a_plan_is_solved_is_planned_after_it(planned):
    wants(planned)
    planned.task.change(likely_minutes=90)
    replanning.note_edit(house_id=planned.pk, now=MONDAY)
    solving = Plan.objects.create(property=planned, as_of=MONDAY, state="solving")

    replanning.replan_edited(now=MONDAY + DELAY)
    assert not of_edits(planned).exists()
    Plan.objects.filter(pk=solving.pk).update(state="failed")
    replanning.replan_edited(now=MONDAY + 2 * DELAY)

    assert of_edits(planned).count() == 1


def test_a_plan_that_waits_already_knows_of_the_edit(planned):
    wants(planned)
    planned.task.change(likely_minutes=90)
    replanning.note_edit(house_id=planned.pk, now=MONDAY)
    Plan.objects.create(property=planned, as_of=MONDAY)

    replanning.replan_edited(now=MONDAY + DELAY)

    assert not of_edits(planned).exists()


@pytest.mark.parametrize("how", ["change", "make", "act", "remove"])
def test_every_kind_of_write_over_the_api_counts_as_an_edit(client, planned, how):
    row = wants(planned)
    task = planned.task
    act = {
        "change": lambda: client.patch(f"/api/v1/tasks/{task.pk}/", {"likely_minutes": 90}),
        "make": lambda: client.post(
            "/api/v1/tools/", {"property": planned.pk, "name": "Spirit level"}
        ),
        "act": lambda: client.post(f"/api/v1/tasks/{task.pk}/start/", {}),
        "remove": lambda: client.delete(f"/api/v1/tasks/{task.pk}/"),
    }[how]

    answer = act()

    assert answer.status_code < 300
    row.refresh_from_db()
    assert row.replan_at - row.edited_at == DELAY
    assert row.version == 1


def test_what_is_refused_is_no_edit(client, planned):
    row = wants(planned)

    assert client.patch(f"/api/v1/tasks/{planned.task.pk}/", {"title": ""}).status_code == 400

    row.refresh_from_db()
    assert row.replan_at is None


def test_a_form_of_a_page_counts_as_an_edit(planned):
    from django.test import Client

    row = wants(planned)
    browser = Client()
    browser.force_login(planned.owner)

    answer = browser.post(f"/tonight/tasks/{planned.task.pk}/start/", {"property": planned.pk})

    assert answer.status_code in {200, 302}
    row.refresh_from_db()
    assert row.replan_at is not None


def test_the_nightly_plan_comes_once_a_night_at_four_by_the_houses_clock(planned):
    planned.timezone = "America/New_York"
    planned.save()
    begins = datetime(2026, 1, 6, 6, 0, tzinfo=UTC)

    for n in range(12 * 30):
        replanning.replan_at_night(now=begins + n * timedelta(minutes=5))
        Plan.objects.filter(state="queued").update(state="failed")

    assert [row.as_of for row in nightly(planned)] == [
        datetime(2026, 1, 6, 9, 0, tzinfo=UTC), datetime(2026, 1, 7, 9, 0, tzinfo=UTC),
    ]  # fmt: skip
    assert [row.night_of for row in nightly(planned)] == [date(2026, 1, 6), date(2026, 1, 7)]


@pytest.mark.parametrize("change", [date(2026, 3, 29), date(2026, 10, 25)])
def test_the_night_on_which_the_clocks_change_has_one_plan_too(planned, change):
    begins = datetime.combine(change, time(1), UTC)

    for n in range(2 * 46):
        replanning.replan_at_night(now=begins + n * timedelta(minutes=30))
        Plan.objects.filter(state="queued").update(state="failed")

    rows = list(nightly(planned))
    assert [row.night_of for row in rows] == [change, change + timedelta(days=1)]
    from zoneinfo import ZoneInfo

    local = [row.as_of.astimezone(ZoneInfo("Europe/London")) for row in rows]
    assert [(moment.hour, moment.minute) for moment in local] == [(4, 0), (4, 0)]


def test_two_beats_at_once_make_one_nightly_plan(planned):
    from django.db import IntegrityError, transaction

    four = datetime(2026, 1, 6, 4, 0, tzinfo=UTC)
    replanning.replan_at_night(now=four)

    with pytest.raises(IntegrityError), transaction.atomic():
        replanning.plan_again(planned, now=four, because="night", night_of=date(2026, 1, 6))

    assert nightly(planned).count() == 1


def test_a_house_without_a_plan_or_that_wants_none_at_night_has_none(planned):
    never = factories.PropertyFactory()
    wants(planned, replans_at_night=False)

    replanning.replan_at_night(now=datetime(2026, 1, 6, 4, 0, tzinfo=UTC))

    assert not nightly(planned).exists()
    assert not nightly(never).exists()


@pytest.mark.parametrize("hours_late", [1, 5.5, 14.5, 19.9])
def test_whoever_was_down_or_slept_at_four_plans_when_it_is_up_again(planned, hours_late):
    woken = datetime(2026, 1, 6, 4, 0, tzinfo=UTC) + timedelta(hours=hours_late)

    for minutes in (0, 5, 10):
        replanning.replan_at_night(now=woken + timedelta(minutes=minutes))
        Plan.objects.filter(state="queued").update(state="failed")

    assert [row.as_of for row in nightly(planned)] == [woken]


def test_whoever_slept_past_midnight_waits_for_the_next_four(planned):
    replanning.replan_at_night(now=datetime(2026, 1, 7, 0, 30, tzinfo=UTC))
    assert not nightly(planned).exists()

    replanning.replan_at_night(now=datetime(2026, 1, 7, 4, 0, tzinfo=UTC))

    assert nightly(planned).get().night_of == date(2026, 1, 7)


def test_who_has_planned_since_four_is_given_no_other_plan(planned):
    woken = datetime(2026, 1, 6, 8, 0, tzinfo=UTC)
    plan(planned, as_of=woken - timedelta(hours=1))

    replanning.replan_at_night(now=woken)

    assert not nightly(planned).exists()


@pytest.fixture
def sends(settings):
    settings.SENDS_MAIL = True


def test_without_a_way_to_send_there_is_no_brief(planned):
    wants(planned, brief_to="mar@example.org")

    brief.send_briefs(now=MONDAY)

    assert mail.outbox == []
    assert not Brief.objects.exists()


def test_the_brief_says_what_is_done_today_and_what_must_stay_open(planned, sends):
    wants(planned, brief_to="mar@example.org", brief_at=time(7))
    floor = floor_with_boards(planned)
    visit = factories.VisitFactory(
        property=planned, state="agreed", starts=at(2, 9), ends=at(2, 11)
    )
    factories.AccessNeedFactory(
        property=planned, floor=floor, visit=visit, area=rectangle(1000, 300)
    )
    from apps.floors.services import move_boards

    move_boards(
        boards=list(floor.boards.all()[:2]), to_state="up", moved_at=MONDAY - timedelta(days=1),
        note="", moved_by=planned.owner,
    )  # fmt: skip

    brief.send_briefs(now=MONDAY)
    brief.send_briefs(now=MONDAY + timedelta(minutes=5))

    (sent,) = mail.outbox
    assert sent.to == ["mar@example.org"]
    assert sent.subject == f"{planned}: Mon 5 Jan"
    today, _, rest = sent.body.partition("What must stay open\n")
    assert f"18:00 {planned.task}" in today
    opened = rest.partition("\n\n")[0]
    assert "B1.1" in opened
    assert "Released " in opened
    assert str(visit) in rest.partition("Who comes")[2]


def test_the_brief_comes_at_its_time_and_not_in_the_afternoon(planned, sends):
    wants(planned, brief_to="mar@example.org", brief_at=time(7))

    brief.send_briefs(now=MONDAY - timedelta(hours=1, minutes=1))
    brief.send_briefs(now=MONDAY + timedelta(hours=6))
    assert mail.outbox == []
    brief.send_briefs(now=MONDAY)

    assert len(mail.outbox) == 1


def test_a_house_whose_rows_make_no_sense_keeps_no_other_from_its_brief(
    planned, sends, monkeypatch, caplog
):
    wants(planned, brief_to="odd@example.org", brief_at=time(7))
    wants(factories.PropertyFactory(), brief_to="mar@example.org", brief_at=time(7))
    written = brief.brief

    def written_or_not(house, *, now):
        if house == planned:
            raise TypeError("rows from somewhere")
        return written(house, now=now)

    monkeypatch.setattr(brief, "brief", written_or_not)
    brief.send_briefs(now=MONDAY)

    assert [sent.to for sent in mail.outbox] == [["mar@example.org"]]
    assert f"the brief of {planned} could not be written" in caplog.text


def test_a_brief_that_could_not_be_sent_is_tried_again(planned, sends, settings, caplog):
    wants(planned, brief_to="mar@example.org", brief_at=time(7))
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    brief.send_briefs(now=MONDAY)
    assert not Brief.objects.exists()

    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    brief.send_briefs(now=MONDAY + timedelta(minutes=5))

    assert len(mail.outbox) == 1
    assert Brief.objects.get().on == date(2026, 1, 5)


def test_a_measure_nobody_looked_at_is_told_once_for_each_look_missed(planned, sends):
    wants(planned, brief_to="mar@example.org")
    row = factories.TemporaryMeasureFactory(
        property=planned, check_every_hours=24, since=MONDAY - timedelta(hours=25)
    )

    for minutes in (0, 15, 30):
        measures.remind(now=MONDAY + timedelta(minutes=minutes))
    (sent,) = mail.outbox
    assert str(row) in sent.body
    assert "every 24 h" in sent.body

    row.change(last_checked_at=MONDAY + timedelta(hours=1))
    measures.remind(now=MONDAY + timedelta(hours=20))
    assert len(mail.outbox) == 1
    measures.remind(now=MONDAY + timedelta(hours=26))

    assert len(mail.outbox) == 2
    assert MeasureReminder.objects.count() == 2


def test_a_house_that_set_nothing_has_the_defaults_and_changes_some(client, house):
    address = f"/api/v1/properties/{house.pk}/planning-preferences/"
    assert client.get(address).json() == {
        "version": 1, "replans_at_night": True, "replans_after_edits": False,
        "replan_delay_minutes": 10, "brief_to": "", "brief_at": "06:30:00", "replan_at": None,
    }  # fmt: skip

    answer = client.patch(address, {"replans_after_edits": True, "brief_to": "mar@example.org"})

    assert answer.status_code == 200
    assert client.get(address).json() == answer.json()
    assert (answer.json()["replans_after_edits"], answer.json()["replans_at_night"]) == (True, True)
    # Setting it is a write of the house like any other.
    assert PlanningPreferences.objects.get().property == house


def test_impossible_preferences_are_refused_with_a_pointer(client, house):
    answer = client.patch(
        f"/api/v1/properties/{house.pk}/planning-preferences/",
        {"brief_to": "nobody", "brief_at": "25:00"},
    )

    assert answer.status_code == 400
    assert {error["pointer"] for error in answer.json()["errors"]} == {"/brief_to", "/brief_at"}


def test_a_house_that_wants_no_plans_after_edits_any_more_has_none_due(client, planned):
    row = wants(planned, edited_at=MONDAY, replan_at=MONDAY + DELAY)

    client.patch(
        f"/api/v1/properties/{planned.pk}/planning-preferences/", {"replans_after_edits": False}
    )

    row.refresh_from_db()
    assert row.replan_at is None
