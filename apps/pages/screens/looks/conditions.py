"""What was passed only on a promise: met, with how and a photo, and open again after a slip."""

from __future__ import annotations

from django.http import HttpRequest
from django.urls import reverse

from apps.inspections import services
from apps.inspections.evidence import services as evidence_services
from apps.pages.actions import Done, house_action, moment, photo_name
from apps.pages.base import Undo
from apps.pages.screens.looks.rows import condition_of
from apps.pages.visiting import Visiting
from renovation.errors import field_problem

LONGEST_NOTE = 1000


@house_action
def clear(request: HttpRequest, found: Visiting, condition_id: int) -> Done:
    """Note that a condition is met, and how."""
    condition = condition_of(found, condition_id)
    note = request.POST.get("how", "").strip()
    if not note or len(note) > LONGEST_NOTE:
        raise field_problem("/how", f"Say how it was met, in up to {LONGEST_NOTE} letters.")
    if found.photo:
        evidence_services.keep_evidence(
            looked=found.photo, house=found.house, condition=condition,
            title=f"Met: {condition}"[:200], uploaded_by=found.user,
            original_name=photo_name(request),
        )  # fmt: skip
    services.clear_condition(
        condition=condition, note=note, at=moment(request, found), by=found.user
    )
    undo = Undo(reverse("looks-clear-back", args=[condition.pk]))
    back = reverse("looks-inspection", args=[condition.sign_off.inspection_id])
    return Done(f"Met: {condition}", back=back, undo=undo)


@house_action
def open_again(request: HttpRequest, found: Visiting, condition_id: int) -> Done:
    """Undo: it is still to be met."""
    condition = condition_of(found, condition_id)
    services.open_condition_again(condition=condition)
    back = reverse("looks-inspection", args=[condition.sign_off.inspection_id])
    return Done(f"Open again: {condition}", back=back)
