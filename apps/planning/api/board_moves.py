"""Moving boards over HTTP: the log of `floors`, guarded by the holds that are known here."""

from __future__ import annotations

from typing import Any

from apps.floors.api import BoardMoveViewSet as UnguardedBoardMoveViewSet
from apps.planning import services


class BoardMoveViewSet(UnguardedBoardMoveViewSet):
    """The log of board moves. Fixing a held board answers 409 with its holds, unless
    `forced_reason` says why it is done all the same; the reason is kept."""

    def before_move(self, *, boards: list[Any], to_state: str, forced_reason: str) -> None:
        services.refuse_if_held(boards=boards, to_state=to_state, forced_reason=forced_reason)
