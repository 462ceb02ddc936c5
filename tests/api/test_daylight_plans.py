"""Outdoor work keeps to daylight where a property says where it stands."""

from __future__ import annotations

from datetime import time

import pytest

from tests import factories
from tests.api.houses import crew, package, plan, times

pytestmark = pytest.mark.django_db

NORTH_SEA = {"latitude_deg": 53.4, "longitude_deg": 1.1}


def test_outdoor_work_ends_at_dusk_and_says_from_when_it_is_dark():
    house = factories.PropertyFactory(**NORTH_SEA)
    crew(house, weekdays=[0, 1], starts=time(14), ends=time(18))
    gutter = factories.TaskFactory(
        package=package(house), low_minutes=30, likely_minutes=150, high_minutes=180,
        outdoors=True, shortest_stint_minutes=30,
    )  # fmt: skip

    made = plan(house)

    # On 5 January the sun sets there at about 15:50: 14:00 to 15:45, the rest on the next day.
    assert times(made, gutter) == [(5, 14, 105), (6, 14, 45)]
    second = made.stints.all()[1].why_not_sooner
    assert second["code"] == "no_working_time"
    assert second["sentence"].startswith("It is dark outside from 15:")


def test_without_a_place_outdoor_work_keeps_its_hours_only():
    house = factories.PropertyFactory()
    crew(house, weekdays=[0], starts=time(14), ends=time(18))
    gutter = factories.TaskFactory(
        package=package(house), low_minutes=30, likely_minutes=150, high_minutes=180, outdoors=True
    )

    assert times(plan(house), gutter) == [(5, 14, 150)]
