"""From needs, pieces and what is sold to the cutter's question; `bars` reads its answer.

A piece is cut from its sound lengths only, each a bin of the cutter of its own. What a defect
ends depends on the role: where needs of different roles may come from one piece, it is divided
at every place that ends a sound length for one of them, and each stretch takes the roles it is
sound for. A part then never lies across such a place, though it might for its own role: the
answer is exact only where no piece is divided so, and `Question.divided` names those that are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise
from math import ceil

from apps.timber.cutting.problem import Bin, CuttingProblem, Part, Pattern
from apps.timber.matching import Match
from apps.timber.pieces_as_data import NeedData, PieceData, PieceState, Source
from apps.timber.runs import SETTINGS, RunSettings, clear_runs


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSettings:
    """What a plan takes for granted [mm, pence].

    Attributes:
        kerf_mm: what the saw eats: common practice, no source.
        least_offcut_mm: the shortest remainder worth keeping: our choice.
        ripping_pence_per_m: what a metre sawn along the grain counts as: our choice.
        runs: trims and margins of sound lengths.
    """

    kerf_mm: int = 3
    least_offcut_mm: int = 300
    ripping_pence_per_m: int = 100
    runs: RunSettings = SETTINGS


@dataclass(frozen=True, slots=True, kw_only=True)
class StockData:
    """A length that is sold; `available` None: as many as wanted."""

    id: int
    breadth_mm: int
    depth_mm: int
    length_mm: int
    cost_pence: int
    strength_class: str = ""
    treated: bool = False
    available: int | None = None

    def as_piece(self) -> PieceData:
        """One of them, to be matched with needs: new, graded, nothing wrong along it."""
        return PieceData(
            id=self.id, mark=f"a new {self.length_mm} mm length", breadth_mm=self.breadth_mm,
            depth_mm=self.depth_mm, length_mm=self.length_mm, strength_class=self.strength_class,
            grade_basis="stamped", source=Source.BOUGHT, treated=self.treated,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A piece that is sawn in part: from where on it may still be cut [mm]."""

    piece_id: int
    from_mm: int


@dataclass(frozen=True, slots=True)
class Pinned:
    """Parts of one need that stay on a bar: of a piece in a sound length, or of a new length."""

    need_id: int
    piece_id: int | None
    stock_id: int | None
    at_mm: int = 0
    bar: int = 0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A bin: where on which piece, or a whole new length."""

    piece_id: int | None
    stock_id: int | None
    from_mm: int
    to_mm: int


@dataclass(frozen=True, slots=True)
class Question:
    """What the cutter is asked, and what its bins are.

    `matches` are by need and piece, `sold` by need and stock length. `divided`: see above.
    """

    problem: CuttingProblem
    stretches: Mapping[str, Stretch]
    matches: Mapping[int, Mapping[int, Match]]
    sold: Mapping[int, Mapping[int, Match]]
    divided: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A need with how many of it are still to be cut, pinned ones counted in."""

    need: NeedData
    count: int


@dataclass(slots=True)
class _Building:
    bins: list[Bin] = field(default_factory=list)
    stretches: dict[str, Stretch] = field(default_factory=dict)
    divided: list[str] = field(default_factory=list)


def part_key(need_id: int) -> str:
    """What a need's parts are called in the cutter."""
    return f"need {need_id}"


def need_of(key: str) -> int:
    """The opposite of `part_key`."""
    return int(key.removeprefix("need "))


def ranks(needs: Iterable[NeedData]) -> dict[int, int]:
    """Which needs are met first: by priority, then by the day they are wanted; by need id."""
    order = {need.id: (need.priority, need.needed_by or date.max) for need in needs}
    places = {value: rank for rank, value in enumerate(sorted(set(order.values())))}
    return {key: places[value] for key, value in order.items()}


def question(
    *,
    wanted: Sequence[Wanted],
    pieces: Sequence[PieceData],
    matches: Mapping[int, Mapping[int, Match]],
    stock: Sequence[StockData],
    sold: Mapping[int, Mapping[int, Match]],
    settings: CutSettings,
    begun: Collection[Begun] = (),
    pinned: Sequence[Pinned] = (),
) -> Question:
    """The cutter's question.

    Args:
        wanted: what is still to be cut.
        pieces: that may be cut.
        matches: every piece for every need, by their ids.
        stock: that may be bought.
        sold: every stock length for every need, by their ids.
        settings: kerf, trims and what counts as an offcut.
        begun: pieces that are sawn in part.
        pinned: parts that stay where they are; each is one of `wanted`.
    """
    building = _Building()
    starts = {one.piece_id: one.from_mm for one in begun}
    needs = {one.need.id: one.need for one in wanted}
    kept = {(one.need_id, one.piece_id) for one in pinned}
    for piece in pieces:
        fitting = [
            need for need in needs.values()
            if matches[need.id][piece.id].fits or (need.id, piece.id) in kept
        ]  # fmt: skip
        _divide(building, piece, fitting, matches, starts.get(piece.id), settings)
    for length in stock:
        fitting = [need for need in needs.values() if sold[need.id][length.id].fits]
        _offer(building, length, fitting, sold, settings)
    rank = ranks(needs.values())
    parts = tuple(
        Part(
            key=part_key(one.need.id), length_mm=one.need.length_mm, quantity=one.count,
            rank=rank[one.need.id],
        )
        for one in wanted
    )  # fmt: skip
    problem = CuttingProblem(
        parts=parts,
        bins=tuple(building.bins),
        kerf_mm=settings.kerf_mm,
        least_offcut_mm=settings.least_offcut_mm,
        locked=_locked(
            building, pinned, {part.key: part.length_mm for part in parts}, settings.kerf_mm
        ),
    )
    return Question(problem, building.stretches, matches, sold, tuple(building.divided))


