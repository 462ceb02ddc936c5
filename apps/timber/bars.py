"""The cutter's answer as bars: every part with its place from the marked end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.timber.cutting.problem import CuttingSolution
from apps.timber.layout import Question, Stretch, need_of


@dataclass(frozen=True, slots=True)
class PlacedPart:
    """A part on a bar [mm from the marked end], and the sound length it lies in."""

    need_id: int
    from_mm: int
    to_mm: int
    sound_from_mm: int
    sound_to_mm: int
    pinned: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """A piece or a new length with its parts, from the marked end."""

    piece_id: int | None
    stock_id: int | None
    parts: tuple[PlacedPart, ...]


def bars(asked: Question, solution: CuttingSolution) -> tuple[Bar, ...]:
    """The cutter's answer as bars: pieces by id, then new lengths, parts from the marked end.

    In each sound length the longest part comes first; what is left of it is at its far end.
    """
    lengths = {part.key: part.length_mm for part in asked.problem.parts}
    kerf_mm = asked.problem.kerf_mm
    pins: dict[str, list[list[str]]] = {}
    for pattern in asked.problem.locked:
        pins.setdefault(pattern.bin_key, []).append(list(pattern.part_keys))
    of_piece: dict[int, list[PlacedPart]] = {}
    new: list[Bar] = []
    for pattern in solution.patterns:
        if not pattern.part_keys:
            continue
        stretch = asked.stretches[pattern.bin_key]
        for _ in range(pattern.count):
            stay = _pins_of(pins.get(pattern.bin_key, []), pattern.part_keys)
            parts = _in_line(pattern.part_keys, stay, stretch, lengths, kerf_mm)
            if stretch.piece_id is not None:
                of_piece.setdefault(stretch.piece_id, []).extend(parts)
            else:
                new.append(Bar(None, stretch.stock_id, tuple(parts)))
    old = [
        Bar(piece_id, None, tuple(sorted(parts, key=lambda part: part.from_mm)))
        for piece_id, parts in sorted(of_piece.items())
    ]
    return (*old, *sorted(new, key=lambda bar: (bar.stock_id or 0, bar.parts[0].need_id)))


def _pins_of(pins: list[list[str]], keys: Sequence[str]) -> list[str]:
    """The pinned parts of a bar with these parts; each pattern of pins is given to one bar."""
    for number, held in enumerate(pins):
        if not Counter(held) - Counter(keys):
            return pins.pop(number)
    return []


def _in_line(
    keys: Sequence[str],
    stay: Sequence[str],
    stretch: Stretch,
    lengths: Mapping[str, int],
    kerf_mm: int,
) -> list[PlacedPart]:
    stays = list(stay)
    at_mm, found = stretch.from_mm, []
    for key in sorted(keys, key=lambda key: (-lengths[key], need_of(key))):
        pinned = key in stays
        if pinned:
            stays.remove(key)
        end_mm = at_mm + lengths[key]
        found.append(
            PlacedPart(need_of(key), at_mm, end_mm, stretch.from_mm, stretch.to_mm, pinned)
        )
        at_mm = end_mm + kerf_mm
    return found
