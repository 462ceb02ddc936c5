"""What happened by itself lately, and what is in its way."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.conf import settings

from apps.pages.visiting import Visiting
from apps.planning.clock import say, say_date
from apps.planning.models import Brief, MeasureReminder, Plan, PlanningPreferences
from apps.planning.routine.replanning import NIGHT
from renovation import beat

REMINDERS_SHOWN = 5
LAST = {
    Plan.Because.NIGHT: "The last plan of a night",
    Plan.Because.EDITS: "The last plan after changes",
}
STATES = {
    Plan.State.READY: "made",
    Plan.State.FAILED: "failed",
    Plan.State.CANCELLED: "stopped by somebody",
    Plan.State.SUPERSEDED: "left for a newer one",
}
"""What became of a plan; of any other it is being made."""


def shown(found: Visiting, wants: PlanningPreferences) -> dict[str, Any]:
    """What the page shows beside its form."""
    return {
        "obstacles": list(obstacles(wants)),
        "night": f"{NIGHT:%H:%M}",
        "due": say_local(found, wants.replan_at) if wants.replan_at else "",
        "happened": list(happened(found)),
        "reminders": [
            f"{row.measure}, {say_local(found, row.sent_at)}"
            for row in MeasureReminder.objects.filter(measure__property=found.house)
            .select_related("measure")
            .order_by("-pk")[:REMINDERS_SHOWN]
        ],
    }


def obstacles(wants: PlanningPreferences) -> Iterator[str]:
    """Why less happens than the form says, and who can change that."""
    if not settings.REDIS_URL and beat.running is None:
        yield (
            "Nothing happens by itself on this server: it was not started with manage.py start, "
            "and has no beat. Whoever looks after it finds how in its guide, “Grown mode”."
        )
    if not settings.SENDS_MAIL:
        yield (
            "This server has no way to send mail, so nothing is sent. Whoever looks after it sets "
            "LIFTED_BOARDS_EMAIL_URL."
        )
    elif not wants.brief_to:
        yield "Nobody gets mail: there is no address below."


def happened(found: Visiting) -> Iterator[tuple[str, str]]:
    """What was made and sent last, in words."""
    for because, words in LAST.items():
        plans = Plan.objects.filter(property=found.house, because=because)
        plan = plans.only("state", "requested_at").order_by("-pk").first()
        told = "none yet"
        if plan is not None:
            became = STATES.get(Plan.State(plan.state), "being made")
            told = f"{say_local(found, plan.requested_at)}, {became}"
        yield words, told
    brief = Brief.objects.filter(property=found.house).order_by("-on").first()
    at = "none yet" if brief is None else f"for {say_date(brief.on)}, at {clock(found, brief)}"
    yield "The last morning brief", at


def clock(found: Visiting, brief: Brief) -> str:
    return f"{brief.sent_at.astimezone(found.zone):%H:%M}"


def say_local(found: Visiting, at: datetime) -> str:
    return say(at.astimezone(found.zone))
