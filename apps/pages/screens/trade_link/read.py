"""What trades answered, and which visits have a link, for those in the house."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import timezone

from apps.planning.clock import say
from apps.property.models import Property
from apps.trades.models import Visit, VisitLink, VisitReply

SAID = {
    VisitReply.Answer.CAN_COME: "I can come",
    VisitReply.Answer.CANNOT_COME: "I can’t come",
    VisitReply.Answer.FINISHED: "I’m finished here",
}
MOST_DECIDED = 5
STILL_TO_COME = (Visit.State.WANTED, Visit.State.ASKED, Visit.State.AGREED, Visit.State.MISSED)


def open_replies(house: Property, *, now: datetime) -> list[dict[str, Any]]:
    """Answers that nobody decided on, the latest first. One query."""
    return [
        entry(reply, now=now) for reply in replies_of(house).filter(state=VisitReply.State.OPEN)
    ]


def decided_replies(house: Property, *, now: datetime) -> list[dict[str, Any]]:
    """The last few that were decided on, for their undoing. One query."""
    rows = replies_of(house).exclude(state=VisitReply.State.OPEN).order_by("-decided_at", "-pk")
    return [entry(reply, now=now) for reply in rows[:MOST_DECIDED]]


def replies_of(house: Property) -> Any:
    return VisitReply.objects.filter(visit__property=house).select_related("visit__trade")


def entry(reply: VisitReply, *, now: datetime) -> dict[str, Any]:
    return {
        "id": reply.pk,
        "version": reply.version,
        "trade": reply.visit.trade.name,
        "visit": str(reply.visit),
        "visit_id": reply.visit_id,
        "stands": stands(reply.visit),
        "said": SAID[VisitReply.Answer(reply.answer)],
        "said_at": reply.said_at,
        "note": reply.note,
        "accepting": accepting(reply, now=now),
        "state": reply.state,
    }


def accepting(reply: VisitReply, *, now: datetime) -> str:
    """What happens to the visit when the answer is accepted, in a sentence."""
    visit = reply.visit
    if reply.answer == VisitReply.Answer.FINISHED:
        return "Accept: the visit is done, and what was open for it may be closed."
    if reply.starts and reply.ends:
        instead = " instead" if reply.answer == VisitReply.Answer.CANNOT_COME else ""
        return f"Accept: agreed for {span(reply.starts, reply.ends)}{instead}."
    if reply.answer == VisitReply.Answer.CAN_COME:
        return "It has no time yet: agree one with them."
    if visit.state == Visit.State.AGREED and visit.starts and visit.starts < now:
        return "Accept: the visit is marked missed."
    if visit.state in {Visit.State.AGREED, Visit.State.ASKED}:
        return "Accept: the visit is wanted again, without a time."
    return "Accept: noted; the visit stays as it is."


def stands(visit: Visit) -> str:
    """How a visit stands now: "agreed, Thu 3 Dec, 08:00–12:00"."""
    word = str(visit.get_state_display()).lower()
    return f"{word}, {span(visit.starts, visit.ends)}" if visit.starts and visit.ends else word


def span(starts: datetime, ends: datetime) -> str:
    """ "Thu 3 Dec, 08:00–12:00", in the active zone."""
    first, last = timezone.localtime(starts), timezone.localtime(ends)
    same = first.date() == last.date()
    return f"{say(first)}–{last:%H:%M}" if same else f"{say(first)} – {say(last)}"


def visits_with_links(house: Property, *, now: datetime) -> list[dict[str, Any]]:
    """Visits a link is of use for, each with the link it has. Two queries."""
    rows = Visit.objects.filter(property=house, state__in=STILL_TO_COME).select_related("trade")
    links = {
        link.visit_id: link
        for link in VisitLink.objects.filter(
            visit__property=house, digest__isnull=False, expires_at__gt=now
        )
    }
    return [
        {
            "id": visit.pk,
            "name": str(visit),
            "trade": visit.trade.name,
            "stands": stands(visit),
            "until": links[visit.pk].expires_at if visit.pk in links else None,
        }
        for visit in rows
    ]
