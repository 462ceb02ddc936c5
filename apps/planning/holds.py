"""Which boards stay open for whom, until what; and which planned steps would break that.

No geometry: needs arrive with the boards they touch. Works on the state of the needs alone;
planned times, where there are some, only make the answer sharper. Only the thing a need names
releases its boards. Time passing does not: a visit that was due yesterday and did not happen
still holds. Times are aware datetimes; sentences give them in the house's zone.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from zoneinfo import ZoneInfo

from apps.floors.shapes import BoardState
from apps.floors.words import listed
from apps.planning.clock import say

ForKind = Literal["trade", "task", "inspection"]
OpenAs = Literal["up", "unfixed"]
Until = Literal["visit_done", "task_done", "signed_off", "date"]

OPEN_STATES: dict[OpenAs, Collection[BoardState]] = {
    "up": ("up", "missing"),
    "unfixed": ("up", "missing", "loose"),
}
RELEASED_WHEN = {
    "visit_done": "{name} has been",
    "task_done": "{name} is done",
    "signed_off": "{name} is signed off",
}


@dataclass(frozen=True, slots=True)
class OpenNeed:
    """Somebody's need for boards to be open, with what the plan says of it.

    Attributes:
        for_name, until_name: as they read inside a sentence ("the plumber", "Fit the waste").
            `until_name` is unused for `date`.
        until_at: for `date`, the instant it is over; else None.
        released_at: when the thing named in `until` happened; None if it did not.
        starts, ends: planned or agreed interval of the visit, task or inspection, half-open;
            None without one.
        floor: which floor its boards are on, for sentences: marks count anew on each.
    """

    id: int
    for_kind: ForKind
    for_id: int
    for_name: str
    purpose: str
    board_ids: tuple[int, ...]
    open_as: OpenAs
    until: Until
    until_name: str = ""
    until_at: datetime | None = None
    released_at: datetime | None = None
    starts: datetime | None = None
    ends: datetime | None = None
    floor: str = ""


@dataclass(frozen=True, slots=True)
class BoardTimes:
    """One board's state, since when, and when a plan next has it lifted.

    `since` None: as long as anyone knows. `lifted_at` None: no plan lifts it.
    """

    board_id: int
    mark: str
    state: BoardState
    since: datetime | None = None
    lifted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Fix:
    """Boards about to be fixed: by a planned task, or asked for now (`task_id` None).

    `name` begins a sentence: the task's title, or "This" for a move somebody asks for.
    """

    board_ids: tuple[int, ...]
    at: datetime
    name: str
    task_id: int | None = None


@dataclass(frozen=True, slots=True)
class BoardHold:
    """One board held open by one need.

    Attributes:
        open_from: since when it is open, or when the plan opens it; None: not known, or never.
        open_until: when the plan has the release, or had it; None: not known.
        release: what releases it, a sentence.
        earliest_fix: when the board may be fixed as far as all its holds are known; now if all
            are released; None if one of them has no known end.
    """

    board_id: int
    mark: str
    for_kind: ForKind
    for_id: int
    for_name: str
    need_id: int
    reason: str
    open_as: OpenAs
    open_from: datetime | None
    open_until: datetime | None
    release: str
    released: bool
    earliest_fix: datetime | None
    sentence: str


@dataclass(frozen=True, slots=True)
class FixConflict:
    """A fix that comes before a need releases its boards."""

    fix: Fix
    holds: tuple[BoardHold, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class NobodyOpens:
    """A need whose boards are neither open nor opened by the plan in time.

    `late_ids` are those of `board_ids` that the plan does open, but after the need begins.
    """

    need: OpenNeed
    board_ids: tuple[int, ...]
    late_ids: tuple[int, ...]
    sentence: str


def board_holds(
    needs: Sequence[OpenNeed],
    boards: Mapping[int, BoardTimes],
    *,
    as_of: datetime,
    zone: ZoneInfo,
) -> tuple[BoardHold, ...]:
    """Every hold of every need, released ones too, in the order of needs and their boards.

    Args:
        boards: by id; every board of every need is there.
    """
    earliest: dict[int, datetime | None] = {}
    for need in needs:
        for key in need.board_ids:
            free_at = as_of if _released(need, as_of) else _ends(need, as_of)
            known = earliest.get(key, as_of)
            earliest[key] = None if known is None or free_at is None else max(known, free_at)
    return tuple(
        BoardHold(
            board_id=key,
            mark=boards[key].mark,
            for_kind=need.for_kind,
            for_id=need.for_id,
            for_name=need.for_name,
            need_id=need.id,
            reason=need.purpose,
            open_as=need.open_as,
            open_from=_opens(need, boards[key]),
            open_until=_ends(need, as_of),
            release=f"Released {_release(need, zone)}.",
            released=_released(need, as_of),
            earliest_fix=earliest[key],
            sentence=_hold_sentence(need, boards[key].mark, as_of, zone),
        )
        for need in needs
        for key in need.board_ids
    )


def fix_conflicts(
    holds: Sequence[BoardHold], fixes: Sequence[Fix], *, zone: ZoneInfo
) -> tuple[FixConflict, ...]:
    """Fixes that come too early, one for each fix and need.

    A fix that is asked for now conflicts with every hold not released. A planned one does if
    it comes before the planned release, or that is not known; not if the plan opens the
    board again after it.
    """
    found: list[FixConflict] = []
    for fix in fixes:
        early: dict[int, list[BoardHold]] = {}
        for hold in holds:
            if hold.board_id in fix.board_ids and _too_early(fix, hold):
                early.setdefault(hold.need_id, []).append(hold)
        found += [
            FixConflict(fix, tuple(group), _conflict_sentence(fix, group, zone))
            for group in early.values()
        ]
    return tuple(found)


def nobody_opens(
    needs: Sequence[OpenNeed],
    boards: Mapping[int, BoardTimes],
    *,
    as_of: datetime,
    zone: ZoneInfo,
) -> tuple[NobodyOpens, ...]:
    """Needs not released whose boards are not open and that nobody is planned to open in time.

    Without planned times of the need, any planned lifting is in time.
    """
    found: list[NobodyOpens] = []
    for need in needs:
        if _released(need, as_of):
            continue
        opened = {key: _opens(need, boards[key]) for key in need.board_ids}
        shut = tuple(
            key for key, at in opened.items() if at is None and not _open(need, boards[key])
        )
        late = tuple(
            key
            for key, at in opened.items()
            if at is not None
            and need.starts is not None
            and at > need.starts
            and not _open(need, boards[key])
        )
        if shut or late:
            marks = {key: boards[key].mark for key in (*shut, *late)}
            found.append(
                NobodyOpens(need, shut + late, late, _nobody_sentence(need, marks, late, zone))
            )
    return tuple(found)


def _open(need: OpenNeed, board: BoardTimes) -> bool:
    return board.state in OPEN_STATES[need.open_as]


def _opens(need: OpenNeed, board: BoardTimes) -> datetime | None:
    """Since when a board is open enough for a need, or when the plan opens it."""
    return board.since if _open(need, board) else board.lifted_at


def _released(need: OpenNeed, as_of: datetime) -> bool:
    over = need.until_at if need.until == "date" else None
    return any(at is not None and at <= as_of for at in (need.released_at, over))


def _ends(need: OpenNeed, as_of: datetime) -> datetime | None:
    """When a need releases its boards; None if its planned end went by without a release."""
    if _released(need, as_of):
        return need.released_at or need.until_at
    end = need.until_at if need.until == "date" else need.ends
    return None if end is None or end <= as_of else end


def _release(need: OpenNeed, zone: ZoneInfo) -> str:
    """What releases a need, to follow "released": "when the plumber has been"."""
    if need.until == "date" and need.until_at is not None:
        return f"from {say(need.until_at.astimezone(zone))}"
    return f"when {RELEASED_WHEN[need.until].format(name=need.until_name)}"


def _for_whom(need: OpenNeed) -> str:
    return f"{need.for_name} ({need.purpose})"


def _hold_sentence(need: OpenNeed, mark: str, as_of: datetime, zone: ZoneInfo) -> str:
    if _released(need, as_of):
        return f"{mark} is no longer held for {_for_whom(need)}."
    said = f"{mark} stays {need.open_as} for {_for_whom(need)}; released {_release(need, zone)}"
    if need.until == "date" or need.ends is None:
        return f"{said}."
    planned = say(need.ends.astimezone(zone))
    if need.ends <= as_of:
        return f"{said}, which was planned by {planned} and is not noted yet."
    return f"{said}, planned by {planned}."


def _too_early(fix: Fix, hold: BoardHold) -> bool:
    if hold.released:
        return False
    if fix.task_id is None:
        return True
    opened_again = hold.open_from is not None and hold.open_from > fix.at
    return not opened_again and (hold.open_until is None or fix.at < hold.open_until)


def _conflict_sentence(fix: Fix, holds: Sequence[BoardHold], zone: ZoneInfo) -> str:
    first = holds[0]
    marks = listed([hold.mark for hold in holds])
    until = first.open_until
    planned = "" if until is None else f" (planned {say(until.astimezone(zone))})"
    release = first.release[:1].lower() + first.release[1:-1]
    return (
        f"{fix.name} would fix {marks} on {say(fix.at.astimezone(zone))}, too early: "
        f"{first.for_name} needs {'it' if len(holds) == 1 else 'them'} {first.open_as} for "
        f"{first.reason}; {release}{planned}."
    )


def _nobody_sentence(
    need: OpenNeed, marks: Mapping[int, str], late: Collection[int], zone: ZoneInfo
) -> str:
    when = "" if need.starts is None else f" by {say(need.starts.astimezone(zone))}"
    where = f" in {need.floor}" if need.floor else ""
    said = f"Nobody opens {listed(list(marks.values()))}{where} for {_for_whom(need)}{when}."
    if late:
        said += f" The plan opens {listed([marks[key] for key in late])}, but too late."
    return said