def _divide(
    building: _Building,
    piece: PieceData,
    fitting: Sequence[NeedData],
    matches: Mapping[int, Mapping[int, Match]],
    start_mm: int | None,
    settings: CutSettings,
) -> None:
    """A bin for each stretch of a piece that is sound for the same roles."""
    if not fitting:
        return
    stretches = sound_stretches(
        piece, {need.role for need in fitting}, settings.runs,
        from_mm=start_mm or 0, kerf_mm=settings.kerf_mm,
    )  # fmt: skip
    if len({roles for _, _, roles in stretches}) > 1:
        building.divided.append(piece.mark)
    for start, stop, roles in stretches:
        takes = [need for need in fitting if need.role in roles and need.length_mm <= stop - start]
        if not takes:
            continue
        key = f"piece {piece.id} from {start}"
        building.stretches[key] = Stretch(piece.id, None, start, stop)
        building.bins.append(
            Bin(
                key=key,
                length_mm=stop - start,
                opens=None if start_mm is not None else str(piece.id),
                takes=frozenset(part_key(need.id) for need in takes),
                handling=_handling(takes, piece.id, matches, settings),
            )
        )


def _offer(
    building: _Building,
    length: StockData,
    fitting: Sequence[NeedData],
    sold: Mapping[int, Mapping[int, Match]],
    settings: CutSettings,
) -> None:
    if not fitting:
        return
    key = f"stock {length.id}"
    building.stretches[key] = Stretch(None, length.id, 0, length.length_mm)
    building.bins.append(
        Bin(
            key=key,
            length_mm=length.length_mm,
            supply=length.available,
            cost=length.cost_pence,
            takes=frozenset(part_key(need.id) for need in fitting),
            handling=_handling(fitting, length.id, sold, settings),
        )
    )


def _handling(
    needs: Sequence[NeedData],
    key: int,
    matches: Mapping[int, Mapping[int, Match]],
    settings: CutSettings,
) -> dict[str, int]:
    """What ripping adds to a part of each need [pence]."""
    found = {}
    for need in needs:
        rip = matches[need.id][key].use.section.rip
        if rip is not None:
            pence = rip.cuts * need.length_mm * settings.ripping_pence_per_m
            found[part_key(need.id)] = ceil(pence / 1000)
    return found


def sound_stretches(
    piece: PieceData, roles: Collection[str], runs: RunSettings, *, from_mm: int, kerf_mm: int
) -> list[tuple[int, int, frozenset[str]]]:
    """Stretches of a piece with the roles each is sound for, from the marked end [mm].

    None begins before `from_mm`, and between two there is room for the saw.
    """
    by_role = {role: clear_runs(piece, role, runs) for role in roles}
    edges = sorted(
        {mm for found in by_role.values() for run in found for mm in (run.from_mm, run.to_mm)}
        | {from_mm}
    )
    found: list[tuple[int, int, frozenset[str]]] = []
    for start, stop in pairwise(edges):
        sound = frozenset(
            role
            for role, stretches in by_role.items()
            if any(run.from_mm <= start and stop <= run.to_mm for run in stretches)
        )
        if start < from_mm or not sound:
            continue
        joins = bool(found) and found[-1][1:] == (start, sound)
        found.append((found.pop()[0] if joins else start, stop, sound))
    apart: list[tuple[int, int, frozenset[str]]] = []
    for start, stop, sound in found:
        begins = max(start, apart[-1][1] + kerf_mm) if apart else start
        if begins < stop:
            apart.append((begins, stop, sound))
    return apart


def _locked(
    building: _Building,
    pinned: Sequence[Pinned],
    lengths: Mapping[str, int],
    kerf_mm: int,
) -> tuple[Pattern, ...]:
    """Patterns of what stays. A pin whose sound length, or room in it, is gone holds nothing."""
    held: dict[tuple[str, int], list[str]] = {}
    bins = {bin_.key: bin_ for bin_ in building.bins}
    for one in pinned:
        key = part_key(one.need_id)
        for name, stretch in building.stretches.items():
            same = (stretch.piece_id, stretch.stock_id) == (one.piece_id, one.stock_id)
            takes = bins[name].takes
            if same and stretch.from_mm <= one.at_mm < stretch.to_mm and takes and key in takes:
                kept = [*held.get((name, one.bar), ()), key]
                room = bins[name].length_mm + kerf_mm
                if sum(lengths[part] + kerf_mm for part in kept) <= room:
                    held[name, one.bar] = kept
    used: Counter[str] = Counter()
    found = []
    for (name, _), keys in held.items():
        used[name] += 1
        supply = bins[name].supply
        if supply is None or used[name] <= supply:
            found.append(Pattern(name, tuple(keys)))
    return tuple(found)


def free_again(piece: PieceData) -> PieceData:
    """A piece as if no plan had it: for the plan that takes its place."""
    return replace(piece, state=PieceState.IN_STOCK)
