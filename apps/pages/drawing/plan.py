"""A floor drawing put together: layers from the walls up, to scale, for a screen or for paper.

One unit of the drawing is one millimetre of the house, so that a printed width in millimetres
is the width of the window by the scale.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from apps.floors.shapes import Outline
from apps.inspections.completion.drawing import SCALES
from apps.pages.drawing import over
from apps.pages.drawing.boards import board, board_mark, patch_letters, trap
from apps.pages.drawing.hatches import patterns
from apps.pages.drawing.joists import LABEL_MM, SMALL_LABEL_MM, joist, joist_label
from apps.pages.drawing.parts import FloorPlan, Window
from apps.pages.drawing.rooms import NAME_MM, SMALL_NAME_MM, room, room_name, walls
from apps.pages.drawing.svg import Frame, bounds, element, polygon

LAYERS = ("joists", "needs", "ways", "heights")
USUAL_LAYERS = ("joists", "needs", "ways")
Detail = Literal["far", "near", "both"]
AROUND_MM = 950
"""Room around what is drawn for the marks of joists and the scale bar."""
CLOSE_LABELS_MM = 105
LEAST_LABEL_PAPER_MM = 1.6
"""Words smaller than this on paper are left out (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """One SVG and what it is as large as: in the house [mm], and on paper at 1 to `scale`."""

    svg: str
    width_mm: int
    height_mm: int
    scale: int | None = None

    @property
    def paper_width_mm(self) -> float:
        return self.width_mm / (self.scale or 1)

    @property
    def paper_height_mm(self) -> float:
        return self.height_mm / (self.scale or 1)


def window_of(outlines: Collection[Outline], around_mm: int = AROUND_MM) -> Window:
    """The window that shows some outlines with room around them; 1 m square where none is."""
    if not outlines:
        return (0, 0, 1000, 1000)
    left, low, right, high = bounds(point for outline in outlines for point in outline)
    return (
        int(left) - around_mm, int(low) - around_mm, int(right) + around_mm, int(high) + around_mm
    )  # fmt: skip


def on_screen(
    plan: FloorPlan, window: Window, *, layers: Collection[str] = LAYERS, name: str = ""
) -> Drawing:
    """For a page: every layer and both degrees of detail, told apart by class names."""
    left, low, right, high = window
    inside = content(plan, window, layers=LAYERS, detail="both", words="1 m")
    hidden = "".join(f" no-{layer}" for layer in LAYERS if layer not in layers)
    svg = element(
        "svg", inside, class_=f"floor-drawing far{hidden}", viewBox=box_of(window), role="img",
        aria_label=name, xmlns="http://www.w3.org/2000/svg",
    )  # fmt: skip
    return Drawing(svg, right - left, high - low)


def on_paper(
    plan: FloorPlan,
    window: Window,
    *,
    most_width_mm: float,
    most_height_mm: float,
    layers: Collection[str] = LAYERS,
) -> Drawing:
    """For a sheet: the largest usual scale at which the window fits, with the bar to prove it."""
    left, low, right, high = window
    width, height = right - left, high - low
    scale = scale_that_fits(width, height, most_width_mm, most_height_mm)
    close = scale * LEAST_LABEL_PAPER_MM <= CLOSE_LABELS_MM
    inside = content(
        plan, window, layers=layers, detail="near" if close else "far", words=f"1 m at 1:{scale}"
    )
    svg = element(
        "svg", inside, viewBox=box_of(window), width=f"{width / scale:.2f}mm",
        height=f"{height / scale:.2f}mm", xmlns="http://www.w3.org/2000/svg",
    )  # fmt: skip
    return Drawing(svg, width, height, scale)


def scale_that_fits(width: float, height: float, most_width: float, most_height: float) -> int:
    """The largest usual scale at which width × height [mm in the house] fits on paper."""
    return next(
        (s for s in SCALES if width / s <= most_width and height / s <= most_height), SCALES[-1]
    )


def box_of(window: Window) -> str:
    left, low, right, high = window
    return f"0 0 {right - left} {high - low}"


def content(
    plan: FloorPlan, window: Window, *, layers: Collection[str], detail: Detail, words: str
) -> str:
    left, low, _, high = window
    frame = Frame(left, high)
    rooms = [one.outline for one in plan.rooms]
    bar = max(160, (high - low) // 60)
    # A screen's stylesheet makes them smaller from close by.
    label, name = (SMALL_LABEL_MM, SMALL_NAME_MM) if detail == "near" else (LABEL_MM, NAME_MM)
    far, near = detail != "near", detail != "far"
    edge = {
        "fill": "none",
        "stroke": "#000",
        "stroke_width": 10,
        "stroke_dasharray": "220 60 30 60",
    }
    # Heavy edges last, or the next board's thin one lies over them.
    boards = sorted(plan.boards, key=lambda one: bool(one.tonight))
    parts = [
        patterns(),
        group("rooms", (room(one, frame) for one in plan.rooms)),
        element(
            "g",
            "".join(board(one, frame) for one in boards),
            class_="boards", stroke="#000", stroke_width=7,
        ),
        group("walls", [walls(plan.rooms, plan.doorways, window)]),
        group("floors", (polygon(outline, frame, **edge) for outline in plan.floors)),
    ]  # fmt: skip
    if "joists" in layers:
        parts.append(
            element(
                "g",
                "".join(joist(one, frame) for one in plan.joists),
                class_="joists",
                stroke="#000",
            )
        )
    parts.append(group("traps", (trap(one, frame) for one in plan.boards if one.trapped)))
    if "needs" in layers:
        parts.append(group("needs", (over.need(one, frame) for one in plan.needs)))
    if "ways" in layers:
        parts.append(group("walks", (over.way(one, frame) for one in plan.ways)))
    if near:
        parts.append(group("only-near", (board_mark(one, frame) for one in plan.boards)))
    if far:
        parts.append(group("only-far", [patch_letters(plan.boards, frame)]))
    if "joists" in layers:
        parts.append(
            group("joists", (joist_label(one, frame, rooms, size=label) for one in plan.joists))
        )
    if "heights" in layers and near:
        parts.append(group("heights only-near", (over.height(one, frame) for one in plan.heights)))
    parts.append(group("names", (room_name(one, frame, size=name) for one in plan.rooms)))
    if "needs" in layers and far:
        # Closer by, every board carries the letters of those who need it.
        parts.append(group("needs only-far", [over.need_letters(plan.needs, frame)]))
    if "ways" in layers:
        parts.append(group("walks", (over.way_number(one, frame) for one in plan.ways)))
    parts.append(over.scale_bar(bar, high - low - bar, words, metres=1, size=bar))
    return "".join(parts)


def group(name: str, parts: object) -> str:
    return element("g", "".join(parts), class_=name)  # type: ignore[arg-type]
