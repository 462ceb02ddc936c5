"""Pieces of timber from the side, true along their length: sound lengths, defects, cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from apps.pages.drawing.timber_parts import (
    LETTERS,
    WIDE,
    WORDS,
    box,
    defect_pattern,
    drawing,
    line,
    slanted,
    words,
)

EDGE = 8
ALONG = WIDE - 2 * EDGE
"""Units of the drawing that the longest length takes."""
LEAST_WIDE = 3.0
"""A defect of a few millimetres is still to be seen."""


@dataclass(frozen=True, slots=True)
class BarDefect:
    """Something along a piece [mm from the marked end]; `drawn` nails count no more."""

    kind: str
    from_mm: int
    to_mm: int
    drawn: bool = False

    @property
    def letter(self) -> str:
        """Small for drawn nails."""
        letter = LETTERS[self.kind]
        return letter.lower() if self.drawn else letter


@dataclass(frozen=True, slots=True)
class BarPiece:
    """A piece as drawn; `sound` lengths as (from, to) [mm]."""

    mark: str
    length_mm: int
    defects: tuple[BarDefect, ...] = ()
    sound: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class BarStretch:
    """A stretch of a bar to be cut: `kind` part, offcut, trim, waste or kerf; a part's number."""

    kind: str
    from_mm: int
    to_mm: int
    number: int = 0


def piece_bar(piece: BarPiece, *, longest_mm: int = 0) -> str:
    """A piece with its defects, and its sound lengths dimensioned below.

    Args:
        longest_mm: the length that takes the whole width; 0: this piece's own.
    """
    scale = ALONG / max(longest_mm, piece.length_mm)
    top, high = 18.0, 22.0
    shown = [box(EDGE, top, piece.length_mm * scale, high), marked_end(top, high)]
    taken: list[float] = []
    for one in piece.defects:
        left, wide = EDGE + one.from_mm * scale, (one.to_mm - one.from_mm) * scale
        wide = max(wide, LEAST_WIDE)
        shown.append(defect_pattern(one.kind, min(left, EDGE + ALONG - wide), top, wide, high))
        at = clear_of(left + wide / 2, taken, gap=10)
        shown.append(words(at, 8, one.letter, size=12, mono=True))
    low = top + high + 7
    ends: list[float] = [float("-inf")] * 2
    for start, stop in piece.sound:
        left, right = EDGE + start * scale, EDGE + stop * scale
        shown += [line(left, low - 4, left, low + 4), line(right, low - 4, right, low + 4),
                  line(left, low, right, low, width=2.5)]  # fmt: skip
        said = str(stop - start)
        half = len(said) * 3.6
        at = min(max((left + right) / 2, EDGE + half), EDGE + ALONG - half)
        row = next((n for n, end in enumerate(ends) if at - half > end), 1)
        ends[row] = at + half + 4
        shown.append(words(at, low + 11 + 13 * row, said, size=11.5, mono=True))
    deep = low + 20 + (13 if ends[1] > 0 else 0)
    return drawing(piece_words(piece), deep, "".join(shown))


def piece_words(piece: BarPiece) -> str:
    """The same in words."""
    told = [
        f"{'drawn ' if one.drawn else ''}{WORDS[one.kind]} {one.from_mm}–{one.to_mm}"
        for one in piece.defects
    ]
    sound = [f"{start}–{stop}" for start, stop in piece.sound]
    return (
        f"{piece.mark}, {piece.length_mm} mm from the marked end on the left. "
        f"Noted: {', '.join(told) or 'nothing'}. Sound: {', '.join(sound) or 'nothing'}."
    )


def marked_end(top: float, high: float) -> str:
    """A thick edge where the tape is hooked."""
    return line(EDGE - 3, top - 3, EDGE - 3, top + high + 3, width=4)


def clear_of(at: float, taken: list[float], *, gap: float) -> float:
    """The nearest place rightwards that is not taken; noted as taken."""
    for other in sorted(taken):
        if abs(other - at) < gap:
            at = other + gap
    at = min(at, WIDE - 6.0)
    taken.append(at)
    return at


def cut_bar(
    mark: str, length_mm: int, stretches: Sequence[BarStretch], at_mm: Sequence[int]
) -> str:
    """A bar with what is sawn from it, and every position of the saw on one tape pull below.

    Args:
        stretches: all of its length, from the marked end.
        at_mm: where the pencil marks go [mm from the marked end].
    """
    scale = ALONG / length_mm
    top, high = 6.0, 30.0
    shown = [marked_end(top, high), box(EDGE, top, ALONG, high)]
    for one in stretches:
        left, wide = EDGE + one.from_mm * scale, (one.to_mm - one.from_mm) * scale
        shown.append(stretch_box(one, left, top, wide, high))
    low = top + high
    ends: list[float] = []
    for mm in sorted(set(at_mm)):
        x, said = EDGE + mm * scale, str(mm)
        half = len(said) * 3.7
        at = min(max(x, EDGE + half), EDGE + ALONG - half)
        row = next((n for n, end in enumerate(ends) if at - half > end), len(ends))
        ends[row:] = [at + half + 5, *ends[row + 1 :]]
        shown += [
            line(x, low, x, low + 6 + 14 * row),
            words(at, low + 13 + 14 * row, said, size=12, mono=True),
        ]
    deep = low + 10 + 14 * max(len(ends), 1)
    parts = sum(one.kind == "part" for one in stretches)
    tape = ", ".join(str(mm) for mm in sorted(set(at_mm))) or "none"
    name = (
        f"{mark}, {length_mm} mm, {parts} part{'s' * (parts != 1)}. "
        f"Pencil marks from the marked end on the left, in mm: {tape}."
    )
    return drawing(name, deep, "".join(shown))


def stretch_box(one: BarStretch, left: float, top: float, wide: float, high: float) -> str:
    if one.kind == "kerf":
        return box(left, top, wide, high, fill="#000", width=0.8)
    if one.kind in {"trim", "waste"}:
        return box(left, top, wide, high, width=1) + slanted(left, top, wide, high, gap=5)
    if one.kind == "offcut":
        inner = box(left, top, wide, high, dash="5 3", width=1.2)
        return inner + (words(left + wide / 2, top + high / 2, "left") if wide > 26 else "")
    inner = box(left, top, wide, high, width=2)
    size = 15 if wide > 12 else 10
    return inner + words(left + wide / 2, top + high / 2, str(one.number), size=size, mono=True)


SECTION_UNITS = 64.0


def section(breadth_mm: int, depth_mm: int, *, deepest_mm: int) -> str:
    """A cross-section as it stands, to the scale that shows `deepest_mm` 64 units high."""
    scale = SECTION_UNITS / max(deepest_mm, depth_mm)
    wide, high = breadth_mm * scale, depth_mm * scale
    inside = box(2, 2, wide, high) + slanted(2, 2, wide, high, gap=7, up=True)
    name = f"Section {breadth_mm} × {depth_mm} mm, to scale."
    return drawing(name, high + 4, inside, wide=wide + 4).replace(
        "<svg ", f'<svg width="{wide + 4:.1f}" height="{high + 4:.1f}" ', 1
    )
