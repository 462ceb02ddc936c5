"""Asking for a cutting plan, going by it, and noting what was sawn."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest
from django.urls import reverse

from apps.pages.actions import Done, house_action, moment
from apps.pages.base import Undo
from apps.pages.screens.timber.written import length_of, plan_of, row_of
from apps.pages.visiting import Visiting, date_of, id_of
from apps.timber.loading_cuts import STILL_WANTED
from apps.timber.models import Cut, CuttingPlan, Need
from apps.timber.services import applying, cuts_made
from renovation.errors import Problem, field_problem

USUAL_KERF_MM, MOST_KERF_MM = 3, 20


@house_action
def ask(request: HttpRequest, found: Visiting) -> Done:
    """A plan for all that is open; or, of a plan, for what is still to be cut."""
    from apps.timber.services.cutting import request_cutting_plan  # noqa: PLC0415 (solver)

    before = id_of(request.POST.get("replans", ""))
    replans = plan_of(found, before) if before else None
    if replans is not None and replans.state not in {"ready", "applied"}:
        raise Problem("wrong-step", f"{replans} is {replans.state}: nothing of it stays.")
    given = request.POST.get("kerf_mm")
    kerf_mm = length_of(request, "kerf_mm") if given else USUAL_KERF_MM
    if kerf_mm > MOST_KERF_MM:
        raise field_problem("/kerf_mm", "A saw takes 0 to 20 mm.")
    wanted = Need.objects.filter(property=found.house, state__in=STILL_WANTED)
    if replans is None and not wanted.filter(state=Need.State.OPEN).exists():
        raise field_problem("", "Nothing is wanted that is not planned already.")
    plan = request_cutting_plan(
        house=found.house, requested_by=found.user, replans=replans, kerf_mm=kerf_mm
    )
    return Done("Asked for a cutting plan. Nothing is reserved yet.", back=page_of(plan))


@house_action
def apply(request: HttpRequest, found: Visiting, plan_id: int) -> Done:
    """Go by a plan: its pieces are spoken for, what is to be bought is on the list."""
    plan = plan_of(found, plan_id)
    expected_on: date | None = None
    if written := request.POST.get("expected_on", ""):
        expected_on = date_of(written, otherwise=found.today)
        if expected_on is None:
            raise field_problem("/expected_on", "Write the day like 2026-03-14.")
    applying.apply_plan(plan=plan, at=moment(request, found), expected_on=expected_on)
    undo = Undo(reverse("timber-undo", args=[plan.pk]))
    return Done(f"In use: {plan}. Its pieces are spoken for.", back=page_of(plan), undo=undo)


@house_action
def undo(request: HttpRequest, found: Visiting, plan_id: int) -> Done:
    """Let a plan's pieces go."""
    plan = plan_of(found, plan_id)
    applying.undo_plan(plan=plan)
    again = Undo(reverse("timber-apply", args=[plan.pk]))
    return Done(f"Let go: the pieces of {plan} are free again.", back=page_of(plan), undo=again)


@house_action
def made(request: HttpRequest, found: Visiting, cut_id: int) -> Done:
    """A part is sawn, and how long it came out."""
    cut = cut_of(found, cut_id)
    actual_mm = length_of(request, "actual_mm")
    if actual_mm < 1:
        raise field_problem("/actual_mm", "Write how long it came out.")
    cut = cuts_made.make_cut(cut=cut, actual_mm=actual_mm, at=moment(request, found))
    said = f"Sawn: {cut.title}, {actual_mm} mm. {cut.told}".strip()
    back = Undo(reverse("timber-uncut", args=[cut.pk]))
    return Done(said, back=page_of(cut.bar.plan), undo=back)


@house_action
def take_back(request: HttpRequest, found: Visiting, cut_id: int) -> Done:
    """The last cut of a bar was noted by mistake."""
    cut = cut_of(found, cut_id)
    was_mm = cut.actual_mm
    cuts_made.take_back_cut(cut=cut)
    undo = Undo(reverse("timber-cut", args=[cut.pk]), {"actual_mm": was_mm}) if was_mm else None
    said = f"Taken back: {cut.title} is still to be sawn."
    return Done(said, back=page_of(cut.bar.plan), undo=undo)


@house_action
def pin(request: HttpRequest, found: Visiting, cut_id: int) -> Done:
    """Keep a part on its bar when the plan is made again, or let it move."""
    cut, pinned = cut_of(found, cut_id), request.POST.get("pinned") == "yes"
    cuts_made.pin_cut(cut=cut, pinned=pinned)
    said = f"Stays on {cut.bar.mark}" if pinned else "May move to another piece"
    again = {"pinned": "no" if pinned else "yes"}
    undo = Undo(reverse("timber-pin", args=[cut.pk]), again)
    return Done(f"{said}: {cut.title}.", back=page_of(cut.bar.plan), undo=undo)


def cut_of(found: Visiting, key: int) -> Cut:
    rows = Cut.objects.filter(bar__plan__property=found.house).select_related("bar__plan", "need")
    cut: Cut = row_of(rows, key)
    return cut


def page_of(plan: CuttingPlan) -> str:
    return reverse("timber-plan", args=[plan.pk])
