"""The invented house, for a look round: built and planned when someone asks for it."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.utils import timezone

from apps.pages.planner import plan_now
from apps.property.models import Property
from renovation.scope import visible

NAME = "14 Tidemill Lane"


def may_add(user: User) -> bool:
    """Once for each person."""
    return not visible(Property.objects.filter(name=NAME), user).exists()


def add(user: User) -> Property:
    """Build it for its owner and make its first plan."""
    from apps.planning.demo import load_demo  # noqa: PLC0415 (geometry, 120 ms)

    house = load_demo(owner=user, today=timezone.localdate())
    plan_now(house=house, requested_by=user)
    return house
