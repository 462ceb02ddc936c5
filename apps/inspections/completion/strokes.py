"""What drawings are made of: sheets to scale, outlines and words in SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape  # nosec B406 # it writes XML and reads none

MARGIN_PAPER_MM = 11.0
PATTERNS = (
    '<defs><pattern id="lifted" width="1.8" height="1.8" patternUnits="userSpaceOnUse">'
    '<path d="M0 1.8L1.8 0" stroke="#666" stroke-width="0.16"/></pattern>'
    '<pattern id="open" width="0.9" height="0.9" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L0.9 0.9" stroke="#666" stroke-width="0.14"/></pattern>'
    '<pattern id="crossed" width="0.7" height="0.7" patternUnits="userSpaceOnUse">'
    '<path d="M0 0.7L0.7 0M0 0L0.7 0.7" stroke="#000" stroke-width="0.14"/></pattern></defs>'
)

Point = tuple[float, float]
Window = tuple[float, float, float, float]


@dataclass(frozen=True)
class Drawing:
    """One SVG, its size on paper [mm] and its scale, 1 to `scale`."""

    svg: str
    width_mm: float
    height_mm: float
    scale: int


@dataclass(frozen=True)
class Sheet:
    """Where the house's millimetres come to lie on paper."""

    left: float
    top: float
    scale: int

    def at(self, point: Sequence[float]) -> Point:
        return (
            (point[0] - self.left) / self.scale + MARGIN_PAPER_MM,
            (self.top - point[1]) / self.scale + MARGIN_PAPER_MM,
        )


def document(width: float, height: float, inside: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{paper(width)}mm" '
        f'height="{paper(height)}mm" viewBox="0 0 {paper(width)} {paper(height)}">'
        f"{PATTERNS}{inside}</svg>"
    )


def paper(value: float) -> str:
    """A length on paper, to a hundredth of a millimetre, the same on every machine."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def box(x: float, y: float, width: float, height: float, style: str) -> str:
    sides = f'x="{paper(x)}" y="{paper(y)}" width="{paper(width)}" height="{paper(height)}"'
    return f"<rect {sides} {style}/>"


def outline_of(points: Sequence[Sequence[float]], sheet: Sheet, style: str) -> str:
    said = " ".join(",".join(paper(value) for value in sheet.at(point)) for point in points)
    return f'<polygon points="{said}" {style}/>'


def text(
    at: Point, words: str, *, size: float, turn: float = 0.0, mono: bool = False, edge: float = 0.7
) -> str:
    """A word in the drawing, with a white edge so that it reads over lines."""
    font = "DejaVu Sans Mono" if mono else "Libertinus Serif"
    x, y = paper(at[0]), paper(at[1])
    turned = f' transform="rotate({paper(turn)} {x} {y})"' if turn else ""
    return (
        f'<text x="{x}" y="{y}" font-family="{font}" font-size="{size}" text-anchor="middle" '
        f'dominant-baseline="central" stroke="#fff" stroke-width="{edge}" paint-order="stroke"'
        f"{turned}>{escape(words)}</text>"
    )


def bounds(points: Sequence[Sequence[float]]) -> Window:
    xs, ys = [point[0] for point in points], [point[1] for point in points]
    return min(xs), min(ys), max(xs), max(ys)


def meets(points: Sequence[Sequence[float]], window: Window) -> bool:
    left, low, right, high = bounds(points)
    return left < window[2] and right > window[0] and low < window[3] and high > window[1]
