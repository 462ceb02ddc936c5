"""What could not be met, and the smallest change that would meet it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from apps.timber.cutting.problem import CuttingSolution
from apps.timber.layout import Question, StockData, need_of, part_key
from apps.timber.matching import Match
from apps.timber.pieces_as_data import NeedData, PieceData
from apps.timber.verdicts import REFUSALS, Reason, Verdict

MOST_CHANGES = 5
# A section further off than this is another section: our choice.
MOST_SMALLER_MM = 10
_LENGTH = frozenset({Verdict.TOO_SHORT, Verdict.DECAY})


@dataclass(frozen=True, slots=True)
class ShorterLap:
    """What the lap check says of a shorter lap; `used` 1.0 is full. `wanted_passes`: the lap as
    it is wanted does."""

    joist: str
    lap_mm: int
    used: float
    passes: bool
    wanted_passes: bool = True


LapCheck = Callable[[int], ShorterLap | None]
"""The lap of a need, asked how much shorter it may be [mm]; None where that cannot be told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that would meet one more of a need.

    Attributes:
        kind: `draw_nails`, `longer`, `shorter_lap`, `buy_more`, `section`, `wait`, `other`; a
            shorter lap is said even where its check fails, for it is asked next.
        figures: how much of it: `mm`, `days`, and the `piece` or `stock` it is about.
        words: it goes on after "It would be met by ".
    """

    kind: str
    figures: Mapping[str, Any]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmet:
    """A need that is not met, or not wholly; `changes` the smallest first."""

    need: NeedData
    count: int
    changes: tuple[Change, ...]

    @property
    def sentence(self) -> str:
        """What is missing and the smallest changes, in a sentence."""
        of = f"{self.count} of {self.need.quantity}" if self.need.quantity > 1 else "It"
        are = "are" if self.count > 1 else "is"
        what = f"“{self.need.title}” ({self.need.length_mm} mm, {size(self.need)}): "
        if not self.changes:
            return f"{what}{of} {are} not met: nothing in the pile or sold comes near its section."
        ways = ", or by ".join(change.words for change in self.changes[:2])
        one = "one more would be met by" if self.need.quantity > 1 else "it would be met by"
        return f"{what}{of} {are} not met; {one} {ways}."


def size(need: NeedData) -> str:
    """A need's section in words."""
    return f"{need.breadth_mm} × {need.depth_mm} mm"


def unmet(
    asked: Question,
    solution: CuttingSolution,
    *,
    needs: Iterable[NeedData],
    pieces: Sequence[PieceData],
    stock: Sequence[StockData],
    laps: Mapping[int, LapCheck],
) -> tuple[Unmet, ...]:
    """Every need that the answer leaves unmet, with the smallest changes that would meet it."""
    by_id = {need.id: need for need in needs}
    rooms = _rooms(asked, solution)
    used = {asked.stretches[pattern.bin_key].piece_id for pattern in solution.patterns}
    taken = Counter(
        stock_id
        for pattern in solution.patterns
        for _ in range(pattern.count)
        if (stock_id := asked.stretches[pattern.bin_key].stock_id) is not None
    )
    found = []
    for key, count in solution.unmet:
        need = by_id[need_of(key)]
        changes: list[Change] = [
            *_in_what_is_left(asked, rooms, need, pieces),
            *_of_pieces(asked.matches[need.id], need, pieces, used),
            *_of_stock(asked.sold[need.id], need, stock, taken),
        ]
        changes.sort(key=_effort)
        changes = with_lap(changes, laps.get(need.id))
        found.append(Unmet(need=need, count=count, changes=tuple(changes[:MOST_CHANGES])))
    return tuple(found)


# What can be done about a piece that one thing alone stands against. Nothing is offered where
# a check fails or the class is wrong.
_REMEDIES: Mapping[str, str] = {
    Verdict.NOT_TREATED: "treating {mark}",
    Verdict.NOT_GRADED: "having {mark} graded by somebody competent",
    Verdict.NEVER_DRY: "keeping {mark} somewhere drier",
}


def with_lap(changes: list[Change], check: LapCheck | None) -> list[Change]:
    """The changes with, second, the lap that the nearest piece would leave, as it is checked."""
    longer = next((one for one in changes if one.kind == "longer" and "piece" in one.figures), None)
    shorter = check(longer.figures["mm"]) if check and longer else None
    if shorter is None:
        return changes
    says = "passes" if shorter.passes else "fails"
    used = round(100 * shorter.used) if shorter.passes else ceil(100 * shorter.used)
    lap = Change(
        kind="shorter_lap",
        figures={"lap_mm": shorter.lap_mm, "used_pct": used, "passes": shorter.passes},
        words=f"{shorter.joist}'s lap reduced to {shorter.lap_mm} mm, which {says} the lap check "
        f"at {used} %{'' if shorter.wanted_passes else ', as the whole lap fails it too'}",
    )
    return [*changes[:1], lap, *changes[1:]]


# A shorter lap has its place after the first of these.
_ORDER = ("draw_nails", "longer", "buy_more", "section", "wait", "other")


def _effort(change: Change) -> tuple[int, int]:
    return _ORDER.index(change.kind), change.figures.get("mm", change.figures.get("days", 0))


