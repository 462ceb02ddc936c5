"""Taking a house along: its file asked for, how far it is, fetched, removed. For its owners."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from apps.moving import kept, leaving
from apps.moving.models import UNFINISHED_STATES, HouseFile
from apps.pages.actions import Done, house_action
from apps.pages.visiting import Visiting, house_page, id_of, page
from apps.property.models import Member

TEMPLATE = "pages/moving/along.html"


@house_page
def along_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The house's files. Whoever does not own it reads who may ask for one."""
    shown = read(found) if owns(found) else {"owns": False}
    return page(request, found, TEMPLATE, shown, here="house")


def owns(found: Visiting) -> bool:
    owners = Member.objects.filter(property=found.house, role=Member.Role.OWNER)
    return owners.filter(user=found.user).exists()


def read(found: Visiting) -> dict[str, Any]:
    rows = HouseFile.objects.filter(property=found.house)
    latest = rows.first()
    return {
        "owns": True,
        "latest": latest,
        "making": latest is not None and latest.state in UNFINISHED_STATES,
        "files": [
            {"row": row, "until": row.finished_at + kept.KEPT_FOR}
            for row in rows.filter(state=HouseFile.State.READY)
            if row.finished_at and kept.file_of(row).exists()
        ],
    }


@house_action
def ask(request: HttpRequest, found: Visiting) -> Done:
    """Have a file made."""
    leaving.request_house_file(house=found.house, requested_by=found.user)
    return done("The house's file is asked for.")


@house_action
def stop(request: HttpRequest, found: Visiting) -> Done:
    """Stop the one that is being made."""
    row = HouseFile.objects.filter(property=found.house, state__in=UNFINISHED_STATES).first()
    if row is None:
        return done("Nothing is being made any more.")
    leaving.cancel_house_file(row=row, by=found.user)
    return done("Stopped; nothing of it was kept.")


@house_action
def remove(request: HttpRequest, found: Visiting) -> Done:
    """Take a file away. Another is made for the asking, so there is nothing to undo."""
    wanted = id_of(request.POST.get("file", "")) or 0
    row = HouseFile.objects.filter(property=found.house, pk=wanted).first()
    if row is None:
        raise Http404
    leaving.remove_house_file(row=row, by=found.user)
    return done("The file is gone; the house is as it was.")


def done(sentence: str) -> Done:
    return Done(sentence, back=reverse("house-along"), for_plans=False)
