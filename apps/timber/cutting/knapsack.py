"""The pricing table: the most valuable pattern for every length at once.

A bounded knapsack by dynamic programming over positions. Each item with demand d is cut into
chunks of 1, 2, 4, ... copies, so that every count up to d can be put together; row j + 1 of the
table holds, for every position, the best value with the first j + 1 chunks. One table serves
every bin that takes the same items, whatever its length. Values are whole numbers (duals
scaled by the caller), so every bound made from the table is exact.

With `exact` a position means "filled to here, not less", which is needed as soon as a pattern
is judged by what it leaves; otherwise it means "filled to here at most".
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from apps.timber.cutting.components import Cut

MOST = 1 << 28
"""No pattern may be worth more than this, so that sums stay whole in 32 bits."""
NOT_REACHED = -(1 << 30)
REACHED = -(1 << 29)
"""What is below this was never reached, whatever was added on the way."""


def cells_of(sizes: Sequence[int], copies: Sequence[int], room: int) -> int:
    """How many numbers of 32 bits a table takes."""
    chunks = (
        min(most, room // size).bit_length() for size, most in zip(sizes, copies, strict=True)
    )
    return (sum(chunks) + 1) * (room + 1)


class Table:
    """Items (sizes and how many copies at most) over the positions 0 to `room`."""

    def __init__(
        self,
        sizes: Sequence[int],
        copies: Sequence[int],
        room: int,
        *,
        exact: bool = False,
        memory: NDArray[np.int32] | None = None,
    ) -> None:
        item: list[int] = []
        times: list[int] = []
        for number, (size, most) in enumerate(zip(sizes, copies, strict=True)):
            left, chunk = min(most, room // size), 1
            while left > 0:
                take = min(chunk, left)
                item.append(number)
                times.append(take)
                left -= take
                chunk *= 2
        self.room = room
        self.item = np.array(item, dtype=np.int64)
        self.times = np.array(times, dtype=np.int64)
        self.size = np.array(sizes, dtype=np.int64)[self.item] * self.times
        self._shape = (len(item) + 1, room + 1)
        if memory is not None and memory.size >= self._shape[0] * self._shape[1]:
            self.use(memory)
        else:
            self.best = np.empty(self._shape, dtype=np.int32)
        self.exact = exact
        self.worth = np.zeros(len(item), dtype=np.int64)
        self._spare = np.empty(room + 1, dtype=np.int32)

    def use(self, memory: NDArray[np.int32]) -> None:
        """Lie in memory that other tables use too: what was filled in is gone."""
        self.best = memory[: self._shape[0] * self._shape[1]].reshape(self._shape)

    def fill(self, values: NDArray[np.int64]) -> None:
        """Work the table out for one whole-number value per item."""
        self.worth = values[self.item] * self.times
        best, spare = self.best, self._spare
        # The memory may have been lent to another table since.
        best[0] = NOT_REACHED if self.exact else 0
        best[0, 0] = 0
        for row, (size, worth) in enumerate(
            zip(self.size.tolist(), self.worth.tolist(), strict=True)
        ):
            before, after = best[row], best[row + 1]
            if worth <= 0 and not self.exact:
                after[:] = before
                continue
            after[:size] = before[:size]
            tried = spare[size:]
            np.add(before[: self.room + 1 - size], worth, out=tried)
            np.maximum(before[size:], tried, out=after[size:])

    def pattern(self, row: int, position: int) -> Cut:
        """The pattern behind one cell: (item, copies), items ascending."""
        best, found = self.best, dict[int, int]()
        while position > 0:
            worth = best[row, position]
            if worth == best[0, position]:
                break
            row = int(np.searchsorted(best[: row + 1, position], worth)) - 1
            number = int(self.item[row])
            found[number] = found.get(number, 0) + int(self.times[row])
            position -= int(self.size[row])
        return tuple(sorted(found.items()))

    def last(self) -> NDArray[np.int32]:
        """The best value for every position with all items."""
        last: NDArray[np.int32] = self.best[-1]
        return last

    def many(self, room: int, above: int, most: int) -> list[Cut]:
        """Up to `most` different patterns worth more than `above`, the best first.

        For each chunk the best pattern in which it is the last: nearly as good as the best,
        and different from each other, for one filling of the table.
        """
        rows = np.nonzero(self.size <= room)[0]
        values = self.best[rows, room - self.size[rows]] + self.worth[rows]
        good = np.nonzero(values > above)[0]
        order = good[np.argsort(-values[good], kind="stable")[:most]]
        found: dict[Cut, None] = {}
        for row in rows[order].tolist():
            counts = dict(self.pattern(row, room - int(self.size[row])))
            number = int(self.item[row])
            counts[number] = counts.get(number, 0) + int(self.times[row])
            found[tuple(sorted(counts.items()))] = None
        return list(found)
