"""`manage.py week`: the week printed, any time."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from apps.planning.models import Plan
from tests import factories

MONDAY_EVENING = datetime(2026, 3, 2, 18, 30, tzinfo=UTC)
REASON = {"code": "crew_busy", "sentence": "the crew is busy until 18:30.", "by": []}


def week(*arguments, **options):
    out = StringIO()
    call_command("week", *arguments, stdout=out, **options)
    return out.getvalue()


@pytest.fixture
def planned(house):
    """One task, planned on the evening of Monday 2 March 2026, and boards held for a plumber."""
    task = factories.TaskFactory(
        package__property=house,
        title="Lift [old] boards",
        room=factories.RoomFactory(property=house),
    )
    plan = Plan.objects.create(
        property=house, as_of=MONDAY_EVENING, state="ready", is_current=True, proven=True
    )
    plan.stints.create(
        task=task, starts=MONDAY_EVENING, ends=MONDAY_EVENING.replace(hour=20, minute=0),
        why_not_sooner=REASON,
    )  # fmt: skip
    need = factories.AccessNeedFactory(property=house)
    factories.BoardFactory(floor=need.floor, course=1)
    return house


def test_a_week_is_found_by_any_of_its_dates(planned):
    printed = week("--on", "2026-03-05")

    assert "week 10" in printed
    assert "Mon 2 Mar" in printed
    assert "18:30–20:00" in printed
    assert "Lift [old] boards" in printed
    assert "Not sooner: the crew is busy until 18:30." in printed


def test_another_week_does_not_show_it(planned):
    assert "Lift [old] boards" not in week("--on", "2026-03-09")


def test_boards_that_stay_open_are_named_with_their_floor_and_for_whom(planned):
    printed = " ".join(week("--on", "2026-03-02").split())

    assert "B1.1 · Floor" in printed
    assert "Run the waste" in printed


def test_json_is_the_same_answer_as_the_api_s(planned, client):
    found = json.loads(week("--on", "2026-03-02", "--json"))

    query = f"?property={planned.pk}&on=2026-03-02"
    assert found["week"] == client.get(f"/api/v1/week/{query}").json()
    assert (
        found["alerts"]
        == client.get(f"/api/v1/alerts/?property={planned.pk}&page_size=200").json()["results"]
    )
    assert (
        found["holds"]
        == client.get(f"/api/v1/board-holds/?property={planned.pk}&page_size=200").json()["results"]
    )
    assert found["holds"]


def test_with_several_houses_it_asks_which_and_names_them(house):
    other = factories.PropertyFactory(name="The other one")

    with pytest.raises(CommandError, match=rf"--property.*{other.pk} \(The other one\)"):
        week()

    assert "The other one" in week("--property", str(other.pk))


@pytest.mark.django_db
def test_without_a_house_it_says_how_to_get_one():
    with pytest.raises(CommandError, match="start --demo"):
        week()


def test_a_house_that_is_not_there_is_named(house):
    with pytest.raises(CommandError, match="There is no house 999"):
        week("--property", "999")


@pytest.mark.parametrize("written", ["tomorrow", "2026-02-30", "03/02/2026"])
def test_a_date_that_is_none_is_refused(house, written):
    with pytest.raises(CommandError, match="--on"):
        week("--on", written)
