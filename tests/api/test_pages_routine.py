"""What happens by itself, on its page: set, refused, taken back; and what happened last."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from apps.planning.models import Brief, MeasureReminder, Plan, PlanningPreferences
from tests import factories
from tests.api import walk
from tests.api.test_pages_house_edits import form_of, post, signed_in, text, undo

PAGE = "/house/by-itself/"


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


@pytest.fixture
def all_of_it(settings):
    """A server with a beat that can send."""
    settings.REDIS_URL = "redis://somewhere"
    settings.SENDS_MAIL = True


def save(browser, **fields):
    told = {**form_of(browser.get(PAGE)), **fields}
    left = {name: value for name, value in told.items() if value is not None}
    return browser.post(f"{PAGE}change/", left, follow=True)


def test_plans_and_mail_are_set_without_script_and_set_back(browser, house):
    answer = save(
        browser, replans_at_night=None, replans_after_edits="on", replan_delay_minutes="20",
        brief_to="me@example.org", brief_at="07:15",
    )  # fmt: skip
    row = PlanningPreferences.objects.get(property=house)
    kept = (row.replans_at_night, row.replans_after_edits, row.replan_delay_minutes)
    undo(browser, answer)

    row_after = PlanningPreferences.objects.get(property=house)
    assert "a plan 20 min after changes; mail to me@example.org at 07:15." in text(answer)
    assert kept == (False, True, 20)
    assert (row.brief_to, row.brief_at) == ("me@example.org", time(7, 15))
    assert (row_after.replans_at_night, row_after.replans_after_edits) == (True, False)
    assert (row_after.brief_to, row_after.brief_at) == ("", time(6, 30))


def test_what_nobody_changed_is_not_written(browser, house):
    answer = save(browser)

    assert "It is as it was." in text(answer)
    assert not PlanningPreferences.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"brief_to": "not an address"}, "Enter a valid email address."),
        ({"replan_delay_minutes": "0"}, "greater than or equal to 1"),
        ({"replan_delay_minutes": "1441"}, "less than or equal to 1440"),
        ({"brief_at": "25:00"}, "Enter a valid time."),
    ],
)
def test_what_cannot_be_is_said_at_its_field(browser, house, wrong, said):
    answer = save(browser, **wrong)

    assert answer.status_code == 400
    assert said in text(answer)
    assert not PlanningPreferences.objects.exists()


def test_a_form_opened_before_another_change_is_shown_again_with_both(browser, house):
    seen = form_of(browser.get(PAGE))
    save(browser, brief_to="first@example.org")

    answer = browser.post(f"{PAGE}change/", {**seen, "brief_to": "second@example.org"})

    assert answer.status_code == 412
    assert "The book has by now: first@example.org" in text(answer)
    assert 'value="second@example.org"' in text(answer)
    assert PlanningPreferences.objects.get(property=house).brief_to == "first@example.org"


@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_others_read_how_it_is_set_and_change_nothing(house, role):
    theirs = signed_in(factories.MemberFactory(property=house, role=role).user)
    shown = text(theirs.get(PAGE))

    answer = theirs.post(f"{PAGE}change/", {"brief_to": "x@example.org"}, HTTP_X_FROM_QUEUE="1")

    assert "Only an owner changes it." in shown
    assert "<form" not in shown.partition("As it is set")[2]
    assert answer.status_code == 403
    assert not PlanningPreferences.objects.exists()


def test_setting_it_asks_for_no_plan(browser, house):
    save(browser, replans_after_edits="on")

    assert PlanningPreferences.objects.get(property=house).replan_at is None


def test_a_server_that_cannot_do_it_says_so_plainly(browser, house):
    shown = text(browser.get(PAGE))

    assert "Nothing happens by itself on this server" in shown
    assert "no way to send mail" in shown
    assert "LIFTED_BOARDS_EMAIL_URL" in shown


def test_a_server_that_can_says_only_that_an_address_is_missing(browser, house, all_of_it):
    without = text(browser.get(PAGE))
    save(browser, brief_to="me@example.org")

    assert "Nobody gets mail: there is no address below." in without
    assert "Not all of it does" not in text(browser.get(PAGE))


def test_it_tells_what_was_planned_and_sent_last_and_what_is_due(browser, house):
    nothing = text(browser.get(PAGE))
    at = datetime(2026, 11, 28, 4, 0, 20, tzinfo=UTC)
    for because, state in (("night", "ready"), ("edits", "failed")):
        Plan.objects.create(property=house, because=because, state=state, as_of=at, requested_at=at)
    Brief.objects.create(property=house, on=date(2026, 11, 28), sent_at=at.replace(hour=6))
    prop = factories.TemporaryMeasureFactory(property=house, where="Under J4")
    MeasureReminder.objects.create(measure=prop, last_seen_at=at, sent_at=at.replace(hour=9))
    PlanningPreferences.objects.create(
        property=house, replans_after_edits=True, replan_at=at.replace(hour=10)
    )

    shown = text(browser.get(PAGE))

    assert nothing.count("none yet") == 3
    assert "Sat 28 Nov, 04:00, made" in shown
    assert "Sat 28 Nov, 04:00, failed" in shown
    assert "for Sat 28 Nov, at 06:00" in shown
    assert "Under J4, Sat 28 Nov, 09:00" in shown
    assert "A plan is due for what was changed</dt><dd>Sat 28 Nov, 10:00" in shown


@pytest.mark.parametrize(
    ("because", "said"),
    [
        ("asked", "Asked for by mari."),
        ("night", "Made by itself, at night."),
        ("edits", "Made by itself, after something was changed."),
    ],
)
def test_the_week_says_why_its_plan_was_made(browser, house, because, said):
    Plan.objects.create(
        property=house, because=because, state="ready", is_current=True,
        as_of=datetime(2026, 11, 28, 4, tzinfo=UTC),
        requested_by=factories.UserFactory(username="mari") if because == "asked" else None,
    )  # fmt: skip

    assert said in text(browser.get("/week/"))


def test_a_helper_does_not_say_over_the_api_where_mail_goes(house):
    helper = walk.signed_in(factories.MemberFactory(property=house, role="helper").user)

    answer = helper.patch(
        f"/api/v1/properties/{house.pk}/planning-preferences/", {"brief_to": "x@example.org"}
    )

    assert answer.status_code == 403
    assert answer.json()["type"].endswith("#owners-only")
    assert not PlanningPreferences.objects.exists()


def test_nothing_of_it_is_seen_from_another_house(house):
    stranger = factories.MemberFactory().user

    assert signed_in(stranger).get(f"{PAGE}?property={house.pk}").status_code == 404


def test_nonsense_in_the_form_is_refused(browser, house):
    answer = post(browser, f"{PAGE}change/", version="x", brief_to="me@example.org")

    assert answer.status_code == 412
