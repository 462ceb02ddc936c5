"""One board as its card shows it: what it is, for whom until when and why, and its log."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from apps.floors.models import Board, BoardStay
from apps.floors.selectors import board_facts, why_trapped
from apps.pages.visiting import Visiting
from apps.planning import selectors

DO_WORDS = {
    "up": ("Lift", "Lifted"),
    "loose": ("Lay loose", "Laid loose"),
    "fixed": ("Fix", "Fixed"),
    "missing": ("Missing", "Noted as missing"),
}
"""What a move to a state is called: on its button, and once it is done."""


def board_card(found: Visiting, board: Board) -> dict[str, Any]:
    """Everything for the card; times are aware, the template shows the house's own."""
    facts = board_facts([board.floor_id])[board.pk]
    holds = selectors.board_holds(found.house, now=found.now, board_ids={board.pk})
    stays = list(
        BoardStay.objects.filter(board=board)
        .select_related("move__moved_by")
        .order_by("-since", "-pk")
    )
    return {
        "board": board,
        "since": stays[0].since if stays else None,
        "facts": facts,
        "trapped": why_trapped(board.floor, [board]) if facts.trapped else [],
        "holds": [hold for hold in holds if not hold["released"]],
        "tonight": tonight(found, board),
        "log": [log_line(stay) for stay in stays],
        "moves": [(state, words[0]) for state, words in DO_WORDS.items() if state != board.state],
    }


def tonight(found: Visiting, board: Board) -> str:
    """What the household's ways ask of the board tonight, a sentence; empty for nothing."""
    nights = selectors.nights(found.house, first=found.today, days=1, now=found.now)
    for route in nights[0]["routes"] if nights else []:
        for key, what in (("lay_loose", "Lay it loose"), ("deck_over", "Deck it over")):
            if any(named["board"] == board.pk for named in route[key]):
                return f"{what} tonight: {route['route']['name']} needs it."
    return ""


def log_line(stay: BoardStay) -> dict[str, str | datetime]:
    move = stay.move
    return {
        "at": stay.since,
        "state": move.to_state,
        "by": str(move.moved_by),
        "note": " ".join(filter(None, (move.note, move.forced_reason))),
    }
