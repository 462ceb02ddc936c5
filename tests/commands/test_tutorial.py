"""The pages one learns from, done as they say against a live server."""

from __future__ import annotations

import pytest
from django.utils import timezone

from apps.pages.owner import owner_account
from apps.pages.planner import plan_now
from apps.planning.demo import load_demo
from tests.installation import REPOSITORY
from tests.walkthrough import Reader, follow

pytestmark = pytest.mark.django_db(transaction=True, reset_sequences=True)


def page(name):
    return (REPOSITORY / "docs" / name).read_text(encoding="utf-8")


@pytest.fixture
def reader(live_server):
    """Somebody with a terminal, whose server is this one."""
    return Reader({"http://127.0.0.1:8000": live_server.url})


@pytest.fixture
def demo_house(settings):
    """As `manage.py start --demo` leaves it, after one short plan."""
    settings.PLAN_SECONDS = 1
    owner = owner_account()
    house = load_demo(owner=owner, today=timezone.localdate())
    plan_now(house=house, requested_by=owner)
    return house


def test_the_evening_on_the_demo_house_goes_as_told(demo_house, reader):
    ran = follow(page("tutorial/one-evening.md"), reader)

    assert ran == 14


def test_a_house_of_ones_own_comes_to_its_first_plan_as_told(reader):
    ran = follow(page("how-to/your-own-house.md"), reader)

    assert ran > 10
