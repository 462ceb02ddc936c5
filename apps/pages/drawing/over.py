"""What lies over the boards in a drawing: needs, household routes, spot heights, the scale bar."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import dist, hypot

from apps.floors.shapes import Polyline
from apps.pages.drawing.parts import PlanHeight, PlanNeed, PlanWay
from apps.pages.drawing.svg import Frame, Spot, element, polygon, polyline, ringed, text

RING_MM = 170
HEIGHT_MM = 80


def need(one: PlanNeed, frame: Frame) -> str:
    """An area's edge, or a route with a dashed edge to each side as far as is needed open."""
    if one.area:
        return polygon(
            one.area,
            frame,
            fill="none",
            stroke="#000",
            stroke_width=22,
            stroke_dasharray="120 50 20 50",
        )
    band = ""
    if one.clearance_mm:
        edge = {"fill": "none", "stroke_linejoin": "round", "stroke_linecap": "butt"}
        band = polyline(
            one.route,
            frame,
            stroke="#000",
            stroke_width=2 * one.clearance_mm,
            opacity="0.08",
            **edge,
        )
    return band + polyline(
        one.route,
        frame,
        fill="none",
        stroke="#000",
        stroke_width=24,
        stroke_dasharray="160 50 24 50",
    )


def need_letters(needs: Iterable[PlanNeed], frame: Frame) -> str:
    """Whose each is: on a corner of its area or a point of its route that no other letter has."""
    taken: list[Spot] = []
    drawn = ""
    for one in needs:
        spots = [frame.at(point) for point in along(one.area or one.route)]
        free = [at for at in spots if all(dist(at, other) > 2.2 * RING_MM for other in taken)]
        at = (free or spots)[0]
        taken.append(at)
        drawn += ringed(at, one.letter, radius=RING_MM)
    return drawn


def along(line: Polyline) -> list[tuple[float, float]]:
    """The corners of a line, then the quarters of its legs."""
    legs = list(pairwise(line))
    return [
        *((float(x), float(y)) for x, y in line),
        *(
            (ax + (bx - ax) * part, ay + (by - ay) * part)
            for part in (0.5, 0.25, 0.75)
            for (ax, ay), (bx, by) in legs
        ),
    ]


def way(one: PlanWay, frame: Frame) -> str:
    """A trail of dots from where one gets up to where one goes, with its number at the start."""
    if len(one.line) < 2:
        return ""
    dots = polyline(
        one.line, frame, fill="none", stroke="#000", stroke_width=52, stroke_linecap="round",
        stroke_linejoin="round", stroke_dasharray="0 130", class_="way",
    )  # fmt: skip
    return dots + arrow(one, frame)


def arrow(one: PlanWay, frame: Frame) -> str:
    (ax, ay), (bx, by) = (frame.at(point) for point in one.line[-2:])
    length = hypot(bx - ax, by - ay) or 1
    ux, uy = (bx - ax) / length, (by - ay) / length
    corners = ((bx, by), (bx - 190 * ux + 95 * uy, by - 190 * uy - 95 * ux),
               (bx - 190 * ux - 95 * uy, by - 190 * uy + 95 * ux))  # fmt: skip
    path = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in corners) + "Z"
    return element("path", d=path, fill="#000", stroke="#fff", stroke_width=12)


def way_number(one: PlanWay, frame: Frame) -> str:
    """Its number in a square; crossed where the way does not hold."""
    if len(one.line) < 2:
        return ""
    x, y = frame.at(one.line[0])
    side = 300
    box = element(
        "rect", x=x - side / 2, y=y - side / 2, width=side, height=side, fill="#000", stroke="#fff",
        stroke_width=20,
    )  # fmt: skip
    number = element(
        "text", f"{one.number}", x=x, y=y, dy="0.35em", font_family="DejaVu Sans Mono, monospace",
        font_size=220, text_anchor="middle", fill="#fff",
    )  # fmt: skip
    cut = ""
    if not one.holds:
        cut = text((x + side * 0.95, y), "✕", size=300, mono=True)
    return box + number + cut


def height(one: PlanHeight, frame: Frame) -> str:
    x, y = frame.at(one.at)
    cross = element(
        "path",
        d=f"M{x - 45:.0f} {y:.0f}h90M{x:.0f} {y - 45:.0f}v90",
        stroke="#000",
        stroke_width=14,
    )
    return cross + text((x, y - 110), one.words, size=HEIGHT_MM, mono=True)


def scale_bar(x: float, y: float, words: str, *, metres: int, size: float) -> str:
    """A bar of whole metres with half-metre ticks; its words say how long, or at what scale."""
    long, tick = metres * 1000, size * 0.4
    ticks = "".join(f"M{x + long * part:.0f} {y - tick:.0f}v{2 * tick:.0f}" for part in (0, 0.5, 1))
    return element(
        "path", d=f"M{x:.0f} {y:.0f}h{long}{ticks}", fill="none", stroke="#000",
        stroke_width=float(size / 8), class_="scale-bar",
    ) + text((x + long + size * 0.35 * len(words), y), words, size=size)  # fmt: skip
