"""Boards that stay open for a visit: which, as what, and until when."""

from __future__ import annotations

import re
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from apps.floors.models import Board, Floor, Joist
from apps.pages.screens.house.fields import Folds, HouseForm, TypedLength, date_field
from apps.trades.models import AccessNeed, Visit

MOST_MARKS = 60
OPEN_AS = [("up", "up, out of the way"), ("unfixed", "lying loose, fixed by nothing")]
ENDS = [("visit_done", "until they have been"), ("date", "until a day")]


class NewNeed(HouseForm):
    quiet_folds = ("Beside a joist",)
    folds: ClassVar[Folds] = (("Beside a joist", ("clearance_mm",)),)

    floor = forms.ModelChoiceField(Floor.objects.all(), label="On which floor", empty_label=None)
    marks = forms.CharField(
        max_length=400, required=False, label="Which boards, or over which joists",
        help_text="Their marks, like B3.2, B4.2 or J7. Empty: the whole floor.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )  # fmt: skip
    purpose = forms.CharField(
        max_length=200, label="What for", help_text="Like: cable to the bed wall."
    )
    open_as = forms.ChoiceField(label="They are", choices=OPEN_AS)
    until = forms.ChoiceField(label="It ends", choices=ENDS)
    until_date = date_field("Which day", help_text="Only for “until a day”.")
    clearance_mm = TypedLength(
        required=False, initial="150", label="Room they need on each side of it"
    )

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        on_a_day, day = found.get("until") == "date", found.get("until_date")
        if on_a_day and not day and "until_date" not in self.errors:
            self.add_error("until_date", "Say until which day.")
        if day and not on_a_day:
            self.add_error("until", "With a day, choose “until a day”.")
        if "floor" in found and "marks" in found:
            try:
                found["places"] = places(found["floor"], found["marks"])
            except ValidationError as exc:
                self.add_error("marks", exc)
        return found


def places(floor: Floor, written: str) -> list[dict[str, Any]]:
    """What is opened: areas of boards, and routes along joists.

    Raises:
        ValidationError: for a mark that the floor does not have.
    """
    marks = dict.fromkeys(re.findall(r"[^\s,;]+", written.upper()))
    if not marks:
        return [{"area": floor.outline}]
    if len(marks) > MOST_MARKS:
        raise ValidationError(f"At most {MOST_MARKS} marks at once.")
    boards = {row.mark.upper(): row for row in Board.objects.filter(floor=floor)}
    joists = {row.mark.upper(): row for row in Joist.objects.filter(floor=floor)}
    if unknown := [mark for mark in marks if mark not in boards and mark not in joists]:
        raise ValidationError(f"There is no {', '.join(unknown[:5])} on {floor}.")
    areas = areas_of([boards[mark] for mark in marks if mark in boards])
    return [*areas, *({"route": joists[mark].line} for mark in marks if mark not in boards)]


def areas_of(boards: list[Board]) -> list[dict[str, Any]]:
    # The geometry library takes a while to load: only when boards are named.
    from apps.floors.patches import patches  # noqa: PLC0415
    from apps.floors.shapes import points  # noqa: PLC0415

    if not boards:
        return []
    rings = patches([points(board.outline) for board in boards])
    return [{"area": [list(point) for point in ring]} for ring in rings]


def until_words(need: AccessNeed) -> str:
    """Until when boards are open, or since when they are not held any more, and why."""
    if need.released_at:
        return f"not held any more: {need.release_note}" if need.release_note else "released"
    if need.until == "date" and need.until_date:
        return f"until {need.until_date:%d %B %Y}"
    return UNTIL.get(need.until, "")


UNTIL = {
    "visit_done": "until they have been",
    "task_done": "until the task is done",
    "signed_off": "until it is signed off",
}


def lines_of(visit: Visit) -> list[dict[str, Any]]:
    """What is opened for a visit, as its page shows it."""
    needs = AccessNeed.objects.filter(visit=visit).select_related("floor")
    return [
        {
            "need": need,
            "until": until_words(need),
            "held": need.released_at is None,
            "by_hand": bool(need.release_note),
        }
        for need in needs
    ]
