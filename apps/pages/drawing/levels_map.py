"""A floor's heights from above: lines of equal height between the joists, low places hatched, and
what is packed or planed at each place.

Between the places of a joist the height is taken as straight, and from joist to joist again.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import ceil

from apps.pages.drawing.svg import element, spelled, text

LEAST_WIDE, STEP = 320.0, 46.0
FLATTEST, TALLEST = 0.45, 1.4
CLOSE = 34.0
SIZE = 13.0
CELLS = 48
MOST_LINES = 6
STEPS_MM = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
BANDS = ("low", "middle")
Line = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Spot:
    """A measured place: its joist, where it is, its height, and what is done there in words."""

    joist: str
    along_mm: float
    across_mm: float
    height_mm: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Surface:
    """Heights over the floor.

    Attributes:
        across_mm: where each joist lies, from the first.
        joists: the places of each as `(along, height)`, in order.
    """

    across_mm: tuple[float, ...]
    joists: tuple[tuple[tuple[float, float], ...], ...]

    def height(self, across_mm: float, along_mm: float) -> float:
        """The height at a place [mm]; beyond the outermost places it stays as at them."""
        ends = [
            (at, straight(one, along_mm))
            for at, one in zip(self.across_mm, self.joists, strict=True)
        ]
        return straight(ends, across_mm)


def straight(points: Sequence[tuple[float, float]], at: float) -> float:
    """The value on the broken line through points in order, level beyond its ends."""
    number = bisect_right(points, at, key=lambda one: one[0])
    if number in {0, len(points)}:
        return points[0 if number == 0 else -1][1]
    (x0, y0), (x1, y1) = points[number - 1], points[number]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)


def surface_of(spots: Sequence[Spot]) -> Surface | None:
    """The surface through the spots; None for fewer than two joists."""
    found = []
    for _, rows in groupby(sorted(spots, key=lambda one: one.joist), key=lambda one: one.joist):
        places = list(rows)
        across = sum(one.across_mm for one in places) / len(places)
        heights = {one.along_mm: one.height_mm for one in places}
        found.append((across, tuple(sorted(heights.items()))))
    found.sort()
    if len({across for across, _ in found}) < max(2, len(found)):
        return None
    return Surface(tuple(across for across, _ in found), tuple(places for _, places in found))


def step_of(low_mm: float, high_mm: float) -> float:
    """How far apart in height the lines are, so that there are at most a few."""
    return next(
        (step for step in STEPS_MM if (high_mm - low_mm) / step <= MOST_LINES), STEPS_MM[-1]
    )


def contours(grid: Sequence[Sequence[float]], level: float) -> Iterator[Line]:
    """Pieces of the line of a height across a grid, in columns and rows of it.

    Each square between four heights is cut into two triangles, in which nothing is ambiguous.
    """
    for row in range(len(grid) - 1):
        for column in range(len(grid[row]) - 1):
            corners = [
                (column + dx, row + dy, grid[row + dy][column + dx])
                for dx, dy in ((0, 0), (1, 0), (1, 1), (0, 1))
            ]
            for triangle in ((0, 1, 2), (0, 2, 3)):
                crossed = [
                    crossing(corners[a], corners[b], level)
                    for a, b in zip(triangle, (*triangle[1:], triangle[0]), strict=True)
                    if (corners[a][2] < level) != (corners[b][2] < level)
                ]
                if crossed:
                    yield (*crossed[0], *crossed[1])


def crossing(
    a: tuple[float, float, float], b: tuple[float, float, float], level: float
) -> tuple[float, float]:
    share = (level - a[2]) / (b[2] - a[2])
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def levels_map(spots: Sequence[Spot], *, name: str) -> str:
    """The drawing; empty where fewer than two joists were measured, or one place along each."""
    surface = surface_of(spots)
    along = [one.along_mm for one in spots] or [0.0]
    if surface is None or max(along) - min(along) <= 0:
        return ""
    first, last = surface.across_mm[0], surface.across_mm[-1]
    start, length = min(along), max(along) - min(along)
    wide = max(LEAST_WIDE, STEP * (len(surface.across_mm) - 1))
    tall = wide * min(TALLEST, max(FLATTEST, length / (last - first)))
    grid = [
        [
            surface.height(first + (last - first) * x / CELLS, start + length * y / CELLS)
            for x in range(CELLS + 1)
        ]
        for y in range(CELLS + 1)
    ]
    low, high = min(map(min, grid)), max(map(max, grid))
    parts = [
        patterns(),
        *hatching(grid, low, high, wide / CELLS, tall / CELLS),
        element("rect", width=wide, height=tall, fill="none", stroke="#000", stroke_width=1.5),
    ]
    lines = [(at - first) / (last - first) * wide for at in surface.across_mm]
    parts += [
        element("path", d=f"M{x:.1f} 0V{tall:.1f}", stroke="#000", fill="none",
                stroke_width=1.0, stroke_dasharray="5 4")
        for x in lines
    ]  # fmt: skip
    parts += heights(grid, low, high, wide / CELLS, tall / CELLS, lines)
    # A joist close beside another has its words one line further out.
    row = dict(zip(surface.across_mm, rows_of(lines), strict=True))
    joists = marks(spots)
    for at, x in zip(surface.across_mm, lines, strict=True):
        parts.append(text((x, -(1.2 + row[at]) * SIZE), joists[at], size=SIZE))
    outer = {joist: row[at] for at, joist in joists.items()}
    for one in spots:
        x = (one.across_mm - first) / (last - first) * wide
        y = (one.along_mm - start) / length * tall
        parts += place(one, min(max(x, 0.0), wide), y, outer[one.joist])
    return element(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", role="img",
        viewBox=f"-22 {spelled(-3 * SIZE)} {spelled(wide + 44)} {spelled(tall + 6 * SIZE)}",
        class_="check-drawing", aria_label=name,
    )  # fmt: skip


def marks(spots: Sequence[Spot]) -> Mapping[float, str]:
    """Where each joist lies, with its mark."""
    by_joist: dict[str, list[float]] = {}
    for one in spots:
        by_joist.setdefault(one.joist, []).append(one.across_mm)
    return {sum(ats) / len(ats): joist for joist, ats in by_joist.items()}


def rows_of(lines: Sequence[float]) -> list[int]:
    """0 or 1 for each joist: never the same for two that are close together."""
    rows = [0]
    for before, x in pairwise(lines):
        rows.append(1 - rows[-1] if x - before < CLOSE else 0)
    return rows


def place(spot: Spot, x: float, y: float, row: int) -> list[str]:
    """A ring where nothing is to be done; else a square with how much."""
    if not spot.words:
        return [element("circle", cx=x, cy=y, r=4.0, fill="#fff", stroke="#000", stroke_width=1.5)]
    square = element("rect", class_="packer", x=x - 5, y=y - 5, width=10.0, height=10.0,
                     fill="#000", stroke="#fff", stroke_width=1.0)  # fmt: skip
    return [square, text((x, y + (1.15 + row) * SIZE), spot.words, size=SIZE, mono=True)]


def band(height: float, low: float, high: float) -> str:
    """The lowest third, the middle one, or none: the highest stays plain."""
    share = (height - low) / (high - low) if high > low else 1.0
    number = int(share * 3)
    return BANDS[number] if number < len(BANDS) else ""


def hatching(
    grid: Sequence[Sequence[float]], low: float, high: float, dx: float, dy: float
) -> Iterator[str]:
    """Strips of one band after another, row by row."""
    for row in range(CELLS):
        middles = [
            (grid[row][x] + grid[row][x + 1] + grid[row + 1][x] + grid[row + 1][x + 1]) / 4
            for x in range(CELLS)
        ]
        x = 0
        for kind, cells in groupby(band(one, low, high) for one in middles):
            many = len(list(cells))
            if kind:
                yield element("rect", x=x * dx, y=row * dy, width=many * dx, height=dy,
                              fill=f"url(#levels-{kind})")  # fmt: skip
            x += many


def heights(
    grid: Sequence[Sequence[float]], low: float, high: float, dx: float, dy: float,
    joists: Sequence[float],
) -> Iterator[str]:  # fmt: skip
    """The lines of equal height, each with its height once, where no joist is near."""
    step = step_of(low, high)
    level = ceil(low / step) * step
    if level <= low:
        level += step
    while level < high:
        pieces = list(contours(grid, level))
        d = "".join(
            f"M{spelled(x0 * dx)} {spelled(y0 * dy)}L{spelled(x1 * dx)} {spelled(y1 * dy)}"
            for x0, y0, x1, y1 in pieces
        )
        if pieces:
            yield element("path", class_="level", d=d, stroke="#000", fill="none", stroke_width=1.8)
            spots = [(x * dx, y * dy) for x, y, _, _ in pieces]
            x, y = max(spots, key=lambda one: min(abs(one[0] - joist) for joist in joists))
            said = f"{level:+g}".replace("-", "−")
            across = SIZE * 0.6 * len(said) + 4
            yield element("rect", x=x - across / 2, y=y - SIZE * 0.6, width=across,
                          height=SIZE * 1.2, fill="#fff")  # fmt: skip
            yield text((x, y), said, size=SIZE * 0.9)
        level += step


def patterns() -> str:
    paper = element("rect", width=8, height=8, fill="#fff")
    dots = element("circle", cx=4, cy=4, r=1.0, fill="#000")
    strokes = element("path", d="M-2 2L2 -2M0 8L8 0M6 10L10 6", stroke="#000", fill="none",
                      stroke_width=1.0)  # fmt: skip
    kinds = {"low": strokes, "middle": dots}
    return element(
        "defs",
        "".join(
            element("pattern", paper + inside, id=f"levels-{kind}", width=8, height=8,
                    patternUnits="userSpaceOnUse")
            for kind, inside in kinds.items()
        ),
    )  # fmt: skip
