"""Feet and inches beside metric lengths, for whoever thinks in them.

Source: an inch is exactly 25.4 mm (the International Yard and Pound agreement of 1959; NIST SP 811,
appendix B; from memory). What is recorded stays in millimetres: this is only shown.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from fractions import Fraction
from typing import Any

INCH_MM = Fraction(254, 10)
INCHES_PER_FOOT = 12
SIXTEENTHS, HALVES = 16, 2
"""Parts of an inch that timber is told in, and rooms."""
ROOM_MM = 1000
"""From here on a length of a room or floor is told to the half-inch: no wall is truer."""
NO_BREAK = "\u00a0"
GLYPHS = {
    Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 8): "⅛",
    Fraction(3, 8): "⅜", Fraction(5, 8): "⅝", Fraction(7, 8): "⅞",
}  # fmt: skip
MM_PER = {"mm": Fraction(1), "m": Fraction(1000)}

NUMBER = r"[+−-]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?"
# 50 × 150 × 3000 mm; 900–2100 mm; 0 to 300 mm; 3.62 m. No areas, no N/mm, no mm per m.
LENGTHS = re.compile(
    rf"(?<![\w.,/#])(?P<numbers>{NUMBER}(?:(?:\s?×\s?|–|\s?\+\s|\sto\s|\sor\s){NUMBER})*)"
    rf"(?:\s|&nbsp;)(?P<unit>mm|m)(?![\w²³⁴/])(?!\s?\([^)]*\")"
)
TAG = re.compile(r"(<[^>]*>)")
TAG_NAME = re.compile(r"</?([a-zA-Z0-9]+)")
LEFT_ALONE = frozenset({"svg", "textarea", "select", "script", "style", "pre"})


def in_feet(mm: Fraction | float, *, per_inch: int = SIXTEENTHS) -> str:
    """A length in feet and inches, to the nearest such part of an inch: `11' 10½"`."""
    exact = Fraction(str(mm)) if isinstance(mm, float) else Fraction(mm)
    parts = int(abs(exact) / INCH_MM * per_inch + Fraction(1, 2))
    inches, rest = divmod(parts, per_inch)
    feet, inches = divmod(inches, INCHES_PER_FOOT)
    sign = "−" if exact < 0 and parts else ""
    small = written(inches, rest, per_inch, whole=bool(feet))
    return f"{sign}{feet}' {small}" if feet else f"{sign}{small}"


def written(inches: int, rest: int, per_inch: int, *, whole: bool) -> str:
    """Whole inches and a fraction: `10½"`, `3/16"`, `0"`; behind feet `0 3/16"`."""
    fraction = Fraction(rest, per_inch)
    if not fraction:
        return f'{inches}"'
    before = str(inches) if inches or whole else ""
    if fraction in GLYPHS:
        return f'{before}{GLYPHS[fraction]}"'
    return f'{before} {fraction}"'.lstrip()


def with_feet(words: str, *, of_rooms: bool = False) -> str:
    """Words with feet and inches behind each length in them.

    `50 × 150 mm` becomes `50 × 150 mm (1 15/16" × 5⅞")`.

    Args:
        of_rooms: lengths from `ROOM_MM` on are told to the half-inch.
    """

    def both(found: re.Match[str]) -> str:
        def one(number: re.Match[str]) -> str:
            plain = number[0].replace(",", "").replace("−", "-")
            sign = "+" if plain.startswith("+") else ""
            mm = Fraction(plain) * MM_PER[found["unit"]]
            coarse = of_rooms and abs(mm) >= ROOM_MM
            inches = in_feet(mm, per_inch=HALVES if coarse else SIXTEENTHS)
            # 1 15/16" broken after the 1 would be read as two lengths.
            return sign + inches.replace(" ", NO_BREAK)

        inches = re.sub(NUMBER, one, found["numbers"])
        # A hair's breadth is not told in inches.
        return found[0] if inches.lstrip("+") == '0"' else f"{found[0]} ({inches})"

    return LENGTHS.sub(both, words)


def page_with_feet(html: str, *, of_rooms: bool = False) -> str:
    """A part of a page with feet and inches in its words: never in a tag, a drawing or a field."""
    inside = 0
    made: list[str] = []
    for part in TAG.split(html):
        if part.startswith("<"):
            named = TAG_NAME.match(part)
            if named and named[1].lower() in LEFT_ALONE and not part.endswith("/>"):
                inside += -1 if part.startswith("</") else 1
            made.append(part)
        else:
            made.append(part if inside > 0 else with_feet(part, of_rooms=of_rooms))
    return "".join(made)


def sheet_with_feet(told: Any, *, but: Collection[str]) -> Any:
    """What a printed sheet is told, with feet and inches in all of its words.

    Args:
        but: the names of what is no words: drawings.
    """
    if isinstance(told, str):
        return with_feet(told)
    if isinstance(told, dict):
        return {
            name: value if name in but else sheet_with_feet(value, but=but)
            for name, value in told.items()
        }
    if isinstance(told, list | tuple):
        return [sheet_with_feet(value, but=but) for value in told]
    return told
