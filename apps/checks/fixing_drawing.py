"""A fixing pattern drawn as SVG: the overlap seen from the side, every fixing, every distance."""

from __future__ import annotations

from html import escape
from itertools import pairwise

from apps.checks.fixing_patterns import Pattern

MARGIN_MM = 90  # room for the dimensions round the timber
TEXT_MM = 22
TICK_MM = 8


def drawn(pattern: Pattern) -> str:
    """The pattern to scale, 1 unit = 1 mm; black lines only, so a copy on paper says the same.

    Fixings are circles with a cross. Below the timber are the distances along it from end to end,
    at the left those up the depth.
    """
    width, height = pattern.length_mm, pattern.depth_mm
    timber = f'<rect x="0" y="0" width="{width}" height="{height:g}"/>'
    fixings = [_fixing(one.along_mm, height - one.up_mm, pattern) for one in pattern.positions]
    along = [0, *pattern.columns, width]
    up = [0, *pattern.heights, height]
    sizes = [
        *(_along(low, high, height) for low, high in pairwise(along)),
        *(_up(low, high, height) for low, high in pairwise(up)),
    ]
    box = (
        f"{-MARGIN_MM} {-MARGIN_MM / 2:g} {width + 1.5 * MARGIN_MM:g} {height + 1.5 * MARGIN_MM:g}"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
        f'font-family="sans-serif" font-size="{TEXT_MM}">'
        f"<title>{escape(pattern.sentence)}</title>"
        f'<g fill="none" stroke="black" stroke-width="2">{timber}{"".join(fixings)}</g>'
        f'<g fill="black" stroke="black" stroke-width="1">{"".join(sizes)}</g></svg>'
    )


def _fixing(x: float, y: float, pattern: Pattern) -> str:
    half = max(pattern.diameter_mm / 2, 2.0)
    arm = half + 3
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="{half:g}"/>'
        f'<path d="M{x - arm:g} {y:g}H{x + arm:g}M{x:g} {y - arm:g}V{y + arm:g}"/>'
    )


def _along(low: float, high: float, depth: float) -> str:
    y = depth + MARGIN_MM / 3
    ticks = f"M{low:g} {y - TICK_MM:g}V{y + TICK_MM:g}M{high:g} {y - TICK_MM:g}V{y + TICK_MM:g}"
    text = _text((low + high) / 2, y + TEXT_MM + 6, high - low)
    return f'<path d="M{low:g} {y:g}H{high:g}{ticks}" fill="none"/>{text}'


def _up(low: float, high: float, depth: float) -> str:
    x = -MARGIN_MM / 3
    top, bottom = depth - high, depth - low
    ticks = f"M{x - TICK_MM:g} {top:g}H{x + TICK_MM:g}M{x - TICK_MM:g} {bottom:g}H{x + TICK_MM:g}"
    text = _text(x - TEXT_MM - 4, (top + bottom) / 2 + TEXT_MM / 3, high - low)
    return f'<path d="M{x:g} {top:g}V{bottom:g}{ticks}" fill="none"/>{text}'


def _text(x: float, y: float, size: float) -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="middle" stroke="none">{size:.0f}</text>'
