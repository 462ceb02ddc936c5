"""Calendar feeds: who is told what, moves that are no doubles, and addresses that stay secret."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from apps.planning.feeds import services
from apps.planning.models import CalendarFeed, FeedEntry, Plan, Stint, WorkingTimeException
from apps.trades import services as trade_services
from renovation.models import RememberedAnswer
from renovation.secrets import digest_of
from tests import factories, rfc5545
from tests.api import houses
from tests.api.walk import is_problem, stranger, viewer_of

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
"""A Monday."""


@pytest.fixture
def anyone():
    """A browser that nobody signed in with."""
    return Client()


@pytest.fixture
def crew(house):
    return factories.PersonFactory(property=house, name="Mar Penhale")


def evening(day, hours=2.5):
    starts = NOW + timedelta(days=day, hours=6, minutes=30)
    return starts, starts + timedelta(hours=hours)


def plan(house, *stints):
    """The current plan: pairs of a thing and its time."""
    Plan.objects.filter(property=house).update(is_current=False)
    made = Plan.objects.create(property=house, as_of=NOW, state="ready", is_current=True)
    for thing, (starts, ends) in stints:
        Stint.objects.create(
            plan=made, starts=starts, ends=ends, why_not_sooner={},
            **{type(thing).__name__.lower(): thing},
        )  # fmt: skip
    return made


def address(house, whose):
    feed = services.feed_of(whose=whose, made_by=house.owner)
    return services.make_feed_address(feed=feed, made_by=house.owner, at=NOW)


def events(part, now=NOW):
    return rfc5545.read(services.read_feed(part=part, now=now)).events


def titles(part, now=NOW):
    return [event["SUMMARY"] for event in events(part, now)]


def task(house, title, **fields):
    return factories.TaskFactory(package__property=house, title=title, **fields)


def visit(house, **fields):
    starts, ends = evening(2)
    return factories.VisitFactory(
        property=house, **{"state": "agreed", "starts": starts, "ends": ends, **fields}
    )


def test_the_crew_is_told_of_work_visits_looks_and_last_days_for_notices(house, crew):
    come = visit(house, title="First fix", trade__name="Ada Sparks")
    look = factories.InspectionFactory(
        property=house, title="Joist ends", notice_working_days=2, booked_starts=None
    )
    lift = task(house, "Lift the hall boards")
    plan(house, (lift, evening(1)), (come, evening(2)), (look, evening(4)))

    told = {str(event["SUMMARY"]): event for event in events(address(house, crew))}

    assert list(told) == [
        "Last day to give notice: Joist ends", "Lift the hall boards", "Ada Sparks: First fix",
        "Joist ends",
    ]  # fmt: skip
    assert told["Lift the hall boards"]["DTSTART"] == evening(1)[0]
    assert told["Ada Sparks: First fix"]["STATUS"] == "CONFIRMED"
    assert told["Joist ends"]["STATUS"] == "TENTATIVE"
    # Friday the 6th with two whole working days before it: Tuesday the 3rd.
    assert f"{told['Last day to give notice: Joist ends']['DTSTART']}" == "2026-03-03"


def test_a_look_is_told_at_its_booked_time_and_a_look_of_ones_own_needs_no_notice(house, crew):
    starts, ends = evening(3)
    booked = factories.InspectionFactory(
        property=house, title="Joist ends", state="booked", booked_starts=starts, booked_ends=ends
    )
    own = factories.InspectionFactory(property=house, title="Levels", by="own_check")
    plan(house, (booked, evening(4)), (own, evening(1)))

    told = events(address(house, crew))

    assert [(row["SUMMARY"], row["STATUS"]) for row in told] == [
        ("Levels", "TENTATIVE"), ("Joist ends", "CONFIRMED"),
    ]  # fmt: skip
    assert told[1]["DTSTART"] == starts


def test_a_trade_is_told_of_its_own_visits_and_tasks_and_of_nothing_else(house, crew):
    own = visit(house, title="First fix")
    visit(house, title="Plastering")
    mine = task(house, "Run the waste", trade=own.trade)
    plan(house, (mine, evening(3)), (task(house, "Lift the boards"), evening(1)))

    assert titles(address(house, own.trade)) == ["First fix", "Run the waste"]


def test_a_helper_is_told_of_the_work_that_takes_more_than_one(house):
    helper = factories.PersonFactory(property=house, role="helper")
    visit(house)
    plan(house, (task(house, "Carry the sheets in", people=2), evening(1)),
         (task(house, "Sweep"), evening(2)))  # fmt: skip

    assert titles(address(house, helper)) == ["Carry the sheets in"]


def test_after_a_re_plan_what_moved_is_updated_and_nothing_is_doubled(house, crew):
    lift, fix = task(house, "Lift"), task(house, "Fix")
    plan(house, (lift, evening(1)), (lift, evening(2)), (fix, evening(3)))
    part = address(house, crew)
    before = events(part)

    plan(house, (lift, evening(1)), (lift, evening(4)))
    after = events(part, NOW + timedelta(hours=1))

    first, second, gone = sorted(before, key=lambda event: event["DTSTART"])
    by_uid = {event["UID"]: event for event in after}
    assert {event["UID"] for event in before} == set(by_uid)
    assert by_uid[first["UID"]].values == first.values
    assert by_uid[second["UID"]]["DTSTART"] == evening(4)[0]
    assert by_uid[second["UID"]]["SEQUENCE"] == 1
    assert by_uid[second["UID"]]["DTSTAMP"] == NOW + timedelta(hours=1)
    assert (by_uid[gone["UID"]]["STATUS"], by_uid[gone["UID"]]["SEQUENCE"]) == ("CANCELLED", 1)


def test_a_day_off_moves_what_the_planner_had_planned_and_doubles_nothing(house):
    mar = houses.crew(house)
    for title in ("Lift", "Repair", "Fix"):
        task(house, title)
    houses.plan(house, quick=True)
    part = address(house, mar)
    before = {row["UID"]: row for row in events(part, houses.MONDAY)}

    WorkingTimeException.objects.create(person=mar, date=houses.at(1, 0).date())
    houses.plan(house, quick=True)
    after = {row["UID"]: row for row in events(part, houses.MONDAY)}
    stints = Stint.objects.filter(plan__is_current=True).values_list("starts", flat=True)

    assert before.keys() == after.keys()
    assert sorted(row["DTSTART"] for row in after.values()) == sorted(stints)
    assert [after[uid].values != row.values for uid, row in before.items()].count(True) == 1
    assert sorted(row["SEQUENCE"] for row in after.values()) == [0, 0, 1]


def test_a_cancelled_event_is_told_for_four_weeks_and_remembered_after(house, crew):
    lift = task(house, "Lift")
    plan(house, (lift, evening(40)))
    part = address(house, crew)
    (uid,) = [event["UID"] for event in events(part)]
    plan(house)
    assert [event["STATUS"] for event in events(part)] == ["CANCELLED"]

    assert events(part, NOW + timedelta(weeks=4)) == []
    plan(house, (lift, evening(41)))
    (back,) = events(part, NOW + timedelta(weeks=4))

    assert (back["UID"], back["SEQUENCE"], back["STATUS"]) == (uid, 2, "CONFIRMED")


def test_a_visit_that_is_agreed_later_stays_the_same_event(house, crew):
    wanted = visit(house, state="wanted", starts=None, ends=None)
    plan(house, (wanted, evening(2)))
    part = address(house, crew)
    (before,) = events(part)

    trade_services.agree_visit(visit=wanted, starts=evening(3)[0], ends=evening(3)[1])
    (after,) = events(part)

    assert before["STATUS"] == "TENTATIVE"
    assert (after["UID"], after["SEQUENCE"], after["STATUS"]) == (before["UID"], 1, "CONFIRMED")
    assert after["DTSTART"] == evening(3)[0]


def test_a_task_that_is_dropped_leaves_the_days_to_come(house, crew):
    lift = task(house, "Lift")
    plan(house, (lift, evening(1)), (lift, evening(3)))
    part = address(house, crew)
    events(part)
    type(lift).objects.filter(pk=lift.pk).update(status="dropped")

    told = events(part, NOW + timedelta(days=1, hours=8))

    assert [event["STATUS"] for event in told] == ["CONFIRMED", "CANCELLED"]


def test_reading_again_writes_nothing_and_costs_the_same_for_a_longer_plan(house, crew):
    def reading():
        with CaptureQueriesContext(connection) as caught:
            text = services.read_feed(part=part, now=NOW)
        return text, len(caught)

    plan(house, *((task(house, f"Task {n}"), evening(n)) for n in range(3)))
    part = address(house, crew)
    text, _ = reading()
    rows = list(FeedEntry.objects.values())
    again, few = reading()
    assert again == text
    assert list(FeedEntry.objects.values()) == rows

    plan(house, *((task(house, f"Task {n}"), evening(n)) for n in range(9)))
    reading()
    assert reading()[1] == few


def test_a_reader_that_has_the_feed_gets_304_and_no_cookie(anyone, house, crew):
    part = address(house, crew)

    first = anyone.get(f"/feed/{part}.ics")
    again = anyone.get(f"/feed/{part}.ics", headers={"If-None-Match": first["ETag"]})

    assert first["Content-Type"] == "text/calendar; charset=utf-8"
    rfc5545.read(first.content)
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
    assert not first.cookies


def test_an_address_that_is_wrong_or_stopped_leads_nowhere(anyone, house, crew):
    part = address(house, crew)
    newer = address(house, crew)
    services.revoke_feed_address(feed=CalendarFeed.objects.get())

    answers = [anyone.get(f"/feed/{one}.ics") for one in (part, newer, "x", "x" * 43, "é")]

    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert {anyone.post(f"/feed/{part}.ics").status_code} == {405}


def test_the_address_is_told_once_and_kept_nowhere(client, house, crew):
    made = client.post("/api/v1/calendar-feeds/", {"property": house.pk, "person": crew.pk}).json()
    where = f"/api/v1/calendar-feeds/{made['id']}/address/"

    told = client.post(where, HTTP_IDEMPOTENCY_KEY="one")
    other = client.post(where, HTTP_IDEMPOTENCY_KEY="one")

    part = told.json()["address"].rpartition("/")[2].removesuffix(".ics")
    assert len(part) == 43
    assert told.json()["webcal"].startswith("webcal://")
    assert told["Cache-Control"] == "no-store"
    assert other.json()["address"] != told.json()["address"]
    assert not RememberedAnswer.objects.exists()
    assert "digest" not in client.get(f"/api/v1/calendar-feeds/{made['id']}/").json()
    part = other.json()["address"].rpartition("/")[2].removesuffix(".ics")
    assert CalendarFeed.objects.get().digest == digest_of(part)
    assert stranger().post(where).status_code == 404
    assert is_problem(viewer_of(house).post(where), 403)


def test_there_is_one_calendar_for_each_and_it_is_of_one(client, house, crew):
    body = {"property": house.pk, "person": crew.pk}
    client.post("/api/v1/calendar-feeds/", body)
    trade = factories.TradeFactory(property=house).pk

    assert is_problem(client.post("/api/v1/calendar-feeds/", body), 400)
    assert is_problem(client.post("/api/v1/calendar-feeds/", {**body, "trade": trade}), 400)
    assert is_problem(client.post("/api/v1/calendar-feeds/", {"property": house.pk}), 400)


def test_stopping_what_has_no_address_is_refused(client, house, crew):
    feed = services.feed_of(whose=crew, made_by=house.owner)

    assert is_problem(client.post(f"/api/v1/calendar-feeds/{feed.pk}/revoke/"), 409)


def test_the_page_makes_an_address_shows_it_once_and_stops_it(anyone, house, crew):
    anyone.force_login(house.owner)
    form = {"property": house.pk, "kind": "person", "id": crew.pk}

    made = anyone.post("/calendar/address/", form)
    feed = CalendarFeed.objects.get()

    part = made.content.decode().split("/feed/")[1].split(".ics")[0]
    assert feed.digest == digest_of(part)
    assert f"webcal://testserver/feed/{part}.ics" in made.content.decode()
    assert part not in anyone.get("/calendar/").content.decode()
    assert part not in str(dict(anyone.session))
    stopped = anyone.post(f"/calendar/stop/{feed.pk}/", {"property": house.pk}, follow=True)
    assert "can be read by nobody now" in stopped.content.decode()
    assert anyone.get(f"/feed/{part}.ics").status_code == 404


def test_who_may_only_look_makes_no_address_and_a_stranger_finds_none(anyone, house, crew):
    form = {"property": house.pk, "kind": "person", "id": crew.pk}

    anyone.force_login(factories.MemberFactory(property=house, role="viewer").user)
    assert "Make an address" not in anyone.get("/calendar/").content.decode()
    assert anyone.post("/calendar/address/", form).status_code == 403
    anyone.force_login(factories.MemberFactory(role="owner").user)
    assert anyone.post("/calendar/address/", form).status_code == 404
    assert not CalendarFeed.objects.exists()
