"""Moving boards from the floor screen: the services that the API calls, and the way back."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.floors import services
from apps.floors.models import Board, BoardMove, BoardStay
from apps.floors.words import listed
from apps.pages.actions import Done, from_queue, house_action, is_ours, moment
from apps.pages.base import Undo
from apps.pages.screens.floor.board import DO_WORDS
from apps.pages.visiting import Visiting, id_of, page
from apps.planning.services import refuse_if_held
from renovation.errors import Problem, field_problem

KEPT = {"board", "to_state", "move", "note", "property", "at"}
CAN_BE_FORCED = {"board-held", "board-trapped"}


@house_action
def move(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Move the ticked boards; those in the wanted state already stay as they are."""
    to_state = request.POST.get("to_state", "")
    if to_state not in DO_WORDS:
        raise field_problem("", "Say what to do with them: lift, lay loose, fix.")
    boards = boards_of(found, request.POST.getlist("board"))
    already = [board.mark for board in boards if board.state == to_state]
    to_move = [board for board in boards if board.state != to_state] or boards
    reason = request.POST.get("force_reason", "").strip()
    try:
        # All floors or none: the page that says why not is an answer, and no refusal by itself.
        with transaction.atomic():
            moves = move_each_floor(request, found, to_move, to_state, reason)
    except Problem as problem:
        return refused(request, found, problem, doing=DO_WORDS[to_state][0], boards=to_move)
    sentence = f"{DO_WORDS[to_state][1]}: {listed([board.mark for board in to_move])}."
    if already and len(to_move) < len(boards):
        verb = "was" if len(already) == 1 else "were"
        sentence += f" {listed(already)} {verb} so already."
    back = back_of(request)
    return Done(sentence, back, undo_of(moves, back))


@house_action
def undo(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Move the boards of a move back to where they were; the log keeps both.

    A way back is a move like any other: what is held by now is not fixed again without a reason.
    """
    wanted = [id_of(written) for written in request.POST.getlist("move")]
    rows = list(
        BoardMove.objects.filter(
            floor__property=found.house, pk__in=[pk for pk in wanted if pk is not None]
        ).order_by("-pk")
    )
    if not rows:
        raise Problem("not-found", "There is no such move here.", status_code=404)
    boards = moved_by(rows)
    reason = request.POST.get("force_reason", "").strip()
    try:
        with transaction.atomic():
            moves = [move for row in rows for move in taken_back(row, found, reason)]
    except Problem as problem:
        return refused(request, found, problem, doing="Put back", boards=boards)
    back = back_of(request)
    said = listed([board.mark for board in boards])
    return Done(f"Put back as before: {said}.", back, undo_of(moves, back))


def taken_back(row: BoardMove, found: Visiting, reason: str) -> list[BoardMove]:
    for state, boards in services.states_before(row).items():
        refuse_if_held(boards=boards, to_state=state, forced_reason=reason)
    return services.undo_move(move=row, moved_by=found.user, forced_reason=reason)


def moved_by(moves: Sequence[BoardMove]) -> list[Board]:
    stays = BoardStay.objects.filter(move__in=moves).select_related("board")
    return [stay.board for stay in stays.order_by("board__floor", "board__course", "board_id")]


def move_each_floor(
    request: HttpRequest, found: Visiting, boards: Sequence[Board], to_state: str, reason: str
) -> list[BoardMove]:
    """One move for each floor: marks count anew on each, and so does the log."""
    refuse_if_held(boards=boards, to_state=to_state, forced_reason=reason)
    floors = dict.fromkeys(board.floor_id for board in boards)
    return [
        services.move_boards(
            boards=[board for board in boards if board.floor_id == floor],
            to_state=to_state,
            moved_at=moment(request, found),
            note=request.POST.get("note", "").strip(),
            moved_by=found.user,
            forced_reason=reason,
        )
        for floor in floors
    ]


def boards_of(found: Visiting, written: Sequence[str]) -> list[Board]:
    """The boards a form names, each once.

    Raises:
        Problem: `invalid` for none, or one that the house has not.
    """
    ids = {id_of(one) for one in written}
    boards = list(
        Board.objects.filter(
            floor__property=found.house, pk__in=[pk for pk in ids if pk is not None]
        )
        .select_related("floor__property")
        .order_by("floor", "course", "pk")
    )
    if not boards:
        raise field_problem("", "Pick the boards first: tap them, or tick them in the list.")
    if len(boards) < len(ids):
        raise field_problem("", "One of these boards is not in this house.")
    return boards


def refused(
    request: HttpRequest, found: Visiting, problem: Problem, *, doing: str, boards: Sequence[Board]
) -> HttpResponse:
    """The page that says why not, and asks for a reason where one is enough.

    Raises:
        Problem: the same where no reason helps, or where the phone's queue has to be told.
    """
    if problem.code not in CAN_BE_FORCED or from_queue(request):
        raise problem
    kept = [
        (name, value) for name, values in request.POST.lists() if name in KEPT for value in values
    ]
    shown = {
        "sentence": problem.detail,
        "address": request.path,
        "doing": doing,
        "marks": [board.mark for board in boards],
        "kept": kept,
        "back": back_of(request),
    }
    return page(
        request, found, "pages/floor/refused.html", shown, here="floor", status=problem.status_code
    )


def back_of(request: HttpRequest) -> str:
    back = request.POST.get("back", "")
    return back if is_ours(back) else reverse("floor")


def undo_of(moves: Sequence[BoardMove], back: str) -> Undo:
    return Undo(reverse("floor-undo"), {"move": [move.pk for move in moves], "back": back})
