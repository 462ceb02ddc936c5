"""The crew's time in many runs at once: what of it is free, and taking the earliest that fits.

The crew does one thing at a time, in the plan's order. Where the next thing has to wait (for a
visit, for drying, for a long enough day) the crew gets on with what comes after it, as far as
that fits into the time left free: what is later in the plan never delays what is earlier.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from .problem import Interval
from .run_hours import ENDLESS, Hours

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .run_hours import Minutes

# Free stretches remembered in each run; beyond these the shortest one is forgotten.
STRETCHES = 12
FAR = ENDLESS << 1


class Crew:
    """Free stretches of one pair of hands: `opens` to `closes`, a row of them for each run."""

    def __init__(self, runs: int, windows: Sequence[Interval]) -> None:
        self.hours = Hours(windows)
        self.opens = np.zeros((runs, STRETCHES), dtype=np.int64)
        self.closes = np.zeros((runs, STRETCHES), dtype=np.int64)
        self.closes[:, 0] = FAR

    def copy(self) -> Crew:
        twin = object.__new__(Crew)
        twin.hours, twin.opens, twin.closes = self.hours, self.opens.copy(), self.closes.copy()
        return twin

    def whole(
        self, ready: Minutes, work: Minutes, planned: int, hours: Hours
    ) -> tuple[Minutes, Minutes]:
        """Work that is not broken off: begun where the planned minutes fit, then seen through.

        It may so run past the hours; nobody knows beforehand how long it takes. Between two
        things that stand already it has to fit as it is.
        """
        start, end = ready.copy(), ready.copy()
        rows = np.flatnonzero(work > 0)
        length = work[rows] + hours.around
        at, stretch = self._first(rows, ready[rows], planned + hours.around, length, hours)
        start[rows], end[rows] = at, at + length
        self._take(rows, stretch, at, at + length)
        return start, end

    def pieces(
        self, ready: Minutes, work: Minutes, least: int, hours: Hours, just_done: Minutes
    ) -> tuple[Minutes, Minutes]:
        """Work in as many pieces as it takes, each in hours that have room for a stint.

        Args:
            least: minutes of work in the shortest stint.
            just_done: when the last piece of the same activity ended; who goes on from there
                sets nothing up again.
        """
        start, end = ready.copy(), ready.copy()
        rows = np.flatnonzero(work > 0)
        left, since, last = work[rows], ready[rows], just_done[rows]
        begun = False
        while rows.size:
            need = np.minimum(left, least) + hours.around
            at, stretch = self._first(rows, since, need, need, hours)
            around = np.where(at == last, 0, hours.around)
            room = np.minimum(hours.close_after(at), self.closes[rows, stretch]) - at - around
            done = np.minimum(left, room)
            until = at + around + done
            self._take(rows, stretch, at, until)
            if not begun:
                start[rows], begun = at, True
            end[rows] = until
            left = left - done
            more = left > 0
            rows, left, since, last = rows[more], left[more], until[more], until[more]
        return start, end

    def carried_on(self, ready: Minutes, work: Minutes, hours: Hours) -> tuple[Minutes, Minutes]:
        """Work through window after window, with nothing else between."""
        start, end = ready.copy(), ready.copy()
        rows = np.flatnonzero(work > 0)
        last = self.opens[rows].max(axis=1)
        at = hours.begin(np.maximum(ready[rows], last), 1)
        until = hours.end(at, work[rows], hours.around)
        start[rows], end[rows] = at, until
        self._take(rows, self.closes[rows].argmax(axis=1), at, until)
        return start, end

    def _first(
        self,
        rows: NDArray[np.int64],
        ready: Minutes,
        need: Minutes | int,
        length: Minutes,
        hours: Hours,
    ) -> tuple[Minutes, NDArray[np.int64]]:
        """The earliest start in hours with room for `need` and free for `length`, and where."""
        known = np.flatnonzero((self.closes > self.opens).any(axis=0))
        grid = np.ix_(rows, known)
        opens, closes = self.opens[grid], self.closes[grid]
        wanted = need if np.ndim(need) == 0 else np.asarray(need)[:, None]
        at = hours.begin(np.maximum(opens, ready[:, None]), wanted)
        at[at + length[:, None] > closes] = FAR
        stretch = at.argmin(axis=1)
        return at[np.arange(len(rows)), stretch], known[stretch]

    def _take(
        self, rows: NDArray[np.int64], stretch: NDArray[np.int64], at: Minutes, until: Minutes
    ) -> None:
        """Cut `[at, until)` out of a free stretch; what lies before it is kept if of any use."""
        before = self.opens[rows, stretch]
        self.opens[rows, stretch] = until
        from_ = self.hours.begin(before, 1)
        useful = from_ < at
        rows, from_, at = rows[useful], from_[useful], at[useful]
        lengths = np.maximum(self.closes[rows] - self.opens[rows], 0)
        slot = lengths.argmin(axis=1)
        longer = at - from_ > lengths[np.arange(len(rows)), slot]
        rows, slot = rows[longer], slot[longer]
        self.opens[rows, slot], self.closes[rows, slot] = from_[longer], at[longer]
