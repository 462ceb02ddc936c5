"""Moving boards over HTTP: the log of `floors`, guarded by the holds that are known here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from apps.floors.api.moves import BoardMoveViewSet as UnguardedBoardMoveViewSet
from apps.floors.models import Board
from apps.planning import services


class BoardMoveViewSet(UnguardedBoardMoveViewSet):
    """The log of every board that was lifted, laid loose, fixed or found missing.

    Only ever added to: a slip is taken back by `undo/`, which moves the boards back. Fixing a
    held board answers 409 with its holds, unless `force_reason` says why it is done all the
    same; the reason is kept.
    """

    def refuse(
        self, *, boards: Sequence[Board], to_state: str, moved_at: datetime, forced_reason: str
    ) -> None:
        services.refuse_if_held(boards=boards, to_state=to_state, forced_reason=forced_reason)
