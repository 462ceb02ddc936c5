"""The page behind a visit's link: read and answered by a trade who has no account here.

The address is the key. Nothing else is asked, nothing else of the house is shown, and an address
that is wrong, stopped or at its end gets the same answer as any other that leads nowhere.
"""

from __future__ import annotations

from datetime import datetime
from http import HTTPStatus
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from apps.pages.screens.trade_link.forms import AnotherTimeForm, NoteForm
from apps.pages.screens.trade_link.read import SAID
from apps.trades.models import VisitLink, VisitReply
from apps.trades.visit_links import services
from renovation.errors import Problem
from renovation.origins import from_anywhere

MOVED = "The time changed while this page was open. Look at it again, then answer."
SHOWN_ANSWERS = 5


# Without a referrer a browser sends `Origin: null`, which the usual check refuses. It would guard
# nothing here: no cookie gives anybody a right, and who can forge the form knows the address.
@csrf_exempt
@from_anywhere
@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def visit_link(request: HttpRequest, part: str) -> HttpResponse:
    """The access sheet of one visit, and its three answers."""
    now = timezone.now()
    link = services.link_behind(part=part, now=now)
    if link is None:
        return private(render(request, "pages/trade_link/gone.html", status=HTTPStatus.NOT_FOUND))
    with timezone.override(ZoneInfo(link.visit.property.timezone)):
        if request.method == "POST":
            return private(answered(request, link, now=now))
        return private(shown(request, link, now=now))


def private(response: HttpResponse) -> HttpResponse:
    """Neither kept, nor listed, nor told to the next site."""
    response["Cache-Control"] = "no-store, private"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


def answered(request: HttpRequest, link: VisitLink, *, now: datetime) -> HttpResponse:
    from apps.pages.access_sheet import times  # noqa: PLC0415 (geometry, 120 ms)

    answer = request.POST.get("answer", "")
    if answer not in VisitReply.Answer.values:
        return shown(request, link, now=now, trouble="Press one of the three answers.")
    form = forms_of(link, now=now, data=request.POST, answered=answer)[answer]
    if not form.is_valid():
        return shown(request, link, now=now, answer=answer, form=form)
    starts, ends = form.times()
    if answer == VisitReply.Answer.CAN_COME:
        starts, ends = times(link.visit)
        if request.POST.get("shown", "") != (starts.isoformat() if starts else ""):
            return shown(request, link, now=now, trouble=MOVED)
    try:
        services.answer_visit(
            link=link, answer=answer, note=form.cleaned_data["note"], starts=starts, ends=ends,
            at=now,
        )  # fmt: skip
    except Problem as problem:
        return shown(request, link, now=now, trouble=problem.detail, status=problem.status_code)
    return redirect(request.path)


def forms_of(
    link: VisitLink, *, now: datetime, data: Any = None, answered: str = ""
) -> dict[str, NoteForm]:
    """The form of each answer; only the one that was sent is filled in."""
    zone = ZoneInfo(link.visit.property.timezone)
    return {
        VisitReply.Answer.CAN_COME: NoteForm(
            data if answered == VisitReply.Answer.CAN_COME else None, auto_id="can_%s"
        ),
        VisitReply.Answer.CANNOT_COME: AnotherTimeForm(
            data if answered == VisitReply.Answer.CANNOT_COME else None,
            auto_id="cannot_%s", now=now, zone=zone, minutes=link.visit.minutes,
        ),
        VisitReply.Answer.FINISHED: NoteForm(
            data if answered == VisitReply.Answer.FINISHED else None, auto_id="finished_%s"
        ),
    }  # fmt: skip


def shown(
    request: HttpRequest,
    link: VisitLink,
    *,
    now: datetime,
    trouble: str = "",
    answer: str = "",
    form: NoteForm | None = None,
    status: int = HTTPStatus.BAD_REQUEST,
) -> HttpResponse:
    """The page; with `trouble` or a `form` that needs mending it is answered with `status`."""
    from apps.pages.access_sheet import access_sheet  # noqa: PLC0415 (geometry, 120 ms)

    fresh = forms_of(link, now=now)
    if form is not None:
        fresh[answer] = form
    sheet = access_sheet(link.visit, now=now)
    context = {
        "sheet": sheet,
        "shown_time": sheet.starts.isoformat() if sheet.starts else "",
        "until": link.expires_at,
        "trouble": trouble,
        "can": fresh[VisitReply.Answer.CAN_COME],
        "cannot": fresh[VisitReply.Answer.CANNOT_COME],
        "finished": fresh[VisitReply.Answer.FINISHED],
        "answers": [
            {"said": SAID[VisitReply.Answer(reply.answer)], "reply": reply}
            for reply in link.visit.replies.all()[:SHOWN_ANSWERS]
        ],
        "over": link.visit.state == link.visit.State.DONE,
    }
    last = link.visit.replies.first()
    context["said_yes"] = (
        last is not None
        and last.answer == VisitReply.Answer.CAN_COME
        and last.state != VisitReply.State.DISMISSED
        and last.starts == sheet.starts
    )
    bad = bool(trouble) or form is not None
    return render(
        request, "pages/trade_link/visit.html", context, status=status if bad else HTTPStatus.OK
    )
