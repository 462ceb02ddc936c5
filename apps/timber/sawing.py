"""A bar in sawing order: strokes of the saw by the tape, and what each length of it becomes.

All positions are from the marked end, the saw's own width counted, as if the bar were laid
together again: the tape stays hooked on the marked end and nothing is added up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a length of a bar becomes."""

    PART = "part"
    KERF = "kerf"
    TRIM = "trim"
    OFFCUT = "offcut"
    WASTE = "waste"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A length of a bar [mm from the marked end]; `part` is which part, counted from 0."""

    kind: Kind
    from_mm: int
    to_mm: int
    part: int | None = None

    @property
    def length_mm(self) -> int:
        """How long it is [mm]."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke of the saw.

    Attributes:
        at_mm: the mark on the tape, at the edge of what is kept.
        saw_beyond: the saw goes on the far side of the mark; else on the side of the marked end.
        frees: what comes free by it, on the side of the marked end; a kerf where that is dust only.
    """

    at_mm: int
    saw_beyond: bool
    frees: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class BarData:
    """A bar to be sawn.

    Attributes:
        length_mm: of the whole.
        parts: from and to of each, from the marked end on.
        kerf_mm: what the saw eats.
        trim_mm: off an old end of what is kept.
        old_ends: both ends are as they came out of the house.
        least_offcut_mm: the shortest remainder worth keeping.
        sound_mm: the longest sound length between two places; what is kept has enough of it.
    """

    length_mm: int
    parts: Sequence[tuple[int, int]]
    kerf_mm: int
    trim_mm: int
    old_ends: bool
    least_offcut_mm: int
    sound_mm: Callable[[int, int], int]


def stretches(bar: BarData) -> tuple[Stretch, ...]:
    """The whole bar, length by length.

    A remainder with a sound length worth keeping is an offcut, squared at an old end; any other
    is waste, or at an end of the bar a trim.

    Raises:
        ValueError: parts overlap or reach beyond the bar.
    """
    found: list[Stretch] = []
    at_mm = 0
    for number, (start, stop) in enumerate(bar.parts):
        if start < at_mm or stop <= start or stop > bar.length_mm:
            raise ValueError(f"A part from {start} to {stop} mm has no place on this bar.")
        found += _between(bar, at_mm, start, first=number == 0, last=False)
        found.append(Stretch(Kind.PART, start, stop, number))
        at_mm = stop
    found += _between(bar, at_mm, bar.length_mm, first=not bar.parts, last=True)
    return tuple(found)


def _between(bar: BarData, start: int, stop: int, *, first: bool, last: bool) -> list[Stretch]:
    """What lies between two parts, or between a part and an end."""
    left = 0 if first else min(bar.kerf_mm, stop - start)
    right = 0 if last else min(bar.kerf_mm, stop - start - left)
    inner = _remainder(bar, start + left, stop - right, first=first, last=last)
    return _whole(
        [
            Stretch(Kind.KERF, start, start + left),
            *inner,
            Stretch(Kind.KERF, stop - right, stop),
        ]
    )


def _remainder(bar: BarData, start: int, stop: int, *, first: bool, last: bool) -> list[Stretch]:
    old_from = start + bar.trim_mm if first and bar.old_ends else start
    old_to = stop - bar.trim_mm if last and bar.old_ends else stop
    if old_to - old_from < max(bar.least_offcut_mm, 1) or (
        bar.sound_mm(old_from, old_to) < bar.least_offcut_mm
    ):
        at_end = (first or last) and stop - start <= bar.trim_mm
        return [Stretch(Kind.TRIM if at_end else Kind.WASTE, start, stop)]
    near, far = min(bar.kerf_mm, old_from - start), min(bar.kerf_mm, stop - old_to)
    return [
        Stretch(Kind.TRIM, start, old_from - near),
        Stretch(Kind.KERF, old_from - near, old_from),
        Stretch(Kind.OFFCUT, old_from, old_to),
        Stretch(Kind.KERF, old_to, old_to + far),
        Stretch(Kind.TRIM, old_to + far, stop),
    ]


def _whole(found: Iterable[Stretch]) -> list[Stretch]:
    return [stretch for stretch in found if stretch.length_mm]


def strokes(found: Sequence[Stretch]) -> tuple[Stroke, ...]:
    """The saw's strokes along a bar, from the marked end on.

    The mark is at the edge of the part or offcut that is kept; between two of them at the nearer.
    A kerf that ends the bar with nothing beyond it is a stroke all the same.
    """
    kept = {Kind.PART, Kind.OFFCUT}
    answer = []
    for number, kerf in enumerate(found):
        if kerf.kind != Kind.KERF:
            continue
        before = found[number - 1] if number else kerf
        beyond = before.kind in kept
        answer.append(Stroke(kerf.from_mm if beyond else kerf.to_mm, beyond, before))
    return tuple(answer)


_WORDS = {
    Kind.TRIM: "{mm} mm of the old end comes off",
    Kind.WASTE: "{mm} mm of waste comes off",
    Kind.OFFCUT: "{mm} mm is left over and goes back on the pile",
    Kind.KERF: "the end is squared",
}


def in_words(stroke: Stroke, titles: Sequence[str]) -> str:
    """A stroke as it is said to whoever saws; `titles` of the parts, in their order."""
    side = "beyond" if stroke.saw_beyond else "before"
    freed = stroke.frees
    if freed.part is not None and freed.kind == Kind.PART:
        what = f"“{titles[freed.part]}”, {freed.length_mm} mm"
    else:
        what = _WORDS[freed.kind].format(mm=freed.length_mm)
    return f"Mark {stroke.at_mm} mm from the marked end, saw {side} the mark: {what}."


def totals(found: Iterable[Stretch]) -> dict[Kind, int]:
    """How much of a bar becomes what [mm]; together its length."""
    answer = dict.fromkeys(Kind, 0)
    for stretch in found:
        answer[stretch.kind] += stretch.length_mm
    return answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A part still to be sawn, in its sound length [mm]; `rank` 0 matters most."""

    length_mm: int
    sound_from_mm: int
    sound_to_mm: int
    rank: int = 0
    pinned: bool = False


