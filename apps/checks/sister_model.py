"""A joist and its sister as two beams joined by their fixings, and what each load does to them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray

from apps.checks.beams import Beam, Link, LinkedBent, bend_linked
from apps.checks.loads import JoistLoads
from apps.checks.member import Member
from apps.checks.sister_input import SisterFixings, SisterInput

Numbers = NDArray[np.float64]
Stretch = tuple[float, float]

DECAYED_SHARE = 1e-4
"""Stiffness that decayed wood keeps in the reckoning: as good as none, yet a beam."""

STEP_MM = 20.0

SLIP_FOR_STRENGTH = 2 / 3
"""K_u of K_ser: EN 1995-1-1 2.2.2(2), from memory, high confidence."""


@dataclass(frozen=True, slots=True)
class Pair:
    """The two beams without loads, and where they are joined.

    Attributes:
        old, sister: from and to; supports; (from, to, EI).
        places: of fixings.
        counts: fixings at each.
        sound: stretches of the old joist that carry.
        grid: places at which moments, shears and sags are looked at.
    """

    given: SisterInput
    fixings: SisterFixings
    old: Beam
    sister: Beam
    places: tuple[float, ...]
    counts: tuple[int, ...]
    sound: tuple[Stretch, ...]
    grid: Numbers


@dataclass(frozen=True, slots=True)
class Effects:
    """What the loads do, characteristic: permanent, spread imposed, and concentrated.

    The concentrated load stands at each of several places; `point` has one for each.
    """

    permanent: LinkedBent
    imposed: LinkedBent
    point: tuple[LinkedBent, ...]


def lost_ends(given: SisterInput) -> tuple[bool, bool]:
    """Whether decay has taken the old joist's left and right bearing."""
    span = given.old.span_mm
    return (
        any(start <= 0 for start, _ in given.old.decayed),
        any(end >= span for _, end in given.old.decayed),
    )


def sound_stretches(given: SisterInput) -> tuple[Stretch, ...]:
    """What is left of the old joist between the lines of its reactions."""
    left, right = given.old.ends
    low, high = -given.half(left), given.old.span_mm + given.half(right)
    found: list[Stretch] = []
    lost = lost_ends(given)
    rot = [
        (low if lost[0] and a <= 0 else a, high if lost[1] and b >= given.old.span_mm else b)
        for a, b in given.old.decayed
    ]
    for start, end in sorted(rot):
        if start - low >= 1:
            found.append((low, start))
        low = max(low, end)
    if high - low >= 1:
        found.append((low, high))
    return tuple(found)


def pair(given: SisterInput, old: Member, sister: Member, fixings: SisterFixings) -> Pair | None:
    """The two beams, joined by these; None where too little sound wood lies beside the sister."""
    sound = sound_stretches(given)
    low, high = given.reach
    if not sound:
        return None
    first, last = sound[0][0], sound[-1][1]
    inset = given.settings.end_mm
    start, end = max(low, first) + inset, min(high, last) - inset
    if end - start < 50:
        return None
    gaps = ceil((end - start) / fixings.spacing_mm - 1e-9)
    places = tuple(start + (end - start) * n / gaps for n in range(gaps + 1))
    places = tuple(at for at in places if any(a <= at <= b for a, b in sound))
    if len(places) < 2:
        return None
    ends = {0, 1, len(places) - 2, len(places) - 1}
    counts = tuple(
        max(fixings.end_per_place, fixings.per_place) if n in ends else fixings.per_place
        for n in range(len(places))
    )
    share = DECAYED_SHARE if given.old.through_split else 1.0
    rot = [(a, b, DECAYED_SHARE * old.grade.e_0_mean * old.inertia) for a, b in given.old.decayed]
    lost = lost_ends(given)
    supports = [at for at, gone in zip((first, last), lost, strict=True) if not gone]
    old_beam = Beam(
        from_mm=first,
        to_mm=last,
        stiffness=_stiffness(old, first, last, share, rot),
        supports=tuple(supports),
    )
    sister_beam = Beam(
        from_mm=low,
        to_mm=high,
        stiffness=_stiffness(sister, low, high, 1.0, ()),
        supports=tuple(at for at, on in zip((low, high), given.sister_bearings, strict=True) if on),
    )
    return Pair(
        given,
        fixings,
        old_beam,
        sister_beam,
        places,
        counts,
        sound,
        _grid(given, (first, last), places),
    )


