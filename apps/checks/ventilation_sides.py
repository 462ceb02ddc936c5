"""One side of a void against its share: how short it is, and what would put it right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, pi

from apps.checks.ventilation_settings import KINDS, VentilationSettings
from apps.checks.ventilation_void import Placed, SideOfVoid


@dataclass(frozen=True, slots=True)
class Bricks:
    """So many air bricks of one kind would do."""

    kind: str
    free_area_mm2: int
    how_many: int
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of the void against what it should have [mm²].

    `to_clear` are ids of shut openings whose clearing helps and `cleared_mm2` what they give;
    `pipes` is how many through the solid floor that stands in the way, and `piped_mm2` what the
    openings behind it give then; `bricks` is what is needed after all that.
    """

    name: str
    walls: tuple[str, ...]
    run_mm: int
    required_mm2: int
    open_mm2: int
    short_mm2: int
    ids: tuple[int, ...]
    to_clear: tuple[int, ...]
    cleared_mm2: int
    pipes: int
    piped_mm2: int
    bricks: tuple[Bricks, ...]
    sentence: str


def judged_side(
    side: SideOfVoid, required: int, run_mm: float, *, enough: bool, settings: VentilationSettings
) -> Side:
    """A side against its share of what is required, by its run."""
    share = ceil(round(required * side.run_mm / run_mm, 6)) if run_mm else 0
    # Both walls added: one may make up for the other, but a side without any lets no air across.
    made_up = settings.reading == "both_walls_added" and enough and side.open_mm2 > 0
    short = 0 if made_up else max(0, share - side.open_mm2)
    shut = [one for one in side.placed if one.opening.state != "open" and clearable(one)]
    to_clear, cleared = clearing(shut, short)
    hidden = sum(one.opening.free_area_mm2 for one in side.placed if waits_for_pipe(one))
    left = max(0, short - cleared - hidden)
    found = Side(
        name=side.name,
        walls=tuple(wall.mark for wall in side.walls),
        run_mm=round(side.run_mm),
        required_mm2=share,
        open_mm2=side.open_mm2,
        short_mm2=short,
        ids=tuple(one.opening.id for one in side.placed if one.counts),
        to_clear=to_clear,
        cleared_mm2=cleared,
        pipes=pipes_through(side, share, hidden, settings),
        piped_mm2=hidden,
        bricks=bricks_for(left),
        sentence="",
    )
    return replace(found, sentence=side_in_words(found))


def bricks_for(left: int) -> tuple[Bricks, ...]:
    """How many air bricks of each kind give so much [mm²]; the fewest first."""
    rows = (
        Bricks(f"{row.name}, {row.face}", row.least_mm2, ceil(left / row.least_mm2), row.source)
        for row in KINDS
        if left
    )
    return tuple(sorted(rows, key=lambda row: row.how_many))


def clearable(one: Placed) -> bool:
    """Whether a shut opening would let air in once it is clear."""
    return one.wall.beyond == "outside" or (
        one.wall.beyond == "solid_floor" and one.opening.through_solid
    )


def waits_for_pipe(one: Placed) -> bool:
    """Whether an open air brick stands behind solid floor or infill, without a pipe."""
    return (
        one.opening.state == "open"
        and not one.counts
        and one.wall.beyond in {"outside", "solid_floor"}
    )


def clearing(shut: Sequence[Placed], short: int) -> tuple[tuple[int, ...], int]:
    """The fewest shut openings to clear, the largest first, and what they give [mm²]."""
    ids: list[int] = []
    given = 0
    for one in sorted(shut, key=lambda one: (-one.opening.free_area_mm2, one.opening.id)):
        if given >= short:
            break
        ids.append(one.opening.id)
        given += one.opening.free_area_mm2
    return tuple(ids), given


def pipes_through(side: SideOfVoid, share: int, hidden: int, settings: VentilationSettings) -> int:
    """How many pipes carry a side's air through the solid floor that stands before it.

    Enough for the openings that wait for one, and for the share of the walls that a solid floor
    hides from outside.
    """
    behind_mm = sum(wall.length_mm for wall in side.walls if wall.beyond == "solid_floor")
    wanted = share * behind_mm / side.run_mm if behind_mm else 0.0
    piped = sum(
        one.opening.free_area_mm2
        for one in side.placed
        if one.counts and one.wall.beyond == "solid_floor"
    )
    bore_mm2 = pi * settings.pipe_bore_mm**2 / 4
    return ceil(max(wanted - piped, float(hidden)) / bore_mm2)


def side_in_words(side: Side) -> str:
    name = f"{side.name[0].upper()}{side.name[1:]}"
    if not side.short_mm2:
        return f"{name}: {side.open_mm2} mm² open; its share is {side.required_mm2} mm²."
    wanted = f"{side.required_mm2} mm² wanted, {side.short_mm2} mm² short."
    said = [f"{name}: {side.open_mm2} mm² open of {wanted}"]
    if side.cleared_mm2:
        said.append(f"Clearing what is shut gives {side.cleared_mm2} mm².")
    if side.pipes:
        pipes = "1 pipe" if side.pipes == 1 else f"{side.pipes} pipes"
        said.append(f"The solid floor stands in the way: lead {pipes} through it.")
    if side.bricks:
        best = side.bricks[0]
        more = " more" if side.open_mm2 or side.cleared_mm2 or side.piped_mm2 else ""
        said.append(
            f"{best.how_many}{more} air brick{'' if best.how_many == 1 else 's'} of "
            f"{best.free_area_mm2} mm² ({best.kind}) would do."
        )
    return " ".join(said)