def shifted(
    parts: Sequence[Planned], *, at_mm: int, kerf_mm: int
) -> tuple[list[int | None], list[int]]:
    """Where the parts of a bar begin once what lies before them ends elsewhere than planned.

    Args:
        parts: those still to be sawn, in sawing order.
        at_mm: where the last part that is sawn ends; 0 when none is.
        kerf_mm: what the saw eats.

    Returns:
        Where each begins, None for one that finds no room in its sound length any more; and the
        numbers of these. Whoever matters least gives way, of equals whoever is not pinned, then
        the shortest.
    """
    out: list[int] = []
    while True:
        begins = _begins(parts, set(out), at_mm, kerf_mm)
        late = next(
            (
                number
                for number, begin in enumerate(begins)
                if begin is not None and begin + parts[number].length_mm > parts[number].sound_to_mm
            ),
            None,
        )
        if late is None:
            return begins, sorted(out)
        sound = parts[late].sound_to_mm
        givers = [
            number
            for number in range(late + 1)
            if number not in out and parts[number].sound_to_mm == sound
        ]
        out.append(max(givers, key=lambda n: _gives_way(parts[n])))


def _gives_way(part: Planned) -> tuple[int, bool, int]:
    return part.rank, not part.pinned, -part.length_mm


def _begins(parts: Sequence[Planned], out: set[int], at_mm: int, kerf_mm: int) -> list[int | None]:
    begins: list[int | None] = []
    end = at_mm
    for number, part in enumerate(parts):
        if number in out:
            begins.append(None)
            continue
        begin = max(part.sound_from_mm, end + kerf_mm) if end else part.sound_from_mm
        begins.append(begin)
        end = begin + part.length_mm
    return begins
