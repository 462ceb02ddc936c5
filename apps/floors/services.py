"""Changes of a floor: setting it out, and the log of every board that was moved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from apps.floors import selectors, shapes
from apps.floors.models import Board, BoardMove, BoardStay, Floor, Joist
from apps.floors.words import listed
from renovation.errors import Problem, field_problem

MOST_JOISTS = 1000
CLOCKS_DIFFER = timedelta(minutes=5)
"""How far ahead of ours a phone's clock may be."""

DOWN = {Board.State.FIXED, Board.State.LOOSE}


@transaction.atomic
def set_out_floor(
    *,
    floor: Floor,
    first_joist_mm: int,
    first_board_mm: int | None,
    max_board_length_mm: int,
    dry_run: bool,
) -> shapes.SetOut:
    """Lay joists and boards over a floor's outline, in place of those set out before.

    Rows that name one of its boards or joists from elsewhere protect it: then nothing changes.

    Args:
        floor: its row, locked by the caller.
        first_joist_mm: from the corner to the centre of J1.
        first_board_mm: width of the first course; None: the whole cover width.
        dry_run: only say what it would be.

    Raises:
        Problem: `floor-is-solid`; `floor-has-history` when a board has moved or something was
            noted on a joist; `invalid` for sizes that no floor has.
    """
    if floor.construction == Floor.Construction.SOLID:
        raise Problem(
            "floor-is-solid", f"{floor} is solid: it has no joists and boards to set out."
        )
    refuse_history(floor)
    laid = computed_set_out(
        floor,
        first_joist_mm=first_joist_mm,
        first_board_mm=first_board_mm,
        max_board_length_mm=max_board_length_mm,
    )
    if dry_run:
        return laid
    floor.boards.all().delete()
    floor.joists.all().delete()
    Joist.objects.bulk_create(
        Joist(
            floor=floor,
            mark=joist.mark,
            line=joist.line,
            breadth_mm=floor.joist_breadth_mm,
            depth_mm=floor.joist_depth_mm,
            strength_class=floor.strength_class,
        )
        for joist in laid.joists
    )
    Board.objects.bulk_create(
        Board(floor=floor, mark=board.mark, course=board.course, outline=board.outline)
        for board in laid.boards
    )
    floor.change()
    return laid


def refuse_history(floor: Floor) -> None:
    """Refuse to forget what was seen and done on a floor.

    Raises:
        Problem: `floor-has-history`, naming the boards and joists.
    """
    ever_moved = ~Q(state=Board.State.FIXED) | Q(stays__isnull=False)
    moved = [board.mark for board in floor.boards.filter(ever_moved).distinct()]
    if moved:
        raise Problem(
            "floor-has-history",
            f"{floor} is not set out again: {listed(moved)} "
            f"{'was' if len(moved) == 1 else 'were'} moved, and the log of it must stay.",
        )
    measured = Q(probes__isnull=False) | Q(spot_heights__isnull=False)
    probed = set(floor.joists.filter(measured).values_list("pk", flat=True))
    noted = [
        joist.mark
        for joist in floor.joists.all()
        if joist.condition != Joist.Condition.SOUND
        or joist.decayed
        or joist.cuts
        or joist.bearings
        or joist.pk in probed
    ]
    if noted:
        raise Problem(
            "floor-has-history",
            f"{floor} is not set out again: what was noted on {listed(noted)} must stay.",
        )


def computed_set_out(
    floor: Floor, *, first_joist_mm: int, first_board_mm: int | None, max_board_length_mm: int
) -> shapes.SetOut:
    """The set-out as it would be.

    Raises:
        Problem: `invalid`, 400, with the field to blame.
    """
    from apps.floors.set_out import set_out  # noqa: PLC0415 (shapely, 120 ms)

    outline = shapes.points(floor.outline)
    if first_board_mm is not None and first_board_mm > floor.board_cover_width_mm:
        raise field_problem(
            "/first_board_mm", f"A board shows at most {floor.board_cover_width_mm} mm here."
        )
    if first_joist_mm > floor.joist_centres_mm:
        raise field_problem(
            "/first_joist_mm", f"The joists here are {floor.joist_centres_mm} mm apart."
        )
    reach = sum(max(axis) - min(axis) for axis in zip(*outline, strict=True))
    if reach > MOST_JOISTS * floor.joist_centres_mm:
        raise field_problem("", f"{floor} is larger than {MOST_JOISTS} joists; check its outline.")
    try:
        return set_out(
            outline,
            boards_run_deg=floor.boards_run_deg,
            board_cover_width_mm=floor.board_cover_width_mm,
            joist_centres_mm=floor.joist_centres_mm,
            joist_breadth_mm=floor.joist_breadth_mm,
            max_board_length_mm=max_board_length_mm,
            first_joist_mm=first_joist_mm,
            first_board_mm=first_board_mm,
        )
    except ValueError as exc:
        raise field_problem("/max_board_length_mm", str(exc)) from exc


