"""Forces in a lapped joist: two pieces side by side, joined by columns of fixings.

The new piece runs from the left support past the saw cut; the old one from the cut to the right
support. Each rests on one support, so all that holds them straight is the couple of the fixings:
the whole is statically determinate once the fixings share a moment by their distance from their
middle, as rivets do. N and mm; loads down, moments sagging, forces of the fixings up on the new
piece. General statics; checked in tests against a frame solver.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from apps.checks.statics import SHEAR_SHAPE, Points, moment_at

TINY_MM = 1e-6  # to either side of a place where the shear jumps


@dataclass(frozen=True, slots=True, kw_only=True)
class LapShape:
    """Where things are, from the left support.

    Attributes:
        cut: the old joist's sawn end; tip: the new piece's end.
        columns: places of the fixings; rows: how many in each.
        on_old: share of the load along the lap that stands on the old joist.
    """

    span: float
    cut: float
    tip: float
    columns: tuple[float, ...]
    rows: int
    on_old: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LapState:
    """A lapped joist under a spread load and point loads.

    Attributes:
        reaction: at the left support, under the new piece.
        turning: moment that the fixings pass on, about their middle.
        fixings: force of each column on the new piece, all its fixings together.
        on_new: the point loads that stand on the new piece.
        breaks: places between which moments and shears run smoothly.
    """

    shape: LapShape
    w: float
    points: Points
    reaction: float
    turning: float
    fixings: tuple[float, ...]
    on_new: Points
    breaks: tuple[float, ...]

    def moment(self, x: float) -> float:
        """In both pieces together."""
        return moment_at(x, self.w, self.points, self.shape.span)

    def moment_new(self, x: float) -> float:
        """In the new piece; 0 beyond its tip."""
        shape = self.shape
        if x >= shape.tip:
            return 0.0
        share = 1 - shape.on_old
        lapped = max(x - shape.cut, 0.0)
        bare = min(x, shape.cut)
        moment = self.reaction * x - self.w * bare * (x - bare / 2) - self.w * share * lapped**2 / 2
        for load, at in self.on_new:
            moment -= load * max(x - at, 0.0)
        for force, at in zip(self.fixings, shape.columns, strict=True):
            moment += force * max(x - at, 0.0)
        return moment

    def shear_new(self, x: float) -> float:
        """In the new piece; 0 beyond its tip."""
        shape = self.shape
        if x >= shape.tip:
            return 0.0
        lapped = max(x - shape.cut, 0.0)
        shear = self.reaction - self.w * (min(x, shape.cut) + (1 - shape.on_old) * lapped)
        shear -= sum(load for load, at in self.on_new if at < x)
        return shear + sum(
            force for force, at in zip(self.fixings, shape.columns, strict=True) if at < x
        )

    def moment_old(self, x: float) -> float:
        """In the old joist; 0 before the cut."""
        return 0.0 if x <= self.shape.cut else self.moment(x) - self.moment_new(x)

    def shear_old(self, x: float) -> float:
        """In the old joist; 0 before the cut."""
        if x <= self.shape.cut:
            return 0.0
        whole = self.reaction - self.w * x - sum(load for load, at in self.points if at < x)
        return whole - self.shear_new(x)

    @property
    def hardest(self) -> float:
        """The greatest force on one fixing."""
        return max(abs(force) for force in self.fixings) / self.shape.rows

    def greatest(
        self, of: Callable[[float], float], low: float = 0.0, high: float | None = None
    ) -> float:
        """The greatest size of a moment or a shear on a stretch, looked for at every break."""
        end = self.shape.span if high is None else high
        places = sorted({low, end, *(x for x in self.breaks if low < x < end)})
        return max(
            _peak(of, left + TINY_MM, right - TINY_MM)
            for left, right in pairwise(places)
            if right - left > 3 * TINY_MM
        )


def lap_state(shape: LapShape, w: float, points: Points) -> LapState:
    """The forces of the fixings under a load: they hold the new piece still.

    A point load on the lap stands on the old joist, or in part, by `on_old`.
    """
    span = shape.span
    reaction = w * span / 2 + sum(load * (span - at) for load, at in points) / span
    lap = shape.tip - shape.cut
    on_new = _on_new(shape, points)
    share = 1 - shape.on_old
    loads = [
        (w * shape.cut, shape.cut / 2),
        (w * share * lap, shape.cut + lap / 2),
        *on_new,
        (-reaction, 0.0),
    ]
    middle = sum(shape.columns) / len(shape.columns)
    spread = sum((at - middle) ** 2 for at in shape.columns)
    down = sum(load for load, _ in loads)
    turning = sum(load * (at - middle) for load, at in loads)
    fixings = tuple(
        down / len(shape.columns) + turning * (at - middle) / spread for at in shape.columns
    )
    breaks = {0.0, shape.cut, shape.tip, span / 2, span, *shape.columns}
    breaks.update(at for _, at in points if 0 < at < span)
    return LapState(
        shape=shape,
        w=w,
        points=points,
        reaction=reaction,
        turning=turning,
        fixings=fixings,
        on_new=tuple(on_new),
        breaks=tuple(sorted(breaks)),
    )


def _peak(of: Callable[[float], float], left: float, right: float) -> float:
    """The greatest size of a parabola on a stretch: at an end or at its top."""
    start, middle, end = of(left), of((left + right) / 2), of(right)
    found = [abs(start), abs(end)]
    bend = start - 2 * middle + end
    if bend:
        top = (start - end) / (2 * bend)  # from the middle, in half stretches
        if -1 < top < 1:
            found.append(abs(middle + (end - start) / 2 * top + bend / 2 * top * top))
    return max(found)


def _on_new(shape: LapShape, points: Points) -> list[tuple[float, float]]:
    found = []
    for load, at in points:
        if at < shape.cut:
            found.append((load, at))
        elif at < shape.tip and shape.on_old < 1:
            found.append((load * (1 - shape.on_old), at))
    return found


def sag_of_timber(
    state: LapState, unit: LapState, new: tuple[float, float], old: tuple[float, float]
) -> float:
    """Sag at mid-span from the bending and shear of both pieces, by virtual work.

    Args:
        unit: the same joist under a load of 1 at mid-span.
        new, old: EI and GA of each piece.
    """
    total = 0.0
    for low, high in pairwise(sorted({*state.breaks, *unit.breaks})):
        start, end = low + TINY_MM, high - TINY_MM
        for factor, x in ((1, start), (4, (low + high) / 2), (1, end)):
            work = state.moment_new(x) * unit.moment_new(x) / new[0]
            work += state.moment_old(x) * unit.moment_old(x) / old[0]
            work += SHEAR_SHAPE * state.shear_new(x) * unit.shear_new(x) / new[1]
            work += SHEAR_SHAPE * state.shear_old(x) * unit.shear_old(x) / old[1]
            total += factor * work * (high - low) / 6
    return total


def sag_of_slip(state: LapState, unit: LapState, k_column: float) -> float:
    """Sag at mid-span from the slip of the fixings; `k_column` is the slip force of a column."""
    pairs = zip(state.fixings, unit.fixings, strict=True)
    return sum(real * virtual for real, virtual in pairs) / k_column


def sag_of_clearance(unit: LapState, clearance_mm: float) -> float:
    """Sag at mid-span when every column slides by the clearance of its holes before it bears.

    Each group moves as one, so its columns' shares are added.
    """
    half = len(unit.fixings) // 2
    near, far = sum(unit.fixings[:half]), sum(unit.fixings[half:])
    return clearance_mm * (abs(near) + abs(far))
