"""Which places of a storey one can get to, as boards are laid one after another."""

from __future__ import annotations

from apps.floors.cells import Cells

START, END = 1, 2


class Regions:
    """Open cells, joined to all they can be walked to from.

    Laying a board joins the cells it opens to those beside them; where that would let somebody
    through, it is undone. So each cell is looked at once for each board over it, and laying a
    whole floor board by board costs about as much as walking over it once.
    """

    def __init__(self, graph: Cells, laid: int) -> None:
        self.graph, self.laid = graph, laid
        cells = range(len(graph.closed_by))
        self._under: list[list[int]] = [[] for _ in graph.boards]
        for cell, closed_by in enumerate(graph.closed_by):
            for bit in _bits(closed_by & ~laid):
                self._under[bit].append(cell)
        # A tree for each region, in which the smaller always hangs on the larger: short without
        # being shortened, so that what was joined last can be parted again.
        self._above = list(cells)
        self._size = [1] * len(self._above)
        self._reach = [
            START * (cell in graph.starts) | END * (cell in graph.ends) for cell in cells
        ]
        self._joined: list[tuple[int, int, int]] = []
        for cell in cells:
            if not graph.closed_by[cell] & ~laid:
                self._open(cell)
        self._joined.clear()

    def lay(self, board: int) -> bool:
        """Lay a board (its bit), unless that would open the way; whether it was laid."""
        self.laid |= board
        for cell in self._under[board.bit_length() - 1]:
            if not self.graph.closed_by[cell] & ~self.laid and self._open(cell) == START | END:
                self.laid ^= board
                self._part()
                return False
        self._joined.clear()
        return True

    def _open(self, cell: int) -> int:
        """Join a cell to the open ones beside it; what its region touches by then."""
        closed_by = self.graph.closed_by
        for other in self.graph.beside[cell]:
            if not closed_by[other] & ~self.laid:
                self._join(cell, other)
        return self._reach[self._root(cell)]

    def _root(self, cell: int) -> int:
        while self._above[cell] != cell:
            cell = self._above[cell]
        return cell

    def _join(self, cell: int, other: int) -> None:
        low, high = self._root(cell), self._root(other)
        if low == high:
            return
        if self._size[low] > self._size[high]:
            low, high = high, low
        self._joined.append((low, high, self._reach[high]))
        self._above[low] = high
        self._size[high] += self._size[low]
        self._reach[high] |= self._reach[low]

    def _part(self) -> None:
        """Undo what the last board joined."""
        while self._joined:
            low, high, reach = self._joined.pop()
            self._above[low] = low
            self._size[high] -= self._size[low]
            self._reach[high] = reach


def _bits(mask: int) -> list[int]:
    found = []
    while mask:
        lowest = mask & -mask
        found.append(lowest.bit_length() - 1)
        mask ^= lowest
    return found
