"""Heights as bars: how low each place lies, and what is put under it or planed off.

Places stand side by side in the order of the joists; heights are drawn `TALLER` times their
distance from each other so that a millimetre can be seen, and all by the same scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from apps.pages.drawing.svg import element, text

UNIT_PER_MM = 12
STEP = 64
SIZE = 17


@dataclass(frozen=True, slots=True)
class Place:
    """One spot: its joist and bearing, its height [mm], and what is done there."""

    joist: str
    height_mm: float
    lift_mm: float = 0.0
    planed_mm: float = 0.0
    words: str = ""


def levels_drawn(
    places: Sequence[Place],
    *,
    name: str,
    level_mm: float | None = None,
    among: Sequence[Place] = (),
    least: int = 0,
) -> str:
    """Bars upward from a common base; the packing filled on top of each; the level as a line.

    Args:
        among: all places of a floor that is drawn in several rows, for the same scale in each.
        least: as wide as for so many places.
    """
    base = min(one.height_mm - one.planed_mm for one in among or places) - 3
    tops = [one.height_mm + one.lift_mm for one in among or places]
    most = max([*tops, *([level_mm] if level_mm is not None else [])])
    per_mm = min(UNIT_PER_MM, 420 / max(most - base, 1e-6))
    tall = (most - base) * per_mm
    wide = STEP * max(len(places), least)
    parts = []
    for number, one in enumerate(places):
        x = number * STEP + 10
        high = (one.height_mm - base) * per_mm
        parts.append(
            element("rect", class_="joist", x=x, y=tall - high, width=STEP - 20, height=high,
                    fill="#fff", stroke="#000", stroke_width=2.0)
        )  # fmt: skip
        if one.lift_mm > 0:
            lift = one.lift_mm * per_mm
            parts.append(
                element("rect", class_="packer", x=x, y=tall - high - lift, width=STEP - 20,
                        height=lift, fill="#000", stroke="#000", stroke_width=2.0)
            )  # fmt: skip
        middle = x + (STEP - 20) / 2
        if one.words:
            parts.append(text((middle, -SIZE), one.words, size=SIZE))
        parts.append(text((middle, tall + SIZE), one.joist, size=SIZE))
        height = f"{one.height_mm:+.1f}".replace("-", "−")
        parts.append(text((middle, tall + 2.3 * SIZE), height, size=SIZE * 0.8))
    if level_mm is not None:
        y, across = tall - (level_mm - base) * per_mm, STEP * len(places)
        parts.append(
            element("path", class_="level", d=f"M0 {y:.1f}H{across}", stroke="#000", fill="none",
                    stroke_width=2.5, stroke_dasharray="14 6")
        )  # fmt: skip
    return element(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", role="img",
        viewBox=f"-6 {-2 * SIZE} {wide + 12} {tall + 5 * SIZE:.0f}",
        class_="check-drawing", aria_label=name,
    )  # fmt: skip
