"""The week, one visit of it, and what a change would change."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from apps.pages import planner
from apps.pages.actions import house_action
from apps.pages.screens.week.address import week_address
from apps.pages.screens.week.forms import AnotherTime, usual
from apps.pages.screens.week.trades import comes
from apps.pages.visiting import Visiting, date_of, house_page, page, trouble
from apps.planning.models import Plan
from apps.planning.services import current_plan
from apps.trades.models import Visit

UNREADABLE_DATE = "That date cannot be read; write it as 2026-11-30."
NO_SUCH_VISIT = "There is no such visit in this house."


@house_page
def week_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """One house's week: what to stop for, the days, the boards that stay open."""
    on = date_of(request.GET.get("on", ""), otherwise=found.today)
    if on is None:
        return trouble(request, UNREADABLE_DATE)
    # Geometry takes 120 ms to load: not for every other page.
    from apps.pages.screens.week.read import shown  # noqa: PLC0415

    told = shown(found.house, on=on, today=found.today, now=found.now)
    return page(request, found, "pages/week/page.html", told, here="week")


@house_page
def week_sheet(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The week on A4, as a PDF."""
    on = date_of(request.GET.get("on", ""), otherwise=found.today)
    if on is None:
        return trouble(request, UNREADABLE_DATE)
    from apps.pages.screens.week.read import shown  # noqa: PLC0415 (geometry, 120 ms)
    from apps.pages.screens.week.sheet import week_pdf  # noqa: PLC0415 (typst, 20 MB)

    # On paper every day counts, also those that are past.
    told = shown(found.house, on=on, today=found.today, now=found.now)
    return pdf(week_pdf(found.house, told, now=found.now), f"week-{told['number']:02d}.pdf")


@house_page
def visit_page(request: HttpRequest, found: Visiting, visit_id: int) -> HttpResponse:
    """One visit: what it needs, and a form to try it at another time."""
    visit = visit_row(found, visit_id)
    return visit_shown(request, found, visit) if visit else trouble(request, NO_SUCH_VISIT)


@house_page
def visit_sheet(request: HttpRequest, found: Visiting, visit_id: int) -> HttpResponse:
    """The access sheet that the trade gets, as a PDF."""
    visit = visit_row(found, visit_id)
    if visit is None:
        return trouble(request, NO_SUCH_VISIT)
    from apps.pages.access_sheet import access_sheet  # noqa: PLC0415 (geometry, 120 ms)
    from apps.pages.screens.week.sheet import access_pdf  # noqa: PLC0415 (typst, 20 MB)

    return pdf(access_pdf(access_sheet(visit, now=found.now)), f"visit-{visit.pk}.pdf")


@house_page
def changes_page(request: HttpRequest, found: Visiting, plan_id: int) -> HttpResponse:
    """What a supposed plan changes, beside the plan that stands."""
    plan = (
        Plan.objects.filter(property=found.house, pk=plan_id, what_if__isnull=False)
        .select_related("property")
        .first()
    )
    if plan is None:
        return trouble(request, "There is nothing tried under this address.")
    from apps.pages.screens.week.changes import shown  # noqa: PLC0415 (the planner, 60 ms)

    told = shown(plan, current_plan(found.house))
    return page(request, found, "pages/week/changes.html", told, here="week")


@house_action
def plan_again(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Ask for a new plan from now on, and show the page again that it was asked from."""
    planner.plan_now(house=found.house, requested_by=found.user)
    return redirect(week_address(found.house, on=request.POST.get("on", "")))


def visit_row(found: Visiting, visit_id: int) -> Visit | None:
    rows = Visit.objects.select_related("trade", "property")
    return rows.filter(property=found.house, pk=visit_id).first()


def visit_shown(
    request: HttpRequest,
    found: Visiting,
    visit: Visit,
    *,
    form: AnotherTime | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    """The page of a visit; with a form that was sent, its errors at the fields."""
    from apps.pages.access_sheet import access_sheet  # noqa: PLC0415 (geometry, 120 ms)

    sheet = access_sheet(visit, now=found.now)
    if form is None:
        first = usual(visit, sheet.starts, found.today, found.zone)
        form = AnotherTime(initial=first, now=found.now, zone=found.zone)
    told: dict[str, Any] = {
        "visit": visit,
        "sheet": sheet,
        "form": form,
        "comes": comes(visit.trade),
        "may_move": found.may_change and visit.state != Visit.State.DONE,
    }
    return page(request, found, "pages/week/visit.html", told, here="week", status=status)


def pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )
