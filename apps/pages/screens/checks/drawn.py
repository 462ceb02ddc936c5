"""The drawing of what a check was asked, and the words that stand for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from apps.pages.drawing.checks_levels import Place, levels_drawn
from apps.pages.drawing.checks_side import Beside, Side, SideCut, side_drawn
from apps.pages.drawing.checks_void import Brick, void_drawn
from apps.pages.drawing.levels_map import Spot, levels_map

SIDE_WORDS = "From the side, lengths in mm. Depths are drawn three times larger."
VOID_WORDS = "From above, to scale. Thick walls are outer ones; each square is an air brick."
LEVEL_WORDS = "Heights side by side, all by the same scale. Filled is packing."
MAP_WORDS = (
    "From above: lines of equal height in mm; strokes where it is lowest, dots where it is "
    "between. A filled square is packed or planed by so much; between the places measured it is "
    "a guess."
)


def drawing(name: str, asked: Any, answer: Any) -> tuple[str, str]:
    """SVG and a caption; both empty where there is nothing to draw."""
    return DRAWN[name](asked, answer) if name in DRAWN else ("", "")


def of_joist(joist: Any, **more: Any) -> Side:
    cuts = tuple(
        SideCut(one.kind, one.from_mm, one.to_mm, *one.gone(joist.depth_mm)) for one in joist.cuts
    )
    left, right = joist.ends
    return Side(
        span_mm=joist.span_mm, depth_mm=joist.depth_mm, cuts=cuts, rotten=joist.decayed,
        bearings=(left.length_mm, right.length_mm), **more,
    )  # fmt: skip


def side(of: Side, name: str) -> tuple[str, str]:
    return side_drawn(of, name=f"{name} {SIDE_WORDS}"), SIDE_WORDS


def joist(asked: Any, _: Any) -> tuple[str, str]:
    return side(of_joist(asked), "The joist on its bearings.")


def cuts(asked: Any, _: Any) -> tuple[str, str]:
    return side(of_joist(asked.joist), "The joist with its notches and holes.")


def lap(asked: Any, answer: Any) -> tuple[str, str]:
    old, long = asked.joist, answer.lap_mm if answer else asked.lap_mm or 0
    end, to = asked.cut_mm, asked.cut_mm + long
    piece, marks = Beside(-old.ends[0].length_mm, to, asked.depth_mm, "new end"), (end, to)
    if asked.end == "right":
        marks = (old.span_mm - asked.cut_mm, old.span_mm - to)
        piece = Beside(marks[1], old.span_mm + old.ends[1].length_mm, asked.depth_mm, "new end")
    named = ((marks[0], "saw cut at"), (marks[1], "end of lap at"))
    return side(of_joist(old, beside=(piece,), marks=named), "The joist with its new end.")


def sister(asked: Any, _: Any) -> tuple[str, str]:
    new = asked.new
    to = asked.old.span_mm if new.to_mm is None else new.to_mm
    piece = Beside(new.from_mm, to, new.depth_mm, "new joist")
    marks = ((new.from_mm, "new from"), (to, "new to"))
    return side(of_joist(asked.old, beside=(piece,), marks=marks), "The joist with its sister.")


def trimmer(asked: Any, answer: Any) -> tuple[str, str]:
    points = tuple(one.at_mm for one in (answer.given if answer else asked.trimmer).points)
    piece = asked.trimmer
    ends = tuple(one.length_mm for one in piece.bearings) or (40, 40)
    of = Side(
        span_mm=piece.span_mm, depth_mm=piece.depth_mm, points=points,
        bearings=(ends[0], ends[1]),
    )  # fmt: skip
    return side(of, "The trimmer; an arrow where each joist hangs.")


def bearing(asked: Any, _: Any) -> tuple[str, str]:
    of = Side(
        span_mm=1000, depth_mm=asked.depth_mm, bearings=(asked.length_mm, 0),
        marks=((-asked.length_mm, "bears"),),
    )  # fmt: skip
    return side(of, "The end of the joist on its bearing.")


def deck(asked: Any, _: Any) -> tuple[str, str]:
    spans = max(1, min(asked.spans, 6))
    marks = tuple((asked.centres_mm * n, "joist at") for n in range(1, spans + 1))
    of = Side(
        span_mm=asked.centres_mm * spans + asked.cantilever_mm, depth_mm=asked.thickness_mm,
        marks=marks,
    )  # fmt: skip
    return side(of, "The deck with the joists under it.")


def decay(asked: Any, answer: Any) -> tuple[str, str]:
    cut = [] if answer is None else [
        (at, "cut at")
        for one in answer.cut_backs
        for at in (one.keep_to_mm, one.keep_from_mm)
        if at is not None
    ]  # fmt: skip
    rotten = asked.decayed if answer is None else tuple(
        (one.first_sign_mm, one.last_sign_mm) for one in answer.cut_backs
    )  # fmt: skip
    probes = tuple(one.at_mm for one in asked.probes)
    of = Side(span_mm=asked.length_mm, depth_mm=150, rotten=rotten, points=probes, marks=tuple(cut))
    return side(of, "The joist; an arrow at each place probed.")


def void(asked: Any, answer: Any) -> tuple[str, str]:
    bricks = [
        Brick(one.at, f"{one.mark} {one.free_area_mm2} mm²".strip(), one.state == "open")
        for one in asked.openings
    ]
    svg = void_drawn(
        asked.outline, beyond=asked.beyond, bricks=bricks, name=f"The void. {VOID_WORDS}",
        dead=[one.at for one in answer.dead_corners] if answer else (),
    )  # fmt: skip
    return svg, VOID_WORDS


def membrane(asked: Any, _: Any) -> tuple[str, str]:
    wide, tall = asked.length_mm, asked.width_mm
    ring = ((0, 0), (wide, 0), (wide, tall), (0, tall), (0, 0))
    sides = [f"{mm} mm" for mm in (wide, tall, wide, tall)]
    words = "The ground to cover, from above, to scale."
    return void_drawn(ring, beyond=sides, name=words), words


def doorway(asked: Any, _: Any) -> tuple[str, str]:
    places = [
        Place(room.name, room.joist_top_mm, room.finished_mm - room.joist_top_mm,
              words=f"{room.finished_mm:g}")
        for room in (asked.a, asked.b)
    ]  # fmt: skip
    words = "Joist tops below, what lies on them filled, finished heights on top, in mm."
    return levels_drawn(places, name=words), words


def levels(asked: Any, answer: Any) -> tuple[str, str]:
    return levels_picture(asked.spots, answer), LEVEL_WORDS


def levels_picture(spots: Any, answer: Any) -> str:
    """The floor's heights as bars, with the packing where the answer has some."""
    return levels_rows(spots, answer, in_a_row=len(spots))[0]


def levels_rows(spots: Any, answer: Any, *, in_a_row: int) -> list[str]:
    """The same in rows of at most so many places, all by one scale."""
    lines = {one.spot_id: one for one in answer.sheet} if answer else {}
    places = [
        Place(
            spot.joist,
            spot.height_mm,
            lines[spot.id].lift_mm if spot.id in lines else 0.0,
            lines[spot.id].planed_mm if spot.id in lines else 0.0,
            words_of(lines.get(spot.id)),
        )
        for spot in spots
    ]
    level = answer.height_mm if answer and answer.possible else None
    name = f"The floor's heights. {LEVEL_WORDS}"
    return [
        levels_drawn(
            places[start : start + in_a_row],
            name=name,
            level_mm=level,
            among=places,
            least=min(in_a_row, len(places)),
        )
        for start in range(0, len(places), in_a_row)
    ]


def levels_from_above(spots: Any, answer: Any) -> str:
    """The floor's heights from above; empty where they lie in one line."""
    lines = {one.spot_id: one for one in answer.sheet} if answer else {}
    places = [
        Spot(
            spot.joist, spot.along_mm, spot.across_mm, spot.height_mm, words_of(lines.get(spot.id))
        )
        for spot in spots
    ]
    return levels_map(places, name=f"The floor from above. {MAP_WORDS}")


def words_of(line: Any) -> str:
    if line is None:
        return ""
    if line.packers_mm:
        return f"+{sum(line.packers_mm):g}"
    return f"−{line.planed_mm:g}" if line.planed_mm else ""


def fixing(_: Any, answer: Any) -> tuple[str, str]:
    drawn = answer.drawing if answer else None
    return (drawn or "", "The pattern of fixings from the side, in mm." if drawn else "")


DRAWN: Mapping[str, Callable[[Any, Any], tuple[str, str]]] = MappingProxyType(
    {
        "joist": joist, "cuts": cuts, "lap": lap, "sister": sister, "trimmer": trimmer,
        "bearing": bearing, "deck": deck, "decay": decay, "subfloor-ventilation": void,
        "membrane": membrane, "doorway": doorway, "levels": levels, "fixing": fixing,
    }
)  # fmt: skip
