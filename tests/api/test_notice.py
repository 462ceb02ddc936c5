"""A ready notice of an inspection, as JSON and as plain text."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from tests import factories
from tests.api.asking import is_problem

LOOK = "Joist ends before boards"


def notice(client, inspection, **headers):
    return client.get(f"/api/v1/inspections/{inspection.pk}/notice/", headers=headers)


def test_the_notice_is_put_together_from_the_record(client, house):
    house.change(name="14 Tidemill Lane", address="By the creek")
    floor = factories.FloorFactory(property=house, name="Back parlour floor")
    inspection = factories.InspectionFactory(
        property=house, floor=floor, reference="TL/0147", note="Sizes and bearings"
    )
    inspection.rooms.add(factories.RoomFactory(property=house, name="Back parlour"))

    said = notice(client, inspection).json()

    for words in (
        f"Notice: {LOOK}", "14 Tidemill Lane, By the creek", "Back parlour floor, Back parlour",
        "Reference: TL/0147", "To be seen: Sizes and bearings", f"Contact: {house.owner.username}",
    ):  # fmt: skip
        assert words in said["text"]


def test_the_earliest_day_lets_the_notice_elapse_and_is_one_on_which_they_come(client, house):
    inspection = factories.InspectionFactory(
        property=house, notice_working_days=2, visiting_days=[3]
    )

    earliest_on = date.fromisoformat(notice(client, inspection).json()["earliest_on"])

    assert earliest_on.weekday() == 3
    assert earliest_on >= timezone.now().date() + timedelta(days=3)


def test_an_own_check_needs_no_notice_and_may_be_on_any_day(client, house):
    inspection = factories.InspectionFactory(property=house, by="own_check", notice_working_days=0)

    said = notice(client, inspection).json()

    assert "no notice after today" in said["text"]


def test_plain_text_is_the_text_alone(client, house):
    inspection = factories.InspectionFactory(property=house)

    plain = notice(client, inspection, Accept="text/plain")

    assert plain["Content-Type"].startswith("text/plain")
    assert plain.content.decode() == notice(client, inspection).json()["text"]


@pytest.mark.parametrize("accept", ["text/plain", "application/json"])
def test_a_strangers_notice_is_not_there_in_either_form(client, house, accept):
    answer = notice(client, factories.InspectionFactory(), Accept=accept)

    assert answer["Content-Type"].startswith("application/problem+json")
    assert is_problem(answer, 404, "not-found")


def test_nothing_is_recorded_by_asking(client, house):
    inspection = factories.InspectionFactory(property=house)

    notice(client, inspection)

    inspection.refresh_from_db()
    assert (inspection.state, inspection.version) == ("due", 1)
