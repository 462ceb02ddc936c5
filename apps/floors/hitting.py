"""The smallest set of things that takes at least one out of every group: exact.

Sets are bit masks: bit 0 is the first thing. Among the smallest sets the first one in order
is returned (the one whose least members come first), so that the same house always gets the
same answer. It says so where finding it takes too long.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

MOST_COMPARED = 3_000_000
"""Groups held against each other, some 0.3 s."""


class TooMany(Exception):
    """More was tried than is worth it."""


class Trials:
    """How much more may be compared."""

    def __init__(self, left: int) -> None:
        self.left = left

    def one_more(self, groups: int) -> None:
        self.left -= groups * groups
        if self.left < 0:
            raise TooMany


def smallest_hitting_set(groups: Sequence[int]) -> int:
    """Branch and bound: deepen the size until one set hits all, then fix members from the first.

    Raises:
        ValueError: an empty group, which nothing can hit.
        TooMany: a set this large is not found in reasonable time.
    """
    if 0 in groups:
        raise ValueError("A group without members cannot be hit.")
    left = _needed(groups)
    size = _packed(left)
    trials = Trials(MOST_COMPARED)
    while not _hits(left, size, trials):
        size += 1
    chosen = 0
    spent = 0
    for member in _members(_union(left)):
        without = [group for group in left if not group & member]
        ahead = ~(chosen | spent | member)
        if size and _hits([group & ahead for group in without], size - 1, trials):
            chosen, left, size = chosen | member, without, size - 1
        else:
            spent |= member
    return chosen


def _hits(groups: Sequence[int], size: int, trials: Trials) -> bool:
    """Whether some set of at most this size hits every group."""
    trials.one_more(len(groups))
    groups = _needed(groups)
    if not groups:
        return True
    if groups[0] == 0 or _packed(groups) > size:
        return False
    # The smallest group: one of its members is in every answer. Once one was tried in vain
    # it is in none, and leaves the other groups smaller.
    tried = 0
    for member in _members(groups[0]):
        rest = [group & ~tried for group in groups if not group & member]
        if _hits(rest, size - 1, trials):
            return True
        tried |= member
    return False


def _needed(groups: Sequence[int]) -> list[int]:
    """Groups that contain no other: hitting those hits all. Smallest first."""
    kept: list[int] = []
    for group in sorted(set(groups), key=lambda g: (g.bit_count(), g)):
        if not any(small & group == small for small in kept):
            kept.append(group)
    return kept


def _packed(groups: Sequence[int]) -> int:
    """How many groups with no member in common a quick look finds: no answer is smaller."""
    used = count = 0
    for group in groups:
        if not group & used:
            used, count = used | group, count + 1
    return count


def _union(groups: Sequence[int]) -> int:
    together = 0
    for group in groups:
        together |= group
    return together


def _members(mask: int) -> Iterator[int]:
    while mask:
        lowest = mask & -mask
        yield lowest
        mask ^= lowest
