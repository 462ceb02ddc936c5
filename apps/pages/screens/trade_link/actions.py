"""The page of answers and links, and what is done on it."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action, is_ours, refuse_stale
from apps.pages.base import Undo
from apps.pages.screens.trade_link import read
from apps.pages.visiting import Visiting, house_page, page
from apps.trades.models import Visit, VisitReply
from apps.trades.visit_links import services
from renovation.errors import Problem

TEMPLATE = "pages/trade_link/page.html"


@house_page
def replies_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    return page(request, found, TEMPLATE, shown(found), here="house")


def shown(found: Visiting) -> dict[str, Any]:
    return {
        "replies": read.open_replies(found.house, now=found.now),
        "decided": read.decided_replies(found.house, now=found.now),
        "visits": read.visits_with_links(found.house, now=found.now),
        "back": reverse("replies"),
    }


@house_action
def make_link(request: HttpRequest, found: Visiting, visit_id: int) -> HttpResponse:
    """Make a visit's address, and show it this once: it is kept nowhere."""
    visit = visit_of(found, visit_id)
    link = services.link_of(visit=visit, made_by=found.user)
    part = services.make_link_address(link=link, made_by=found.user, at=found.now)
    fresh = {
        "name": str(visit),
        "trade": visit.trade.name,
        "address": request.build_absolute_uri(reverse("visit-link", args=[part])),
        "until": link.expires_at,
    }
    return page(request, found, TEMPLATE, {**shown(found), "fresh": fresh}, here="house")


@house_action
def stop_link(request: HttpRequest, found: Visiting, visit_id: int) -> Done:
    """Stop a visit's address. There is no way back but a new one."""
    visit = visit_of(found, visit_id)
    link = visit.links.first()
    if link is None:
        raise Http404
    services.revoke_link(link=link, at=found.now)
    return Done(f"Stopped: the link for {visit} opens nothing now.", back=reverse("replies"))


@house_action
def accept(request: HttpRequest, found: Visiting, reply_id: int) -> Done:
    """Do what an answer proposes."""
    reply = reply_of(found, reply_id)
    refuse_stale(request, reply, answer=reply.get_state_display())
    before = read.stands(reply.visit)
    services.accept_reply(reply=reply, by=found.user, at=found.now)
    stands = read.stands(reply.visit)
    again = "" if stands == before else " Plan again, so that the rest follows."
    return Done(
        f"Accepted: {reply.visit} is {stands}.{again}",
        back=back_of(request),
        undo=Undo(reverse("reply-undo", args=[reply.pk])),
    )


@house_action
def dismiss(request: HttpRequest, found: Visiting, reply_id: int) -> Done:
    """Put an answer aside."""
    reply = reply_of(found, reply_id)
    refuse_stale(request, reply, answer=reply.get_state_display())
    services.dismiss_reply(reply=reply, by=found.user, at=found.now)
    return Done(
        f"Put aside: {reply.visit} stays as it is.",
        back=back_of(request),
        undo=Undo(reverse("reply-undo", args=[reply.pk])),
    )


@house_action
def undo(request: HttpRequest, found: Visiting, reply_id: int) -> Done:
    """Undo a decision: the answer is open again and the visit as it was."""
    reply = reply_of(found, reply_id)
    try:
        services.undo_reply(reply=reply)
    except Problem as problem:
        problem.extra.setdefault("current", {"visit": read.stands(reply.visit)})
        raise
    return Done(
        f"Undone: the answer is open again, and {reply.visit} is {read.stands(reply.visit)}.",
        back=back_of(request),
    )


def back_of(request: HttpRequest) -> str:
    """Answers are shown on other pages too: back to the one the form was on."""
    back = request.POST.get("back", "")
    return back if is_ours(back) else reverse("replies")


def visit_of(found: Visiting, visit_id: int) -> Visit:
    rows = Visit.objects.filter(property=found.house, pk=visit_id).select_related("trade")
    visit = rows.first()
    if visit is None:
        raise Http404
    return visit


def reply_of(found: Visiting, reply_id: int) -> VisitReply:
    rows = VisitReply.objects.filter(visit__property=found.house, pk=reply_id)
    reply = rows.select_related("visit__trade").first()
    if reply is None:
        raise Http404
    return reply
