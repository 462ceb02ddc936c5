"""Where the timber of a repair comes from: the pile first, then the yard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from apps.checks.strength import CLASSES, strength_class
from apps.repairs.facts import ASSUMED_CLASS, Asked, JoistFacts
from apps.repairs.options import Design, NewTimber, Section, Supply
from apps.timber.matching import Match, Matcher
from apps.timber.pieces_as_data import NeedData, PieceData

MOISTURE_LIMIT_PCT = 20.0
"""New timber beside an old dry joist: wetter, it shrinks away from it (EN 336 reference, read)."""

DEPTH_OFF_MM = 5
"""How far a section's depth may be off the joist's and be packed level (common practice, no
source)."""

KERF_MM = 4
"""What a saw takes between two pieces of one length (common practice, no source)."""

STOUTER_MM = (63, 75, 100)
"""Sawn breadths that are sawn to order (EN 336 target sizes, second hand)."""

LEAST_BREADTH_MM = 38
"""Thinner timber splits at fixings (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YardLength:
    """A length that can be bought."""

    breadth_mm: int
    depth_mm: int
    length_mm: int
    strength_class: str
    treated: bool
    cost_pence: int
    supplier: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What there is: the pile's free pieces, the yard's lengths, and who asks the pile."""

    pieces: tuple[PieceData, ...]
    yard: tuple[YardLength, ...]
    matcher: Matcher


def wanted_class(facts: JoistFacts, asked: Asked) -> str:
    """Of new timber: as asked, else as the floor was specified, else as the joist is.

    Raises:
        ValueError: a class that EN 338 does not have.
    """
    named = asked.strength_class or facts.specified_class or facts.strength_class
    return strength_class(named or ASSUMED_CLASS).name


def sections(facts: JoistFacts, asked: Asked, stock: Stock) -> tuple[Section, ...]:
    """Sections to try for new timber, the most wanted first: as the joist is, where there is
    such timber; then what there is of nearly its depth; then as the joist is and stouter,
    whatever there is.

    A breadth and depth that were asked for are the only ones tried.
    """
    grade = wanted_class(facts, asked)
    salvaged = {(row.breadth_mm, row.depth_mm) for row in stock.pieces}

    def section(size: tuple[int, int]) -> Section:
        return Section(*size, grade, "assumed" if size in salvaged else "stamped")

    own = (asked.breadth_mm or facts.breadth_mm, asked.depth_mm or facts.depth_mm)
    if asked.breadth_mm or asked.depth_mm:
        return (section(own),)
    sizes = salvaged | {(row.breadth_mm, row.depth_mm) for row in stock.yard}
    near = [
        size
        for size in sizes
        if size[0] >= LEAST_BREADTH_MM and abs(size[1] - own[1]) <= DEPTH_OFF_MM
    ]
    near.sort(key=lambda size: (abs(size[1] - own[1]), abs(size[0] - own[0]), size))
    first = [own] if any(size[0] >= own[0] and size[1] == own[1] for size in near) else []
    stouter = [(breadth, own[1]) for breadth in STOUTER_MM if breadth > own[0]]
    return tuple(section(size) for size in dict.fromkeys([*first, *near, own, *stouter]))


def supplies(design: Design, stock: Stock) -> tuple[Supply, ...]:
    """Where each piece of a design comes from; no length of the pile is counted twice."""
    left: dict[int, int] = {}
    return tuple(supply(piece, stock, left) for piece in design.timber)


def supply(piece: NewTimber, stock: Stock, left: dict[int, int]) -> Supply:
    """Where one piece comes from.

    Args:
        left: what earlier pieces of the design leave of each salvaged piece [mm]; is changed.
    """
    need = need_of(piece)
    fitting = [
        match
        for match in (stock.matcher.match(need, one) for one in stock.pieces)
        if match.fits and room(match, left) >= piece.length_mm
    ]
    fitting.sort(key=lambda match: (room(match, left), match.piece.id))
    if fitting:
        best = fitting[0]
        left[best.piece.id] = room(best, left) - piece.length_mm - KERF_MM
        named: tuple[Mapping[str, object], ...] = tuple(
            {"id": match.piece.id, "mark": match.piece.mark, "sentence": match.sentence}
            for match in fitting
        )
        return Supply(timber=piece.key, pieces=named, cost_pence=0, sentence=best.sentence)
    bought = [row for row in stock.yard if will_do(row, piece)]
    if not bought:
        return Supply(
            timber=piece.key, pieces=(), cost_pence=None,
            sentence=(
                f"Nothing in the pile fits, and no {wanted(piece)} is among the stock lengths."
            ),
        )  # fmt: skip
    row = min(bought, key=lambda one: (one.cost_pence, one.length_mm))
    return Supply(
        timber=piece.key, pieces=(), cost_pence=row.cost_pence,
        sentence=(
            f"Nothing in the pile fits: {wanted(piece)} is wanted. Buy {row.length_mm} mm of "
            f"{row.breadth_mm} × {row.depth_mm} mm {row.strength_class}"
            f"{f' from {row.supplier}' if row.supplier else ''}."
        ),
    )  # fmt: skip


def wanted(piece: NewTimber) -> str:
    """A piece as it is asked for at the yard."""
    treated = "treated " if piece.treated else ""
    return f"{piece.length_mm} mm of {treated}{piece.section}"


def need_of(piece: NewTimber) -> NeedData:
    return NeedData(
        id=0,
        role=piece.role,
        title=piece.title,
        quantity=piece.quantity,
        length_mm=piece.length_mm,
        breadth_mm=piece.section.breadth_mm,
        depth_mm=piece.section.depth_mm,
        strength_class=piece.section.strength_class,
        moisture_limit_pct=MOISTURE_LIMIT_PCT,
        treated=piece.treated,
    )


def room(match: Match, left: Mapping[int, int]) -> int:
    """What is left of a match's sound length [mm]."""
    run = match.run
    return left.get(match.piece.id, run.length_mm if run is not None else 0)


def will_do(row: YardLength, piece: NewTimber) -> bool:
    """Whether a length of the yard does for a piece, as it is sold."""
    least = piece.section
    return (
        row.depth_mm == least.depth_mm
        and row.breadth_mm >= least.breadth_mm
        and row.length_mm >= piece.length_mm
        and (row.treated or not piece.treated)
        and (grade := CLASSES.get(row.strength_class.upper())) is not None
        and grade.f_m_k >= CLASSES[least.strength_class].f_m_k
    )
