"""Lengths as people write them: 3620, 3620 mm, 362cm, 3.62m, 11'10", 11 ft 10 1/2 in."""

from __future__ import annotations

import re
from fractions import Fraction

INCH_MM = Fraction(254, 10)
FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
PER_UNIT_MM = {"": Fraction(1), "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000)}
METRIC = re.compile(r"(\d{1,6})(?:[.,](\d{1,4}))?\s*(mm|cm|m)?")
INCHES = r"(?:(?P<whole>\d{1,5})(?:\s+|-))?(?P<upper>\d{1,2})/(?P<lower>\d{1,2})|(?P<plain>\d{1,5})"
FEET = re.compile(
    rf"(?:(?P<feet>\d{{1,4}})\s*(?:'|ft)\s*)?(?:(?:{INCHES})\s*(?:\"|''|in))?", re.IGNORECASE
)
HOW = "Write a length like 2400, 2.4m, 240cm or 7'10\"."


def typed_length_mm(written: str) -> int:
    """A length in whole millimetres, halves rounded up.

    A bare number is millimetres, and one with a point must name its unit: 2.4 by itself is more
    likely metres than two millimetres.

    Raises:
        ValueError: for what is no length, with a sentence that says how to write one.
    """
    said = written.strip().replace("′", "'").replace("″", '"').replace("’", "'").replace("”", '"')
    for glyph, parts in FRACTIONS.items():
        said = said.replace(glyph, f" {parts}").strip()
    if found := METRIC.fullmatch(said.lower()):
        whole, part, unit = found.groups()
        if part and not unit:
            raise ValueError(f"Say which unit {said} is in. {HOW}")
        return rounded(Fraction(f"{whole}.{part or 0}") * PER_UNIT_MM[unit or ""])
    feet = FEET.fullmatch(said)
    if not said or feet is None or not any(feet.groupdict().values()):
        raise ValueError(HOW)
    lower = int(feet["lower"] or 1)
    if lower == 0:
        raise ValueError(HOW)
    inches = int(feet["whole"] or feet["plain"] or 0) + Fraction(int(feet["upper"] or 0), lower)
    return rounded((int(feet["feet"] or 0) * 12 + inches) * INCH_MM)


def rounded(mm: Fraction) -> int:
    return int(mm + Fraction(1, 2))
