"""Asking for the plan that everyone looks at, as `manage.py start` and the week page do."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone

from apps.planning import services
from apps.planning.models import Plan
from apps.property.models import Property

PLAN_DAYS = 28


def plan_now(*, house: Property, requested_by: User) -> Plan:
    """The next four weeks from this moment; solved on return unless a worker has to do it."""
    plan = services.request_plan(
        house=house,
        as_of=timezone.now(),
        horizon_days=PLAN_DAYS,
        seconds=settings.PLAN_SECONDS,
        requested_by=requested_by,
    )
    plan.refresh_from_db()
    return plan


def latest_plan(house: Property) -> Plan | None:
    """The plan asked for last, finished or not; suppositions do not count."""
    return Plan.objects.filter(property=house, what_if__isnull=True).order_by("-pk").first()
