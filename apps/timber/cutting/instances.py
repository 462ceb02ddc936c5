"""Bin-packing and cutting-stock instances in the two text layouts they are published in.

Both are whole numbers: how many entries, the capacity, then the entries, one a line. In the
bin-packing layout an entry is a size; in the cutting-stock layout a size and how often it is
wanted. They are described, with hundreds of instances, in M. Delorme, M. Iori, S. Martello,
"BPPLIB: a library for bin packing and cutting stock problems", Optimization Letters 12 (2018)
235-250. Such an instance is a cutting problem with one kind of bin, as many as wanted, no kerf,
and nothing to look at but the number of bins.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from apps.timber.cutting.problem import Bin, CuttingProblem, Part


@dataclass(frozen=True, slots=True)
class Instance:
    """Bins of one capacity and (size, how often wanted), the largest first."""

    capacity: int
    sizes: tuple[tuple[int, int], ...]

    def problem(self) -> CuttingProblem:
        """The same as a question: every bin costs 1."""
        return CuttingProblem(
            parts=tuple(
                Part(key=str(size), length_mm=size, quantity=count) for size, count in self.sizes
            ),
            bins=(Bin(key="bin", length_mm=self.capacity, supply=None, cost=1),),
        )


def read_instance(text: str) -> Instance:
    """Read either layout.

    Raises:
        ValueError: a sentence with the line and what is wrong with it.
    """
    lines = [
        (number, line.split()) for number, line in enumerate(text.splitlines(), 1) if line.strip()
    ]
    if len(lines) > 1 and len(lines[0][1]) == 2:  # both heads on one line
        lines = [(1, lines[0][1][:1]), (1, lines[0][1][1:]), *lines[1:]]
    rows = [(number, [_whole(number, word) for word in words]) for number, words in lines]
    if len(rows) < 3 or len(rows[0][1]) != 1 or len(rows[1][1]) != 1:
        raise ValueError("It must begin with the number of entries and the capacity, then entries.")
    (_, (count,)), (_, (capacity,)), *entries = rows
    if count != len(entries):
        raise ValueError(f"It says {count} entries and has {len(entries)}.")
    width = len(entries[0][1])
    wanted: Counter[int] = Counter()
    for number, entry in entries:
        if len(entry) != width or width > 2:
            raise ValueError(
                f"Line {number}: every entry is a size, or every one a size and a count."
            )
        if not 1 <= entry[0] <= capacity:
            raise ValueError(f"Line {number}: size {entry[0]} is not between 1 and {capacity}.")
        if entry[-1] < 1:
            raise ValueError(f"Line {number}: {entry[-1]} is not a count.")
        wanted[entry[0]] += entry[1] if width == 2 else 1
    return Instance(capacity, tuple(sorted(wanted.items(), reverse=True)))


def _whole(number: int, word: str) -> int:
    if not (word.isascii() and word.isdecimal() and len(word) < 10):
        raise ValueError(f"Line {number}: {word[:20]!r} is not a whole number below 1,000,000,000.")
    return int(word)
