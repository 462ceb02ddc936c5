"""The boards' frame: the plan turned so that boards run along x from the corner of the marks."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from math import cos, radians, sin

from shapely import Polygon

from apps.floors.shapes import Outline, Point, points
from apps.property.outlines import closed_ring, turn

QUARTERS: dict[float, tuple[float, float]] = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}


@dataclass(frozen=True, slots=True)
class Frame:
    """A turn and a shift. Quarter turns are exact.

    Attributes:
        cosine, sine: of the boards' direction.
        along, across: coordinates of the corner after the turn [mm].
    """

    cosine: float
    sine: float
    along: float
    across: float

    @classmethod
    def of(cls, outline: Outline, boards_run_deg: float) -> Frame:
        """The frame whose corner is the outline's least point along and across the run."""
        angle = boards_run_deg % 360
        cosine, sine = QUARTERS.get(angle, (cos(radians(angle)), sin(radians(angle))))
        unshifted = cls(cosine, sine, 0, 0)
        turned = [unshifted.seen(point) for point in outline]
        return cls(cosine, sine, min(u for u, _ in turned), min(v for _, v in turned))

    @property
    def corner(self) -> Point:
        """The corner on the plan [mm]. It may lie outside the outline."""
        return self.on_plan(0, 0)

    def seen(self, point: Point) -> tuple[float, float]:
        """A point of the plan, along and across the boards from the corner [mm]."""
        x, y = point
        return (
            x * self.cosine + y * self.sine - self.along,
            y * self.cosine - x * self.sine - self.across,
        )

    def turned(self, outline: Outline) -> Polygon:
        """An outline of the plan in this frame."""
        return Polygon([self.seen(point) for point in outline])

    def on_plan(self, along: float, across: float) -> Point:
        """A place in this frame as a point of the plan, to the nearest whole mm."""
        u, v = along + self.along, across + self.across
        return round(u * self.cosine - v * self.sine), round(u * self.sine + v * self.cosine)

    def outline(self, shape: Polygon) -> Outline:
        """A polygon of this frame as an outline of the plan.

        Begins at its least point and has no points on straight lines.
        """
        # Corners less than a millimetre apart become one point, or both would look straight.
        ring = [point for point, _ in groupby(self.on_plan(u, v) for u, v in shape.exterior.coords)]
        ring = ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring
        kept: list[Point] = []
        for count, point in enumerate(ring):
            before, after = kept[-1] if kept else ring[-1], ring[(count + 1) % len(ring)]
            if turn(before, point, after) != 0:
                kept.append(point)
        least = kept.index(min(kept))
        return points(closed_ring(kept[least:] + kept[:least]))
