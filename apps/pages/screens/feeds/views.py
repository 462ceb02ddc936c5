"""The Calendar page, and the feeds that calendars read without signing in."""

from __future__ import annotations

import hashlib
from http import HTTPStatus
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from apps.pages.actions import Done, house_action
from apps.pages.screens.feeds import read
from apps.pages.visiting import Visiting, house_page, id_of, page
from apps.planning.feeds import services
from apps.planning.models import CalendarFeed, Person
from apps.work.models import Trade
from renovation.etags import tags

TEMPLATE = "pages/feeds/page.html"
NO_LONGER = "This calendar address does not work, or no longer does. Ask for a new one.\n"
WHOSE: dict[str, type[Person] | type[Trade]] = {"person": Person, "trade": Trade}


@house_page
def calendar_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    return page(request, found, TEMPLATE, shown(found), here="house")


def shown(found: Visiting) -> dict[str, Any]:
    return {**read.calendars(found.house), "back": reverse("calendar")}


@house_action
def make_address(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Make the address of a person's or a trade's calendar, and show it this once.

    The page is the answer itself: an address kept for a next page would be kept somewhere.
    """
    kind = WHOSE.get(request.POST.get("kind", ""))
    if kind is None:
        raise Http404
    rows = kind._default_manager.filter(property=found.house)
    whose = rows.filter(pk=id_of(request.POST.get("id", "")) or 0).first()
    if whose is None:
        raise Http404
    feed = services.feed_of(whose=whose, made_by=found.user)
    part = services.make_feed_address(feed=feed, made_by=found.user, at=found.now)
    address = request.build_absolute_uri(reverse("feed", args=[part]))
    fresh = {"name": whose.name, "address": address, "webcal": services.as_webcal(address)}
    return page(request, found, TEMPLATE, {**shown(found), "fresh": fresh}, here="house")


@house_action
def stop_address(request: HttpRequest, found: Visiting, feed_id: int) -> Done:
    """Stop an address. There is no way back but a new one."""
    feed = CalendarFeed.objects.filter(property=found.house, pk=feed_id).first()
    if feed is None:
        raise Http404
    services.revoke_feed_address(feed=feed)
    return Done(f"Stopped: {feed} can be read by nobody now.", back=reverse("calendar"))


@login_not_required
@require_safe
def feed(request: HttpRequest, part: str) -> HttpResponse:
    """One feed as RFC 5545 text; 304 for a reader that has it, 404 for an address that is not
    one."""
    text = services.read_feed(part=part, now=timezone.now())
    headers = {
        "Cache-Control": "private, no-cache",
        "Referrer-Policy": "no-referrer",
        "X-Robots-Tag": "noindex",
    }
    if text is None:
        return HttpResponse(
            NO_LONGER, status=HTTPStatus.NOT_FOUND, content_type="text/plain; charset=utf-8",
            headers=headers,
        )  # fmt: skip
    tag = f'"{hashlib.sha256(text).hexdigest()[:32]}"'
    headers["ETag"] = tag
    if {"*", tag} & tags(request.headers.get("If-None-Match", "")):
        return HttpResponse(status=HTTPStatus.NOT_MODIFIED, headers=headers)
    headers["Content-Disposition"] = 'inline; filename="lifted-boards.ics"'
    return HttpResponse(text, content_type="text/calendar; charset=utf-8", headers=headers)
