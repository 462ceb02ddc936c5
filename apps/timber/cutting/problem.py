"""What the cutter is asked and what it answers, in plain numbers and keys: no rows, no solver.

Lengths are whole millimetres. A **bin** is anything a part can be cut from: a clear run of a
salvaged piece (`supply` 1; all runs of one piece share `opens`), or a length the yard sells
(`supply` None, `cost` what one costs). A **part** is a length wanted, `quantity` times.

Kerf: every cut eats `kerf_mm`. n parts in a bin of length L need their lengths plus n - 1 kerfs
at least, so each part counts as its length plus one kerf and the bin as its length plus one
kerf; from there on nobody thinks of the saw again. What is left beyond the last cut is
L - sum(lengths) - n kerfs, never below nothing.

The objective is lexicographic, one level wholly before the next (`LEVELS`):

1. `unmet`: parts nobody gets, rank 0 wholly before rank 1 and so on (one level for each rank);
2. `cost`: cost of the bins begun, plus handling (ripping) of each part in the bin it is cut from;
3. `opened`: different salvaged pieces begun;
4. `waste`: by `waste_mm`: what is left of a begun bin and too short to keep counts in full, an
   offcut worth keeping between one and two least offcuts whatever its length, so that one long
   offcut beats several short ones;
5. `cuts`: strokes of the saw; the last part of a bin that comes out even needs none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

LevelName = Literal["unmet", "cost", "opened", "waste", "cuts"]
LEVELS: tuple[LevelName, ...] = ("unmet", "cost", "opened", "waste", "cuts")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A length wanted so many times. `rank` 0 is met before rank 1, wholly."""

    key: str
    length_mm: int
    quantity: int = 1
    rank: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Something to cut from.

    `supply` None means as many as wanted. `opens` is the salvaged piece this run lies in.
    `takes` are the keys of the parts that may come from it, None for all. `handling` is what
    each copy of a part costs extra when it comes from here, in the unit of `cost`.
    """

    key: str
    length_mm: int
    supply: int | None = 1
    cost: int = 0
    opens: str | None = None
    takes: frozenset[str] | None = None
    handling: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pattern:
    """`count` bins of one kind, each cut into these parts (a key once for every copy)."""

    bin_key: str
    part_keys: tuple[str, ...]
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingProblem:
    """Everything at once.

    `locked` patterns stay: their parts (counted in `parts` too) come from those bins whatever
    is better; what is free in such a bin may still be cut into other parts.

    Raises:
        ValueError: a sentence saying which length, count or key makes no sense.
    """

    parts: tuple[Part, ...]
    bins: tuple[Bin, ...]
    kerf_mm: int = 0
    least_offcut_mm: int = 0
    locked: tuple[Pattern, ...] = ()

    def __post_init__(self) -> None:
        for sentence in _what_is_wrong(self):
            raise ValueError(sentence)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One level of the objective: what was reached, and what nothing can go below.

    `bound` holds among all plans that are as good on the levels before it. `proven` says that
    value and bound meet *and* the levels before are proven too. `rank` belongs to `unmet`.
    """

    name: LevelName
    value: int
    bound: int
    proven: bool
    rank: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingSolution:
    """The patterns (locked ones in them), what is unmet as (key, count), and the levels."""

    patterns: tuple[Pattern, ...]
    unmet: tuple[tuple[str, int], ...]
    levels: tuple[Level, ...]
    proven: bool
    seconds: float


def left_mm(bin_mm: int, lengths_mm: Sequence[int], kerf_mm: int) -> int:
    """What remains in one piece after these parts are cut from a bin, in mm."""
    return max(0, bin_mm - sum(lengths_mm) - len(lengths_mm) * kerf_mm)


def waste_mm(left: int, least_offcut_mm: int) -> int:
    """What a remainder counts as waste, in mm.

    Shorter than the least offcut: all of it. From there on 2 K - K²/left, rounded up (K the
    least offcut): K at first, never above 2 K. The curve is concave, so of two ways to leave
    the same total the less even one wastes less. A least offcut of nothing: no waste at all.
    """
    if left < least_offcut_mm:
        return left
    if least_offcut_mm == 0:
        return 0
    return 2 * least_offcut_mm - least_offcut_mm * least_offcut_mm // left


def cuts_in(bin_mm: int, lengths_mm: Sequence[int], kerf_mm: int) -> int:
    """Strokes of the saw that these parts take: one each, less one when the bin comes out even."""
    count = len(lengths_mm)
    if not count:
        return 0
    even = sum(lengths_mm) + (count - 1) * kerf_mm == bin_mm
    return count - 1 if even else count


def _what_is_wrong(problem: CuttingProblem) -> list[str]:
    wrong = []
    parts = {part.key: part for part in problem.parts}
    bins = {bin_.key: bin_ for bin_ in problem.bins}
    if problem.kerf_mm < 0 or problem.least_offcut_mm < 0:
        wrong.append("Kerf and least offcut are lengths: nothing below 0 mm.")
    if len(parts) < len(problem.parts) or len(bins) < len(problem.bins):
        wrong.append("Two parts, or two bins, have the same key.")
    wrong += [
        f"Part {part.key} is {part.length_mm} mm, {part.quantity} times, rank {part.rank}: "
        "the length is at least 1 mm, the others at least 0."
        for part in problem.parts
        if part.length_mm < 1 or part.quantity < 0 or part.rank < 0
    ]
    wrong += [
        f"Bin {bin_.key} has a length, supply, cost or handling that is below what can be."
        for bin_ in problem.bins
        if bin_.length_mm < 1
        or bin_.cost < 0
        or (bin_.supply is not None and bin_.supply < 0)
        or any(cost < 0 for cost in bin_.handling.values())
    ]
    return wrong or _wrong_locks(problem, parts, bins)


def _wrong_locks(
    problem: CuttingProblem, parts: Mapping[str, Part], bins: Mapping[str, Bin]
) -> list[str]:
    used: Counter[str] = Counter()
    taken: Counter[str] = Counter()
    for pattern in problem.locked:
        if pattern.bin_key not in bins or any(key not in parts for key in pattern.part_keys):
            return [f"A locked pattern in bin {pattern.bin_key} names what is not there."]
        lengths = [parts[key].length_mm for key in pattern.part_keys]
        room = bins[pattern.bin_key].length_mm + problem.kerf_mm
        if sum(lengths) + len(lengths) * problem.kerf_mm > room:
            return [f"The locked parts of bin {pattern.bin_key} are longer than the bin."]
        if pattern.count < 1:
            return [f"A locked pattern in bin {pattern.bin_key} is there less than once."]
        used[pattern.bin_key] += pattern.count
        for key in pattern.part_keys:
            taken[key] += pattern.count
    for key, count in used.items():
        supply = bins[key].supply
        if supply is not None and count > supply:
            return [f"More is locked in bin {key} than there is of it."]
    for key, count in taken.items():
        if count > parts[key].quantity:
            return [f"More of part {key} is locked than wanted."]
    return []
