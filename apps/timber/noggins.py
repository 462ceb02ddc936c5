"""How long noggins or struts between joists are cut: clear gaps, grouped by equal length.

Standard library only. Lengths are whole millimetres.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[int, int]

SMALLEST_GAP_MM = 50
"""Joists nearer than this are doubled, and nothing goes between (common practice, no source)."""

PARALLEL_DEG = 5.0
"""Joists within this of most of the floor's run the same way; others are trimmers."""

NEAR = 1e-6  # for what arithmetic leaves of a whole millimetre


class NoJoists(ValueError):
    """There are no two joists beside each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joist:
    """A joist by its centre line in plan [mm]. A missing one leaves its bays unmeasured."""

    mark: str
    line: tuple[Point, Point]
    breadth_mm: int
    missing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """So many pieces of one length, and the rule the length came from."""

    length_mm: int
    quantity: int
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bays:
    """What goes between the joists, longest first; and what was left out, in sentences."""

    groups: tuple[Group, ...]
    left_out: tuple[str, ...]


def between(
    joists: Sequence[Joist], *, at_mm: Iterable[int] | None, rows: int, allowance_mm: int
) -> Bays:
    """Pieces for rows square across the joists, each the clear gap less an allowance.

    The clear gap is between the near faces of neighbouring joists where the row crosses them:
    the distance of their centre lines less half of each breadth, rounded down.

    Args:
        joists: of one floor; those that do not run with most others are passed over.
        at_mm: where the rows are, along the joists from the lower end of the first [mm];
            None: `rows` of them, evenly spread along the shortest stretch that all share.
        allowance_mm: 0 to 2 mm, so that they slip in without pushing the joists apart.

    Raises:
        NoJoists: when fewer than two joists run side by side.
        ValueError: when a row crosses no two joists.
    """
    way = direction(joists)
    spans = [Span.of(joist, way) for joist in joists if runs_with(joist, way)]
    if len(spans) < 2:
        raise NoJoists("there are no two joists side by side; set it out first.")
    origin = min(span.start for span in spans)
    left_out = [
        f"{joist.mark} runs across the others: measure what meets it by hand."
        for joist in joists
        if not runs_with(joist, way)
    ]
    counted: Counter[tuple[int, int]] = Counter()
    for row in row_positions(spans, origin, at_mm, rows):
        crossed = sorted(
            (span for span in spans if span.start - NEAR <= row <= span.end + NEAR),
            key=lambda span: span.across(row),
        )
        if len(crossed) < 2:
            raise ValueError(f"A row {round(row - origin)} mm along crosses no two joists.")
        for one, other in pairwise(crossed):
            gap = math.floor(
                other.across(row) - one.across(row) - (one.breadth_mm + other.breadth_mm) / 2
                + NEAR
            )  # fmt: skip
            if one.missing or other.missing:
                gone = one if one.missing else other
                left_out.append(
                    f"Between {one.mark} and {other.mark}: {gone.mark} is missing; measure "
                    "when it is in."
                )
            elif gap >= SMALLEST_GAP_MM:
                counted[gap - allowance_mm, gap] += 1
    return Bays(
        groups=tuple(
            Group(length_mm=length, quantity=count, rule=rule(gap, allowance_mm))
            for (length, gap), count in sorted(counted.items(), reverse=True)
        ),
        left_out=tuple(dict.fromkeys(left_out)),
    )


def rule(gap_mm: int, allowance_mm: int) -> str:
    if not allowance_mm:
        return f"Clear gap of {gap_mm} mm between joists."
    return f"Clear gap of {gap_mm} mm between joists, less {allowance_mm} mm."


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A joist in the frame of the joists' run: `start` to `end` along, a line across."""

    mark: str
    breadth_mm: int
    missing: bool
    start: float
    end: float
    across_at_start: float
    across_at_end: float

    @classmethod
    def of(cls, joist: Joist, way: tuple[float, float]) -> Span:
        # Across is to the right of joists that run up, and up from those that run right.
        right = (way[1], -way[0]) if way[1] >= way[0] else (-way[1], way[0])
        ends = sorted((x * way[0] + y * way[1], x * right[0] + y * right[1]) for x, y in joist.line)
        return cls(
            mark=joist.mark, breadth_mm=joist.breadth_mm, missing=joist.missing,
            start=ends[0][0], end=ends[1][0],
            across_at_start=ends[0][1], across_at_end=ends[1][1],
        )  # fmt: skip

    def across(self, along: float) -> float:
        part = (along - self.start) / (self.end - self.start)
        return self.across_at_start + part * (self.across_at_end - self.across_at_start)


def row_positions(
    spans: Sequence[Span], origin: float, at_mm: Iterable[int] | None, rows: int
) -> list[float]:
    if at_mm is not None:
        return [origin + at for at in sorted(set(at_mm))]
    first, last = max(span.start for span in spans), min(span.end for span in spans)
    if first >= last:
        raise ValueError("No row crosses all the joists; say where the rows are.")
    return [first + (last - first) * row / (rows + 1) for row in range(1, rows + 1)]


def direction(joists: Sequence[Joist]) -> tuple[float, float]:
    """The way most joists run, by their length; a unit vector pointing up or right."""
    angles = [angle(joist) for joist in joists]
    if not angles:
        return 1.0, 0.0
    best = max(angles, key=lambda mine: sum(apart(mine, other) < PARALLEL_DEG for other in angles))
    return math.cos(math.radians(best)), math.sin(math.radians(best))


def angle(joist: Joist) -> float:
    """The way a joist runs, 0 up to 180 degrees."""
    (x1, y1), (x2, y2) = joist.line
    return math.degrees(math.atan2(y2 - y1, x2 - x1)) % 180.0


def apart(one: float, other: float) -> float:
    """How far two ways are from each other, 0 to 90 degrees."""
    difference = abs(one - other) % 180.0
    return min(difference, 180.0 - difference)


def runs_with(joist: Joist, way: tuple[float, float]) -> bool:
    return apart(angle(joist), math.degrees(math.atan2(way[1], way[0]))) < PARALLEL_DEG
