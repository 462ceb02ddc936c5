"""The cut list on A4, black on white: for whoever stands at the saw."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from apps.inspections.completion.pdf import pdf_of
from apps.pages.feet import sheet_with_feet
from apps.planning.clock import say

NO_WORDS = frozenset({"house", "plan", "mark"})
TEMPLATE = Path(__file__).with_name("sheet.typ")


def sheet_of(
    shown: dict[str, Any], *, house: str, now: datetime, zone: ZoneInfo, shows_feet: bool
) -> bytes:
    """The sheet. `shown` is what the page shows."""
    plan = shown["plan"]
    told: dict[str, Any] = {
        "house": house,
        "title": str(plan).capitalize(),
        "state": shown["state"],
        "as_of": say(now.astimezone(zone)),
        "saw": f"Saw {plan.kerf_mm} mm. Old ends trimmed by {plan.end_trim_mm} mm. Offcuts kept "
        f"from {plan.least_offcut_mm} mm.",
        "bars": [bar_told(bar, " mm" if shows_feet else "") for bar in shown["bars"]],
        "buy": [
            [f"{row['count']} of {row['breadth_mm']} × {row['depth_mm']} × {row['length_mm']} mm",
             row["supplier"] or "any merchant", row["cost"]]
            for row in shown["buy"]
        ],
        "to_pay": shown["to_pay"],
        "left": [
            f"{row['length_mm']} mm of {row['mark']}, {row['from_mm']} to {row['to_mm']} mm"
            for row in shown["left"]
        ],
        "unmet": [row["sentence"] for row in shown["unmet"]],
        "cautions": list(shown["cautions"]),
    }  # fmt: skip
    told = sheet_with_feet(told, but=NO_WORDS) if shows_feet else told
    return pdf_of(told, made_at=now, pictures={}, template=TEMPLATE)


def bar_told(bar: dict[str, Any], unit: str) -> dict[str, Any]:
    return {
        "mark": bar["bar"].mark + (" (to buy)" if bar["bar"].bought else ""),
        "size": bar["size"] + (", sawn" if bar["bar"].sawn_at else ""),
        "plan": str(bar["svg"]),
        "alt": f"{bar['bar'].mark} from the side; its pencil marks are in the table below.",
        "lines": [
            ["☐", f"{line['at_mm']}{unit}", line["side"], str(line["number"] or ""),
             ", ".join(words for words in (line["words"], line["rip"]) if words)]
            for line in bar["lines"]
        ],
        "wet": bar["wet"],
        "told": [f"{part['number']}: {part['told']}" for part in bar["parts"] if part["told"]],
    }  # fmt: skip