@transaction.atomic
def move_boards(
    *,
    boards: Sequence[Board],
    to_state: str,
    moved_at: datetime,
    note: str,
    moved_by: Any,
    forced_reason: str = "",
) -> BoardMove:
    """Note that some boards of one floor came into a state: lifted, laid loose, fixed, gone.

    Raises:
        Problem: `invalid` for no board, a board twice, boards of two floors or a time to come;
            `board-moved-later` for a time before a board's last move; `board-in-state` when a
            board is so already; `board-trapped` for lifting from under a partition without a
            reason. Nothing is changed then.
    """
    ids = [board.pk for board in boards]
    if not ids:
        raise field_problem("/boards", "Say which boards.")
    if len(set(ids)) < len(ids):
        twice = sorted({board.mark for board in boards if ids.count(board.pk) > 1})
        raise field_problem("/boards", f"{listed(twice)} is named twice.")
    if len({board.floor_id for board in boards}) > 1:
        raise field_problem("/boards", "Boards of one floor at a time; these lie on several.")
    if moved_at > timezone.now() + CLOCKS_DIFFER:
        raise field_problem("/moved_at", "This has yet to happen; note it when it is done.")
    locked = list(Board.objects.select_for_update().filter(pk__in=ids))
    floor = Floor.objects.select_related("property", "storey").get(pk=locked[0].floor_id)
    refuse_earlier_than_last_move(floor, ids, moved_at)
    if unmoved := [board.mark for board in locked if board.state == to_state]:
        raise Problem(
            "board-in-state",
            f"{listed(unmoved)} {'is' if len(unmoved) == 1 else 'are'} {to_state} already.",
            errors=[{"pointer": "/boards", "detail": f"{to_state} already: {listed(unmoved)}"}],
        )
    if not forced_reason:
        refuse_trapped(floor, [b for b in locked if b.state in DOWN and to_state not in DOWN])

    move = BoardMove.objects.create(
        floor=floor,
        to_state=to_state,
        moved_at=moved_at,
        note=note,
        moved_by=moved_by,
        forced_reason=forced_reason,
    )
    BoardStay.objects.filter(board__in=ids, until=None).update(until=moved_at)
    BoardStay.objects.bulk_create(
        BoardStay(move=move, board=board, since=moved_at) for board in locked
    )
    for board in locked:
        board.state = to_state
        board.version += 1
    Board.objects.bulk_update(locked, ["state", "version"])
    return move


def refuse_earlier_than_last_move(floor: Floor, ids: Sequence[int], moved_at: datetime) -> None:
    """Refuse to write history: a board's moves are noted in their order.

    Raises:
        Problem: `board-moved-later`, naming the board and the time in the house's own zone.
    """
    later = BoardStay.objects.filter(board__in=ids, until=None, since__gt=moved_at)
    last = later.select_related("board").order_by("-since").first()
    if last is not None:
        at = last.since.astimezone(ZoneInfo(floor.property.timezone))
        detail = f"{last.board} was moved on {at:%d %b %Y at %H:%M}, after this."
        raise Problem(
            "board-moved-later", detail, errors=[{"pointer": "/moved_at", "detail": detail}]
        )


def refuse_trapped(floor: Floor, lifted: Sequence[Board]) -> None:
    """Refuse to lift what a partition stands on.

    Raises:
        Problem: `board-trapped`, naming board and partition.
    """
    if lifted and (said := selectors.why_trapped(floor, lifted)):
        raise Problem(
            "board-trapped",
            f"{' '.join(said)} It does not come up in one piece; "
            "give force_reason to say how it did.",
            errors=[{"pointer": "/boards", "detail": sentence} for sentence in said],
        )


@transaction.atomic
def undo_move(*, move: BoardMove, moved_by: Any, forced_reason: str = "") -> list[BoardMove]:
    """Take back a slip: move every board of a move back to where it was before.

    The log keeps the slip. Boards that came from different states go back in one move each.

    Raises:
        Problem: `move-not-last` when one of its boards was moved again since; whatever
            `move_boards` refuses.
    """
    since = [stay.board.mark for stay in move.stays.exclude(until=None).select_related("board")]
    if since:
        raise Problem("move-not-last", f"{listed(since)} moved again since; undo that first.")
    moved_at = max(timezone.now(), move.moved_at)
    return [
        move_boards(
            boards=boards,
            to_state=state,
            moved_at=moved_at,
            note=f"Takes back move {move.pk}.",
            moved_by=moved_by,
            forced_reason=forced_reason,
        )
        for state, boards in sorted(states_before(move).items())
    ]


def states_before(move: BoardMove) -> dict[str, list[Board]]:
    """The boards of a move by the state it brought them from; a first move is from fixed."""
    boards = [stay.board for stay in move.stays.select_related("board")]
    closed = BoardStay.objects.filter(board__in=boards).exclude(until=None)
    # Later stays overwrite earlier ones: what is left is each board's last one before.
    state_of = {
        stay.board_id: stay.move.to_state
        for stay in closed.select_related("move").order_by("since", "pk")
    }
    found: dict[str, list[Board]] = defaultdict(list)
    for board in boards:
        found[state_of.get(board.pk, str(Board.State.FIXED))].append(board)
    return dict(found)
