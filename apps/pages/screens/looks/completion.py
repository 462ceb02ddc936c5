"""The completion file: what is owed before it, asked for, how far it is, fetched and checked."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.inspections.completion import services
from apps.inspections.models import CompletionFile, SignOff
from apps.inspections.models.completion import UNFINISHED_STATES
from apps.inspections.owed import owed
from apps.inspections.verify import chain_trouble, condition_trouble, state_trouble
from apps.pages.actions import Done, house_action
from apps.pages.visiting import Visiting, house_page, page
from apps.property.models import Property

KINDS = (
    ("hold_point", "Not signed off"),
    ("condition", "Conditions to meet"),
    ("evidence", "Photos and papers not on file"),
    ("deviation", "Deviations to decide"),
    ("certificate", "Certificates not received"),
)


@house_page
def completion_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What is owed, and the file."""
    return page(request, found, "pages/looks/completion.html", shown(found.house), here="looks")


def shown(house: Property) -> dict[str, Any]:
    rows = owed(house)
    latest = CompletionFile.objects.filter(property=house).first()
    ready = CompletionFile.objects.filter(property=house, state=CompletionFile.State.READY).first()
    by_kind = [(word, [row for row in rows if row.kind == kind]) for kind, word in KINDS]
    return {
        "owed": len(rows),
        "groups": [(word, group) for word, group in by_kind if group],
        "latest": latest,
        "making": latest is not None and latest.state in UNFINISHED_STATES,
        "ready": ready,
        "sign_offs": SignOff.objects.filter(property=house).count(),
        "trouble": next(
            (said for look in (chain_trouble, condition_trouble, state_trouble)
             if (said := look(house))), ""
        ),
    }  # fmt: skip


@house_action
def ask(request: HttpRequest, found: Visiting) -> Done:
    """Have one made. It begins when this is written down; nothing has to be undone."""
    services.request_completion_file(house=found.house, requested_by=found.user)
    return Done("A completion file is asked for.", back=reverse("looks-completion"))
