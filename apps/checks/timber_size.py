"""Sizes of sawn timber: what a measured section is called, what it becomes as it dries, and how far
a size may stray.

A customary size ("6x2", inches) is a name. The old piece of that name was sawn to the full inches;
the modern one measures less. So the name is worked out from the measured size, never the reverse.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

REFERENCE_MOISTURE_PCT = 20.0  # EN 336: sizes are stated at 20 % (second hand)
MOVEMENT_PER_PCT = 0.0025  # EN 336: 0.25 % of the size for each 1 % (second hand)
SATURATED_PCT = 30.0  # EN 336: no movement above about 30 % (from memory)
INCH_MM = 25.4
OLD_SHRINKAGE = 0.02  # an old full-size piece in a dry house: common practice, no source
OLD_SAWING_MM = 3.0  # how far old sawing strays: common practice, no source
NEARLY_AS_GOOD_MM = 1.0  # two explanations this near each other are both named: our choice

OLD = "old full size"
SAWN = "metric sawn"
REGULARISED = "modern regularised"
CLS = "surfaced to Canadian sizes"

# Inches of the name against what the piece measures [mm] at 20 %.
# Sawn and machined targets of EN 336: second hand (Building Construction Handbook, 8th ed.,
# p. 133).
# 45 and 70 mm breadths: merchants' "regularised, eased edges", common practice, no source.
# 3 mm under the sawn size up to 150 mm (47, 97, 122, 147): BS 4471 regularised, from memory.
SAWN_MM: Mapping[float, tuple[float, ...]] = {
    2: (50,), 2.5: (63,), 3: (75,), 4: (100,), 5: (125,), 6: (150,), 7: (175,), 8: (200,),
    9: (225,), 10: (250,), 12: (300,),
}  # fmt: skip
REGULARISED_MM: Mapping[float, tuple[float, ...]] = {
    2: (47, 45), 2.5: (60,), 3: (72, 70), 4: (97, 95), 5: (120, 122), 6: (145, 147), 7: (170,),
    8: (195,), 9: (220,), 10: (245,), 12: (295,),
}  # fmt: skip
# Surfaced lumber, 1½ × 3½, 5½, 7¼, 9¼ and 11¼ inches: from memory.
CLS_MM: Mapping[float, tuple[float, ...]] = {
    2: (38,), 3: (63,), 4: (89,), 6: (140,), 8: (184,), 10: (235,), 12: (286,),
}  # fmt: skip
OLD_INCHES: tuple[float, ...] = (1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9, 10, 11, 12)

# EN 336 tolerance classes T1 (sawn) and T2 (machined): second hand.
TOLERANCE_BREAK_MM = 100
TOLERANCES_MM: dict[tuple[bool, bool], tuple[float, float]] = {
    (False, False): (1.0, 3.0),
    (False, True): (2.0, 4.0),
    (True, False): (1.0, 1.0),
    (True, True): (1.5, 1.5),
}
# EN 336 / EN 14081-1: taking off more after grading loses the grade (second hand).
GRADE_KEPT_UP_TO_MM = {False: 5, True: 10}

STOCK: tuple[tuple[float, float], ...] = (
    (2, 2), (3, 2), (4, 2), (5, 2), (6, 2), (7, 2), (8, 2), (9, 2), (10, 2), (4, 3), (6, 3), (8, 3),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Customary:
    """The customary name of a measured section.

    Attributes:
        name: "6x2"; empty where the section has none.
        tradition: how such a piece was made (`OLD`, `SAWN`, `REGULARISED`, `CLS`); empty likewise.
        also: other traditions that explain the measured size nearly as well.
        sentence: all of it in words.
    """

    name: str
    tradition: str
    also: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class StockSection:
    """A softwood section that merchants keep, machined to the EN 336 target [mm]."""

    name: str
    breadth_mm: int
    depth_mm: int


def size_at(
    size_mm: float, from_moisture_pct: float | None, to_moisture_pct: float = REFERENCE_MOISTURE_PCT
) -> float:
    """Breadth or depth at another moisture content: 0.25 % for each 1 % up to 30 % (EN 336).

    Args:
        size_mm: as measured [mm].
        from_moisture_pct: at which it was measured [%]; None: taken as 20 %.
        to_moisture_pct: at which it is wanted [%].

    Lengths do not move. For softwoods; hardwoods move more.
    """
    if from_moisture_pct is None:
        from_moisture_pct = REFERENCE_MOISTURE_PCT
    return size_mm * _of_reference(to_moisture_pct) / _of_reference(from_moisture_pct)


def _of_reference(moisture_pct: float) -> float:
    dried = REFERENCE_MOISTURE_PCT - min(max(moisture_pct, 0.0), SATURATED_PCT)
    return 1 - MOVEMENT_PER_PCT * dried


def tolerance_mm(size_mm: float, *, machined: bool) -> tuple[float, float]:
    """How far under and over its target a size may be [mm]: EN 336, T1 (sawn) or T2 (machined)."""
    return TOLERANCES_MM[machined, size_mm > TOLERANCE_BREAK_MM]


def grade_survives(size_mm: float, taken_off_mm: float) -> bool:
    """Whether a graded piece keeps its grade when so much is taken off a size after grading.

    5 mm at most from sizes up to 100 mm, 10 mm from larger ones (EN 336, EN 14081-1).
    """
    return taken_off_mm <= GRADE_KEPT_UP_TO_MM[size_mm > TOLERANCE_BREAK_MM]


def stock_sections() -> tuple[StockSection, ...]:
    """The usual carcassing sections, thinnest first, each with its customary name."""
    return tuple(
        StockSection(
            _name(high, low), round(REGULARISED_MM[low][0]), round(REGULARISED_MM[high][0])
        )
        for high, low in STOCK
    )


def customary(breadth_mm: float, depth_mm: float, moisture_pct: float | None = None) -> Customary:
    """The customary size of a measured section, and which tradition it comes from.

    Args:
        breadth_mm, depth_mm: as measured, either way up [mm].
        moisture_pct: at which it was measured [%]; None: taken as 20 %.
    """
    at_20 = sorted(size_at(size, moisture_pct) for size in (breadth_mm, depth_mm))
    found = sorted(
        (
            _distance_mm(tradition, at_20[0], low) + _distance_mm(tradition, at_20[1], high),
            place,
            low,
            high,
        )
        for place, tradition in enumerate(TRADITIONS)
        for low in _inches(tradition, at_20[0])
        for high in _inches(tradition, at_20[1])
    )
    measured = f"{breadth_mm:.0f} × {depth_mm:.0f} mm"
    if not found:
        return Customary("", "", (), f"{measured} is no customary size.")
    best, place, low, high = found[0]
    tradition = TRADITIONS[place]
    also = tuple(
        TRADITIONS[other].words
        for distance, other, *inches in found[1:]
        if other != place and inches == [low, high] and distance <= best + NEARLY_AS_GOOD_MM
    )
    breadth, depth = _nearest(tradition, at_20[0], low), _nearest(tradition, at_20[1], high)
    made = f"{breadth:.0f} × {depth:.0f} mm when made"
    sentence = f"{measured} is a {_name(high, low)}, {tradition.words} ({made})"
    if also:
        sentence += f"; it may also be {' or '.join(also)}"
    return Customary(_name(high, low), tradition.words, also, f"{sentence}.")


def customary_name(breadth_mm: float, depth_mm: float, moisture_pct: float | None = None) -> str:
    """Only the name of `customary`: "6x2", or nothing."""
    return customary(breadth_mm, depth_mm, moisture_pct).name


@dataclass(frozen=True, slots=True)
class Tradition:
    """A way of making sizes: inches of the name against what was made [mm]."""

    words: str
    sizes: Mapping[float, tuple[float, ...]]
    machined: bool | None  # None: old sawing, and shrunk since


# Two that explain a size equally well are named in this order.
TRADITIONS = (
    Tradition(REGULARISED, REGULARISED_MM, True),
    Tradition(SAWN, SAWN_MM, False),
    Tradition(OLD, {inch: (inch * INCH_MM,) for inch in OLD_INCHES}, None),
    Tradition(CLS, CLS_MM, True),
)


def _inches(tradition: Tradition, size_mm: float) -> list[float]:
    """Names under which a tradition makes a piece that may measure so."""
    return [
        inch
        for inch, made in tradition.sizes.items()
        if any(_may_measure(tradition, size_mm, one) for one in made)
    ]


def _may_measure(tradition: Tradition, size_mm: float, made_mm: float) -> bool:
    if tradition.machined is None:
        under = made_mm * OLD_SHRINKAGE + OLD_SAWING_MM
        over = OLD_SAWING_MM
    else:
        under, over = tolerance_mm(made_mm, machined=tradition.machined)
    return made_mm - under <= size_mm <= made_mm + over


def _nearest(tradition: Tradition, size_mm: float, inch: float) -> float:
    return min(tradition.sizes[inch], key=lambda made: abs(made - size_mm))


def _distance_mm(tradition: Tradition, size_mm: float, inch: float) -> float:
    """How far a measured size is from what a tradition leaves of its size."""
    made = _nearest(tradition, size_mm, inch)
    shrunk = made * (1 - OLD_SHRINKAGE) if tradition.machined is None else made
    return max(shrunk - size_mm, size_mm - made, 0.0)


def _name(high: float, low: float) -> str:
    return "x".join(f"{inch:g}".replace(".5", "½") for inch in (high, low))
