"""Stretches of a joist between its readings: probably sound, and where to look next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from apps.checks.decay_readings import Place
from apps.checks.decay_settings import DecaySettings


@dataclass(frozen=True, slots=True)
class Stretch:
    """A length of the joist, from its first point [mm]."""

    from_mm: int
    to_mm: int
    sentence: str

    @property
    def length_mm(self) -> int:
        return self.to_mm - self.from_mm


def sound_stretches(
    length_mm: int, places: Sequence[Place], settings: DecaySettings
) -> tuple[Stretch, ...]:
    """Stretches between sound readings that are not too far apart, with nothing worse between.

    Towards wood that nobody read, and towards an end, a reading speaks for a little more.
    """
    read = [place for place in places if place.state != "unread"]
    found: list[list[int]] = []
    for number, place in enumerate(read):
        if place.state != "sound":
            continue
        before = read[number - 1] if number else None
        after = read[number + 1] if number + 1 < len(read) else None
        end = reach(place, after, length_mm, settings)
        start = length_mm - reach(
            mirrored(place, length_mm), before and mirrored(before, length_mm), length_mm, settings
        )
        if before is not None and before.state == "sound" and start <= found[-1][1]:
            found[-1][1] = end
        else:
            found.append([start, end])
    return tuple(Stretch(a, b, f"{a} to {b} mm is probably sound.") for a, b in found if a < b)


def reach(place: Place, after: Place | None, length_mm: int, settings: DecaySettings) -> int:
    """How far on a sound reading speaks, up to the next reading."""
    if after is None:
        return min(length_mm, place.at_mm + settings.speaks_for_mm)
    if after.state != "sound":
        return place.at_mm
    if after.at_mm - place.at_mm <= settings.longest_gap_mm:
        return after.at_mm
    return min(after.at_mm, place.at_mm + settings.speaks_for_mm)


def mirrored(place: Place, length_mm: int) -> Place:
    """A place as seen from the joist's other end."""
    return Place(length_mm - place.at_mm, place.state, place.sentence, place.ids)


def where_next(
    length_mm: int, places: Sequence[Place], past_mm: int, settings: DecaySettings
) -> tuple[Stretch, ...]:
    """Where another reading would tell most: the edges of decay, doubtful places, ends, gaps."""
    edges, doubts, ends, gaps = [], [], [], []
    worst = [place for place in places if place.state != "unread"]
    for left, right in pairwise(worst):
        span = (left.at_mm, right.at_mm)
        kinds = {left.state, right.state}
        if "decayed" in kinds and len(kinds) > 1 and span[1] - span[0] > settings.fine_mm:
            edges.append(Stretch(*span, "the edge of the decay lies between these."))
        elif span[1] - span[0] > settings.longest_gap_mm:
            gaps.append(Stretch(*span, "nothing was read between these."))
    for place in worst:
        if place.state == "doubtful":
            near = (max(0, place.at_mm - settings.fine_mm), place.at_mm + settings.fine_mm)
            doubts.append(Stretch(near[0], min(length_mm, near[1]), place.sentence))
    first = worst[0].at_mm if worst else length_mm
    last = worst[-1].at_mm if worst else length_mm
    for start, end in ((0, first), (last, length_mm)):
        if end - start > settings.speaks_for_mm:
            ends.append(Stretch(start, end, "the end of a joist is where rot begins."))
    for place in worst:
        if place.state == "decayed":
            edges += unproven_cuts(place.at_mm, length_mm, worst, past_mm, settings)
    return tuple(dict.fromkeys([*edges, *doubts, *ends, *gaps]))


def unproven_cuts(
    sign_mm: int, length_mm: int, read: Sequence[Place], past_mm: int, settings: DecaySettings
) -> list[Stretch]:
    """Where a cut would fall, but no sound reading speaks for the wood."""
    found = []
    for cut in (sign_mm - past_mm, sign_mm + past_mm):
        low, high = cut - settings.speaks_for_mm, cut + settings.speaks_for_mm
        if not past_mm or not 0 < cut < length_mm or any(low <= p.at_mm <= high for p in read):
            continue
        if any(min(cut, sign_mm) < p.at_mm < max(cut, sign_mm) for p in read):
            where = (max(0, low), min(length_mm, high))
            found.append(Stretch(*where, f"a cut at {cut} mm needs a sound reading beside it."))
    return found
