"""Trying a change before it is made: a supposed plan, what it changes, and taking it or not."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from apps.pages.actions import Done, house_action, refuse_stale
from apps.pages.base import Undo
from apps.pages.planner import PLAN_DAYS
from apps.pages.screens.week.address import week_address
from apps.pages.screens.week.forms import AnotherTime
from apps.pages.screens.week.supposed import day_meant, in_words, make_true, person_of, put_back
from apps.pages.visiting import Visiting, date_of, id_of
from apps.planning import services
from apps.planning.models import Plan
from apps.planning.services import current_plan
from apps.planning.what_if import read_what_if, refuse_unknown
from apps.trades.models import Visit
from renovation.errors import Problem, field_problem

EVENING = (time(18, 30), time(20, 30))
MORE = timedelta(hours=2)
NO_PLAN = "Make a plan first: then there is something to compare with."


@house_action
def visit_elsewhen(request: HttpRequest, found: Visiting, visit_id: int) -> HttpResponse:
    """Try a visit at another time."""
    from apps.pages.screens.week.views import visit_shown  # noqa: PLC0415 (geometry, 120 ms)

    visit = visit_of(found, visit_id)
    refuse_done(visit)
    form = AnotherTime(request.POST, now=found.now, zone=found.zone)
    if not form.is_valid():
        return visit_shown(request, found, visit, form=form, status=400)
    return tried(found, form.what_if(visit))


@house_action
def day_off(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Try a day without somebody."""
    person, on = person_of(found.house, id_of(request.POST.get("person", "")) or 0), day_of(request)
    return tried(found, {"days_off": [{"person": person.pk, "date": on.isoformat()}]})


@house_action
def two_hours(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Try two hours more of somebody: after their last hour of the day, or an evening."""
    from apps.planning.day_hours import stretches_on  # noqa: PLC0415 (only here)

    person, on = person_of(found.house, id_of(request.POST.get("person", "")) or 0), day_of(request)
    worked = stretches_on(person, on)
    starts = max(ends for _, ends in worked) if worked else EVENING[0]
    until = datetime.combine(on, starts) + MORE
    if until.date() != on:
        raise field_problem("", f"{person} works too late that day for two hours more.")
    more = {"person": person.pk, "date": on.isoformat(), "starts": f"{starts:%H:%M}",
            "ends": f"{until:%H:%M}"}  # fmt: skip
    return tried(found, {"more_hours": [more]})


@house_action
def remedy(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Try what the current plan says would help: `from` unplaced or unready, row and number."""
    plan = plan_of(found, request.POST.get("plan", ""))
    rows = {"unplaced": plan.unplaced, "unready": plan.unready}.get(request.POST.get("of", ""), [])
    row, number = (id_of(request.POST.get(name, "")) for name in ("row", "remedy"))
    try:
        what_if = rows[row or 0]["remedies"][number or 0]["what_if"]
    except (IndexError, KeyError):
        what_if = None
    if row is None or number is None or not what_if:
        raise field_problem("", "That cannot be tried from here.")
    return tried(found, what_if)


@house_action
def again(request: HttpRequest, found: Visiting, plan_id: int) -> HttpResponse:
    """Try the same once more, against the plan as it is by now."""
    plan = plan_of(found, str(plan_id))
    if not plan.what_if:
        raise field_problem("", "That plan supposes nothing.")
    return tried(found, plan.what_if)


@house_action
def accept(request: HttpRequest, found: Visiting, plan_id: int) -> Done:
    """Make it so, and plan again from the plan there is, as it was tried."""
    plan, current = plan_of(found, str(plan_id)), current_plan(found.house)
    if not plan.what_if or plan.state != Plan.State.READY:
        raise Problem("plan-not-ready", "This was not worked out to its end.", state=plan.state)
    if current is None or current.pk > plan.pk:
        raise Problem(
            "stale", "There is a newer plan: see what changes against that one first.",
            status_code=412,
        )  # fmt: skip
    for one in plan.what_if.get("visits", []):
        refuse_stale(request, visit_of(found, one["id"]))
    on = day_meant(plan.what_if, found.zone)
    sentences = in_words(found.house, plan.what_if)
    before = make_true(found, plan)
    plan_from_there(found)
    back = week_address(found.house, on=on)
    return Done(
        f"{' '.join(sentences)} Planned again.",
        back,
        Undo(reverse("week-back"), {"before": before, "on": on, "property": found.house.pk}),
    )


@house_action
def back(request: HttpRequest, found: Visiting) -> Done:
    """Undo what was accepted: as it was before, and planned again."""
    put_back(found, request.POST.get("before", ""))
    plan_from_there(found)
    on = request.POST.get("on", "")
    known = date_of(on, otherwise=found.today) is not None
    return Done(
        "Undone: as it was before. Planned again.",
        week_address(found.house, on=on if known else ""),
    )


def tried(found: Visiting, what_if: dict[str, Any]) -> HttpResponse:
    """Ask for the supposed plan, and show what it changes."""
    if current_plan(found.house) is None:
        raise field_problem("", NO_PLAN)
    read_what_if(what_if)
    refuse_unknown(found.house, what_if)
    plan = plan_from_there(found, what_if=what_if)
    return redirect(f"{reverse('week-changes', args=[plan.pk])}?property={found.house.pk}")


def plan_from_there(found: Visiting, *, what_if: dict[str, Any] | None = None) -> Plan:
    """A plan in a moment from the plan there is: the same way when tried and when taken, so that
    what was seen is what one gets."""
    return services.request_plan(
        house=found.house,
        as_of=found.now,
        horizon_days=PLAN_DAYS,
        seconds=settings.PLAN_SECONDS,
        quick=True,
        what_if=what_if,
        requested_by=found.user,
    )


def plan_of(found: Visiting, written: str) -> Plan:
    plan = Plan.objects.filter(property=found.house, pk=id_of(written) or 0).first()
    if plan is None:
        raise Problem("not-found", "There is no such plan of this house.", status_code=404)
    return plan


def visit_of(found: Visiting, visit_id: int) -> Visit:
    visit = (
        Visit.objects.filter(property=found.house, pk=visit_id).select_related("trade").first()
    )  # fmt: skip
    if visit is None:
        raise Problem("not-found", "There is no such visit in this house.", status_code=404)
    return visit


def refuse_done(visit: Visit) -> None:
    if visit.state == Visit.State.DONE:
        raise Problem("wrong-step", f"{visit} has been; it cannot be moved.", state=visit.state)


def day_of(request: HttpRequest) -> date:
    on = date_of(request.POST.get("date", ""), otherwise=date.min)
    if on is None or on == date.min:
        raise field_problem("/date", "Say which day.")
    return on
