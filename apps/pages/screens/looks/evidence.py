"""Photos and documents: all that is on file, one added, one taken back."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest
from django.urls import reverse

from apps.inspections.evidence import services
from apps.inspections.models import Evidence
from apps.inspections.selectors import missing_evidence
from apps.pages.actions import Done, house_action, photo_name
from apps.pages.base import Undo
from apps.pages.screens.looks.rows import named, row_of
from apps.pages.visiting import Visiting
from renovation.errors import Problem, field_problem

A_PAGE = 24
LINKS = ("inspection", "condition", "deviation", "certificate", "finding")


def shown(found: Visiting, *, number: str) -> dict[str, Any]:
    """A page of the gallery, and what is still asked for."""
    rows = Evidence.objects.filter(property=found.house).select_related(*LINKS).order_by("-pk")
    leaf = Paginator(rows, A_PAGE).get_page(number)
    return {
        "leaf": leaf,
        "shown": [{"row": row, "of": of_what(row)} for row in leaf],
        "missing": missing_evidence(found.house),
        "looks": found.house.inspections.order_by("pk"),
    }


def of_what(row: Evidence) -> str:
    """What it is evidence of, as that is called."""
    links = [getattr(row, name) for name in LINKS]
    return ", ".join(str(link) for link in links if link)


@house_action
def add(request: HttpRequest, found: Visiting) -> Done:
    """Keep a photo or a PDF. `for` is a look's id, with the key of what it asks for."""
    if found.photo is None:
        raise field_problem("/photo", "Pick a photo or a PDF.")
    title = request.POST.get("title", "").strip()
    look, _, key = request.POST.get("for", "").partition(":")
    inspection = named(found.house.inspections.all(), look)
    asked = (
        {item["key"]: item["title"] for item in inspection.required_evidence} if inspection else {}
    )
    if key and key not in asked:
        raise field_problem("/for", "That look does not ask for this.")
    title = title or asked.get(key, "")
    if not title or len(title) > 200:
        raise field_problem("/title", "Say what it shows, in up to 200 letters.")
    kept = services.keep_evidence(
        looked=found.photo, house=found.house, title=title, inspection=inspection,
        requirement=key, uploaded_by=found.user, original_name=photo_name(request),
    )  # fmt: skip
    undo = Undo(reverse("looks-evidence-remove", args=[kept.pk]))
    return Done(f"On file: {kept}.", back=back_of(request), undo=undo)


def back_of(request: HttpRequest) -> str:
    """The page of the looks that the form was on."""
    back = request.POST.get("back", "")
    return back if back.startswith(reverse("looks")) else reverse("looks-evidence")


@house_action
def remove(request: HttpRequest, found: Visiting, evidence_id: int) -> Done:
    """Undo: it goes, unless something was signed off on it."""
    row = row_of(Evidence.objects.filter(property=found.house), evidence_id)
    if row.decided_deviations.exists():
        raise Problem("evidence-signed-off", f"A deviation was decided on “{row}”: it stays.")
    title = row.title
    services.remove_evidence(evidence=row)
    return Done(f"Removed: {title}.", back=reverse("looks-evidence"))
