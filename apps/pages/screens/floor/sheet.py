"""The floor on A4, to a stated scale: the drawing on its own page, then what it means."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from apps.inspections.completion.pdf import pdf_of
from apps.pages.drawing.legend import legend
from apps.pages.drawing.plan import on_paper
from apps.pages.screens.floor.read import FloorView
from apps.planning.clock import say

TEMPLATE = Path(__file__).with_name("sheet.typ")
WIDE_MM, TALL_MM = 186, 244
"""Room for the drawing on A4 upright, within margins of 12 mm and under three lines of words."""


def told_of(view: FloorView) -> dict[tuple[str, str, str, str], list[str]]:
    """Marks of the boards that are not simply fixed, by floor, state, letters and holders."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for floor in view.choice.shown:
        for one in view.boards:
            matters = one.state != "fixed" or one.held_by or one.tonight
            if one.floor_id == floor.pk and matters:
                alike = (str(floor), str(one.state), one.letters, view.held_for(one.id))
                found.setdefault(alike, []).append(one.mark)
    return found


def sheet_of(view: FloorView, *, zone: ZoneInfo) -> bytes:
    """The sheet as a PDF. One millimetre of it is `scale` millimetres of the house."""
    drawing = on_paper(
        view.plan,
        view.window,
        most_width_mm=WIDE_MM,
        most_height_mm=TALL_MM,
        layers=view.choice.layers,
    )
    told: dict[str, Any] = {
        "house": str(view.choice.house),
        "where": ", ".join(
            [view.choice.storey.name, *([str(view.choice.floor)] if view.choice.floor else [])]
        ),
        "as_of": say(view.now.astimezone(zone)),
        "scale": drawing.scale,
        "plan": drawing.svg,
        "width_mm": drawing.paper_width_mm,
        "metre_mm": round(1000 / (drawing.scale or 1), 1),
        "legend": [
            {"picture": one.swatch, "letter": "" if one.letter == "ring" else one.letter,
             "words": f"{one.kind[:-1]}: {one.words}" if one.kind != "Lines" else one.words}
            for one in legend(standing_alone=True)
        ],
        "ways": [
            {"number": str(way["number"]), "name": way["name"],
             "says": "can be walked tonight." if way["holds"] else f"CUT TONIGHT: {way['back']}"}
            for way in view.ways
        ],
        "whose": [
            {"letter": one["letter"], "name": one["name"],
             "says": f"{one['need'].purpose}, {one['need'].floor}"}
            for one in view.holders
        ],
        "boards": [[", ".join(marks), *alike] for alike, marks in told_of(view).items()],
    }  # fmt: skip
    return pdf_of(told, made_at=view.now, pictures={}, template=TEMPLATE)
