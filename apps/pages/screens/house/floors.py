"""A floor over a room: shown before it is kept, joists and boards and all."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from apps.floors.models import Floor
from apps.floors.services import computed_set_out, set_out_floor
from apps.pages.drawing.svg import Frame, bounds, element, polygon, polyline
from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, TypedLength, TypedSize
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting, house_page
from apps.property.models import Property, Room
from renovation.errors import Problem


class NewFloor(HouseForm):
    room = forms.ModelChoiceField(Room.objects.all(), label="Under which room")
    boards_run_deg = forms.TypedChoiceField(
        label="The boards run", coerce=int, choices=[(0, "across the plan"), (90, "up the plan")]
    )
    board_cover_width_mm = TypedLength(label="Width a board shows", initial="150")
    board_thickness_mm = TypedLength(label="Thickness of the boards", initial="21")
    board_edge = forms.ChoiceField(
        label="Edges", choices=[("square", "square"), ("tongued", "tongued and grooved")]
    )
    joists = TypedSize(label="Joists, breadth x depth", initial="50 x 150")
    joist_centres_mm = TypedLength(label="Joists, centre to centre", initial="400")
    first_joist_mm = TypedLength(label="Corner to the centre of the first joist", initial="50")
    max_board_length_mm = TypedLength(label="Longest board", initial="4800")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        # The room typed last is most likely the one meant, and is drawn at once.
        self.fields["room"].initial = (
            Room.objects.filter(property=self.house).order_by("-pk").first()
        )


class ChangedFloor(HouseForm):
    """What may be said anew of a floor that is set out: the rest is its joists and boards."""

    name = forms.CharField(max_length=60, label="Name")
    void_depth_mm = TypedLength(
        required=False, label="Depth of the void", help_text="From the boards to the ground."
    )


TYPED = ("name", "boards_run_deg", "board_cover_width_mm", "board_thickness_mm", "board_edge",
         "joist_centres_mm", "joist_breadth_mm", "joist_depth_mm")  # fmt: skip


def floor_of(house: Property, said: dict[str, Any]) -> tuple[Floor, dict[str, Any]]:
    """The floor as its row would be, and how it is set out."""
    room, (breadth, depth) = said["room"], said["joists"]
    names = ("boards_run_deg", "board_cover_width_mm", "board_thickness_mm", "board_edge",
             "joist_centres_mm")  # fmt: skip
    floor = Floor(
        property=house, storey=room.storey, name=f"{room.name} floor"[:60], outline=room.outline,
        joist_breadth_mm=breadth, joist_depth_mm=depth, **{name: said[name] for name in names},
    )  # fmt: skip
    how = {name: said[name] for name in ("first_joist_mm", "max_board_length_mm")}
    return floor, {**how, "first_board_mm": None}


def save_floor(found: Visiting, said: dict[str, Any]) -> list[Floor]:
    typed, how = floor_of(found.house, said)
    fields = {"property": found.house, "storey": typed.storey, "outline": typed.outline}
    fields |= {name: getattr(typed, name) for name in TYPED}
    floor = write(KINDS["floor"], found, fields)
    set_out_floor(floor=floor, dry_run=False, **how)
    return [floor]


def floor_as_typed(row: Floor) -> dict[str, Any]:
    return {"name": row.name, "void_depth_mm": str(row.void_depth_mm or "")}


def floor_lines(house: Property) -> Iterable[Line]:
    rows = Floor.objects.filter(property=house)
    rows = rows.annotate(boards_there=Count("boards", distinct=True),
                         joists_there=Count("joists", distinct=True))  # fmt: skip
    for row in rows:
        facts = f"{row.joists_there} joists, {row.boards_there} boards"
        yield Line("floor", row.pk, row.name, facts)


@house_page
def preview(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The floor as it would be set out; nothing is kept."""
    form = NewFloor(request.GET, house=found.house)
    shown: dict[str, Any] = {"trouble": "Fill in the sizes and it is drawn here."}
    if form.is_valid():
        try:
            shown = drawn(found.house, form.cleaned_data)
        except Problem as exc:
            told = [error["detail"] for error in exc.errors or [] if "detail" in error]
            shown = {"trouble": " ".join(told) or exc.detail}
    return render(request, "pages/house/preview.html", shown)


def drawn(house: Property, said: dict[str, Any]) -> dict[str, Any]:
    floor, how = floor_of(house, said)
    laid = computed_set_out(floor, **how)
    left, low, right, high = bounds(floor.outline)
    frame = Frame(left, high)
    boards = "".join(
        polygon(one.outline, frame, fill="#fff", stroke="#000", stroke_width=8)
        for one in laid.boards
    )
    joists = "".join(
        polyline(one.line, frame, fill="none", stroke="#000", stroke_width=16,
                 stroke_dasharray="90 60")
        for one in laid.joists
    )  # fmt: skip
    words = f"{len(laid.joists)} joists and {len(laid.boards)} boards"
    svg = element(
        "svg", boards + joists, viewBox=f"-30 -30 {right - left + 60} {high - low + 60}",
        role="img", aria_label=words, class_="drawing house-plan",
    )  # fmt: skip
    # Numbers only: no words of anybody's are in it.
    return {"svg": as_drawn(svg), "words": f"{words}. Nothing is kept yet."}