def _rooms(asked: Question, solution: CuttingSolution) -> dict[str, int]:
    """How long a part each begun or untouched sound length of a piece could still give [mm]."""
    lengths = {part.key: part.length_mm for part in asked.problem.parts}
    gone: dict[str, int] = defaultdict(int)
    for pattern in solution.patterns:
        gone[pattern.bin_key] += sum(
            lengths[key] + asked.problem.kerf_mm for key in pattern.part_keys
        )
    return {
        bin_.key: bin_.length_mm - gone[bin_.key]
        for bin_ in asked.problem.bins
        if asked.stretches[bin_.key].piece_id is not None
    }


def _in_what_is_left(
    asked: Question, rooms: Mapping[str, int], need: NeedData, pieces: Sequence[PieceData]
) -> list[Change]:
    """The piece that comes nearest with what the plan leaves of it."""
    marks = {piece.id: piece.mark for piece in pieces}
    best: tuple[int, int, int] | None = None
    for bin_ in asked.problem.bins:
        piece_id = asked.stretches[bin_.key].piece_id
        takes = bin_.takes is not None and part_key(need.id) in bin_.takes
        if piece_id is None or not takes:
            continue
        short = need.length_mm - rooms[bin_.key]
        if best is None or short < best[0]:
            best = (short, piece_id, max(rooms[bin_.key], 0))
    return (
        [] if best is None or best[0] <= 0 else [_longer(marks[best[1]], best[1], best[0], best[2])]
    )


def _longer(mark: str, piece_id: int, short_mm: int, room_mm: int) -> Change:
    return Change(
        kind="longer",
        figures={"mm": short_mm, "piece": piece_id},
        words=f"a piece {short_mm} mm longer than the {room_mm} mm sound and free in {mark}",
    )


def _of_pieces(
    matches: Mapping[int, Match],
    need: NeedData,
    pieces: Sequence[PieceData],
    used: set[int | None],
) -> list[Change]:
    found = []
    for piece in pieces:
        match = matches[piece.id]
        against = [reason for reason in match.reasons if reason.code in REFUSALS]
        codes = {reason.code for reason in against}
        if not against or piece.id in used:
            continue
        if codes <= _LENGTH:
            found.append(_length(match, need, against[0]))
        elif len(codes) == 1:
            found += _other(match, need, against[0])
    return found


def _length(match: Match, need: NeedData, reason: Reason) -> Change:
    figures = reason.figures
    piece = match.piece
    if figures["nails_drawn_mm"] >= need.length_mm:
        return Change(
            kind="draw_nails",
            figures={"piece": piece.id},
            words=f"drawing the nails in {piece.mark}, which is sound over "
            f"{figures['nails_drawn_mm']} mm then",
        )
    run_mm = figures["run_mm"]
    return _longer(piece.mark, piece.id, need.length_mm - run_mm, run_mm)


def _other(match: Match, need: NeedData, reason: Reason) -> list[Change]:
    """A piece that one thing alone stands against."""
    piece, figures = match.piece, reason.figures
    if reason.code == Verdict.TOO_WET:
        dry_on = figures.get("dry_on")
        if dry_on is None or need.needed_by is None:
            return []
        days = (dry_on - need.needed_by).days
        return [
            Change(
                kind="wait",
                figures={"days": days, "piece": piece.id, "dry_on": dry_on.isoformat()},
                words=f"waiting {days} days longer, until {piece.mark} is dry ({dry_on:%-d %b %Y})",
            )
        ]
    if reason.code == Verdict.TOO_SMALL:
        return _smaller(match, piece.mark, {"piece": piece.id})
    if reason.code not in _REMEDIES:
        return []
    words = _REMEDIES[reason.code].format(mark=piece.mark)
    return [Change(kind="other", figures={"piece": piece.id}, words=words)]


def _smaller(match: Match, what: str, about: Mapping[str, Any]) -> list[Change]:
    """Something a little smaller than wanted: somebody may accept it."""
    section, piece = match.use.section, match.piece
    mm = section.short_breadth_mm + section.short_depth_mm
    if mm > MOST_SMALLER_MM:
        return []
    words = (
        f"{what} ({piece.breadth_mm} × {piece.depth_mm} mm), if {mm} mm less is accepted "
        "(a deviation)"
    )
    return [Change(kind="section", figures={"mm": mm, **about}, words=words)]


def _of_stock(
    sold: Mapping[int, Match],
    need: NeedData,
    stock: Sequence[StockData],
    taken: Mapping[int, int],
) -> list[Change]:
    found: list[Change] = []
    short: list[tuple[int, StockData]] = []
    for length in stock:
        match = sold[length.id]
        codes = {reason.code for reason in match.reasons if reason.code in REFUSALS}
        if not codes and length.available is not None and taken[length.id] >= length.available:
            words = (
                f"one more new {length.breadth_mm} × {length.depth_mm} × {length.length_mm} mm "
                f"(only {length.available} to be had)"
            )
            found.append(Change(kind="buy_more", figures={"stock": length.id}, words=words))
        elif codes == {Verdict.TOO_SMALL}:
            found += _smaller(match, length.as_piece().mark, {"stock": length.id})
        elif codes and codes <= _LENGTH:
            short.append((need.length_mm - length.length_mm, length))
    if short and not any(change.kind == "buy_more" for change in found):
        mm, length = min(short, key=lambda row: row[0])
        words = f"a new length {mm} mm longer than any sold ({length.length_mm} mm)"
        found.append(Change(kind="longer", figures={"mm": mm, "stock": length.id}, words=words))
    return found