def effects(two: Pair, loads: JoistLoads, points: Iterable[float], *, strength: bool) -> Effects:
    """The characteristic effects of all loads.

    Args:
        points: where 1 N stands, one after the other.
        strength: with the slip stiffness for strength, two thirds of that in use.
    """
    each = two.fixings.slip_n_mm * (SLIP_FOR_STRENGTH if strength else 1.0)
    links = [Link(at, count * each) for at, count in zip(two.places, two.counts, strict=True)]
    standing = [(load, share * two.given.old.span_mm) for load, share in loads.points]
    return Effects(
        _bent(two, links, loads.permanent, standing),
        _bent(two, links, loads.imposed, []),
        tuple(_bent(two, links, 0.0, [(1.0, at)]) for at in points),
    )


def carrying(two: Pair, at: float) -> str:
    """Which piece a load at a place comes down on: "old", "new" or "both"."""
    on_old = any(a <= at <= b for a, b in two.sound)
    on_new = two.sister.from_mm <= at <= two.sister.to_mm
    if on_old and on_new:
        return two.given.deck_on
    return "new" if on_new else "old"


def _bent(
    two: Pair, links: Sequence[Link], w: float, points: Sequence[tuple[float, float]]
) -> LinkedBent:
    spread: dict[str, list[tuple[float, float, float]]] = {"old": [], "new": []}
    single: dict[str, list[tuple[float, float]]] = {"old": [], "new": []}
    edges = {two.sister.from_mm, two.sister.to_mm, *(edge for row in two.sound for edge in row)}
    ordered = sorted(edges)
    for start, end in pairwise(ordered):
        if end - start < 0.1 or w == 0:
            continue
        for piece, share in _shares(carrying(two, (start + end) / 2)):
            spread[piece].append((w * share, start, end))
    for load, at in points:
        for piece, share in _shares(carrying(two, at)):
            single[piece].append((load * share, at))
    beams = [
        Beam(
            from_mm=beam.from_mm,
            to_mm=beam.to_mm,
            stiffness=beam.stiffness,
            supports=beam.supports,
            points=tuple(single[piece]),
            spread=tuple(spread[piece]),
        )
        for piece, beam in (("old", two.old), ("new", two.sister))
    ]
    return bend_linked(beams[0], beams[1], links)


def _shares(piece: str) -> tuple[tuple[str, float], ...]:
    return (("old", 0.5), ("new", 0.5)) if piece == "both" else ((piece, 1.0),)


def _stiffness(
    m: Member, low: float, high: float, share: float, rot: Iterable[tuple[float, float, float]]
) -> tuple[tuple[float, float, float], ...]:
    """EI along a piece: less at its cuts, next to none where it is decayed."""
    e = m.grade.e_0_mean
    weak = [(c.cut.from_mm, c.cut.to_mm, e * c.net.inertia_mm4 * share) for c in m.cuts]
    weak = [(max(a, low), min(b, high), ei) for a, b, ei in [*weak, *rot]]
    weak = [row for row in weak if row[1] - row[0] >= 0.1]
    edges = sorted({low, high, *(edge for a, b, _ in weak for edge in (a, b))})
    kept = [low]
    for edge in edges[1:]:
        if edge - kept[-1] >= 0.1:
            kept.append(edge)
    kept[-1] = high
    return tuple(
        (
            start,
            end,
            min([e * m.inertia * share] + [ei for a, b, ei in weak if a < (start + end) / 2 < b]),
        )
        for start, end in pairwise(kept)
    )


def _grid(given: SisterInput, ends: Stretch, places: Iterable[float]) -> Numbers:
    low, high = min(ends[0], given.reach[0]), max(ends[1], given.reach[1])
    regular = np.linspace(low, high, 2 * ceil((high - low) / STEP_MM / 2) + 1)
    return np.unique(np.concatenate([regular, np.array([*ends, *given.reach, *places])]))
