"""The levels sheet on A4, black and white: packers per bearing, to tick off."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from apps.inspections.completion.pdf import pdf_of
from apps.pages.feet import sheet_with_feet
from apps.pages.screens.checks.drawn import levels_from_above, levels_rows
from apps.pages.screens.checks.levels import FLATNESS_WORDS, LevelsView
from apps.planning.clock import say

IN_A_ROW = 15
"""Places side by side whose words can be read on A4."""
NO_WORDS = frozenset({"house", "floor", "map", "pictures"})
TEMPLATE = Path(__file__).with_name("levels.typ")


def levels_pdf(
    view: LevelsView, *, house: str, now: datetime, zone: ZoneInfo, shows_feet: bool
) -> bytes:
    """The sheet of a floor that can be levelled; `view.answer` is there."""
    answer = view.answer
    if answer is None:
        raise ValueError("There is nothing to print: the floor was not worked out.")
    unit = " mm" if shows_feet else ""
    told: dict[str, Any] = {
        "house": house,
        "floor": str(view.floor),
        "as_of": say(now.astimezone(zone)),
        "sentence": answer.sentence,
        "datum": view.datum or (view.data[0] if view.data else ""),
        "flatness": FLATNESS_WORDS[view.flatness],
        "packers": view.packers,
        "lines": [
            [
                line.joist,
                line.bearing,
                packing(line.packers_mm, unit),
                f"{line.planed_mm:g}{unit}" if line.planed_mm else "",
                f"{line.final_mm:+.1f}{unit}".replace("-", "−"),
            ]
            for line in view.by_bearing
        ],
        "between": [line.sentence for line in view.between],
        "used": [f"{count} of {mm:g} mm" for mm, count in answer.packers_used if count],
        "broken": [one.sentence for one in answer.broken],
        "unmeasured": view.unmeasured,
        "cautions": list(answer.cautions),
        "map": levels_from_above(view.spots, answer),
        "pictures": levels_rows(view.spots, answer, in_a_row=IN_A_ROW),
    }
    told = sheet_with_feet(told, but=NO_WORDS) if shows_feet else told
    return pdf_of(told, made_at=now, pictures={}, template=TEMPLATE)


def packing(packers_mm: tuple[float, ...], unit: str) -> str:
    return " + ".join(f"{mm:g}" for mm in packers_mm) + unit if packers_mm else "none"
