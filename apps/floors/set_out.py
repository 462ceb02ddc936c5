"""Setting out a floor: where joists and boards lie over an outline, and what they are called.

How to read a set-out on site: stand in the corner it counts from and look along the boards.
Joists count away from you (J1, J2 …), courses count to your left (B1, B2 …), pieces of a
course count away from you (B12.1, B12.2 …).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from string import ascii_lowercase

from shapely import LineString, Polygon, box, get_parts
from shapely.geometry.base import BaseGeometry

from apps.floors.frames import Frame
from apps.floors.joints import end_joints
from apps.floors.shapes import OVERHANG_MM, Outline, SetBoard, SetJoist, SetOut

NEAR_MM = 0.5
"""What rounding to whole millimetres can move."""

MOST_BOARDS = 20_000


@dataclass(frozen=True, slots=True)
class _Rail:
    """A joist's centre line in the boards' frame: how far along, from where to where across."""

    at: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Piece:
    course: int
    shape: Polygon


def set_out(
    outline: Outline,
    *,
    boards_run_deg: float,
    board_cover_width_mm: int,
    joist_centres_mm: int,
    joist_breadth_mm: int,
    max_board_length_mm: int,
    first_joist_mm: int = 50,
    first_board_mm: int | None = None,
    wall_joists: bool = True,
    sliver_mm: int = 5,
) -> SetOut:
    """Lay joists and boards over a floor, so that nobody types them in one by one.

    The corner: of the outline's bounding box, turned to the boards' direction, the corner with
    the least coordinate along and across the run. At 0° it is the one with least x and y, at
    90° (boards along y) the one with greatest x and least y.

    Args:
        outline: any simple polygon [mm].
        boards_run_deg: direction of the boards [°], counter-clockwise from x.
        board_cover_width_mm: width that shows, without the tongue.
        joist_centres_mm: centre to centre.
        joist_breadth_mm: a wall joist this near another one is left out.
        max_board_length_mm: no board is longer.
        first_joist_mm: from the corner to the centre of J1.
        first_board_mm: width of the first course, at most the cover width; None: full.
        wall_joists: also stand a joist `first_joist_mm` inside every wall at right angles to
            the boards, unless another one is near enough there to end boards on. Without
            them boards may hang free by nearly a whole spacing at the far wall.
        sliver_mm: what is left narrower than this is not a board; its neighbours are
            that much wider instead.

    Returns:
        Joists in the order they count, a letter added where the outline breaks one (J3a, J3b);
        boards by course and piece. End joints lie over joist centres, neighbouring courses
        break joint where that is possible. Boards tile the outline: exactly at 0° and 90°
        if the outline has right angles only, else within the rounding to whole mm.

    Limits: along slanted walls boards end where the wall cuts them, with no trimmer under
        their ends; the support check names those that hang free.

    Raises:
        ValueError: a size that is not above 0, a first offset out of range, boards too short
            to reach from joist to joist, or more than 20,000 boards.
    """
    _refuse_sizes(
        {
            "the cover width": board_cover_width_mm,
            "the joist centres": joist_centres_mm,
            "the joist breadth": joist_breadth_mm,
            "the longest board": max_board_length_mm,
        }
    )
    first_board_mm = board_cover_width_mm if first_board_mm is None else first_board_mm
    if not 0 < first_board_mm <= board_cover_width_mm:
        raise ValueError(f"The first course shows 1 to {board_cover_width_mm} mm.")
    if not 0 <= first_joist_mm <= joist_centres_mm:
        raise ValueError(f"The first joist is 0 to {joist_centres_mm} mm from the corner.")
    frame = Frame.of(outline, boards_run_deg)
    floor = frame.turned(outline)
    _, _, run_mm, across_mm = floor.bounds
    rows = run_mm // max_board_length_mm + 1
    if rows * (across_mm / board_cover_width_mm + 1) > MOST_BOARDS:
        raise ValueError(f"This is more than {MOST_BOARDS} boards; check the sizes.")

    rails = _rails(floor, joist_centres_mm, joist_breadth_mm, first_joist_mm, wall_joists)
    courses = _courses(floor, board_cover_width_mm, first_board_mm)
    pieces = _without_slivers(_pieces(courses, rails, max_board_length_mm), sliver_mm)
    return SetOut(frame.corner, _marked_joists(rails, frame), _marked_boards(pieces, frame))


def _refuse_sizes(sizes: dict[str, int]) -> None:
    for name, size in sizes.items():
        if size <= 0:
            raise ValueError(f"Give {name} in millimetres above 0.")


def _rails(
    floor: Polygon, centres: int, breadth: int, first: int, wall_joists: bool
) -> list[_Rail]:
    """Joist centre lines, in the order they count."""
    _, _, run_mm, _ = floor.bounds
    rails: list[_Rail] = []
    at = float(first)
    while at < run_mm:
        rails += [_Rail(at, low, high) for low, high in _across(floor, at)]
        at += centres
    if wall_joists:
        for wall, inward, low, high in _end_walls(floor):
            at = wall + inward * first
            reach = sorted((wall, wall + inward * max(first + breadth, OVERHANG_MM)))
            near = [rail for rail in rails if reach[0] <= rail.at <= reach[1]]
            if not _covers(near, low, high):
                rails += [
                    _Rail(at, max(a, low), min(b, high))
                    for a, b in _across(floor, at)
                    if min(b, high) - max(a, low) > breadth
                ]
    return sorted(rails, key=lambda rail: (rail.at, rail.low))


def _across(floor: Polygon, at: float) -> list[tuple[float, float]]:
    """Where a line at right angles to the boards is inside the floor, lowest stretch first."""
    _, low, _, high = floor.bounds
    cut = floor.intersection(LineString([(at, low - 1), (at, high + 1)]))
    parts = [part for part in get_parts(cut) if part.length > NEAR_MM]
    return sorted((part.bounds[1], part.bounds[3]) for part in parts)


def _end_walls(floor: Polygon) -> list[tuple[float, int, float, float]]:
    """Walls at right angles to the boards: where, which way is inside, from, to."""
    ring = list(floor.exterior.coords)
    return [
        # Counter-clockwise, so a wall that runs up has the floor on its lower side.
        (a[0], -1 if b[1] > a[1] else 1, min(a[1], b[1]), max(a[1], b[1]))
        for a, b in pairwise(ring)
        if abs(a[0] - b[0]) <= 2 * NEAR_MM and abs(a[1] - b[1]) > 2 * NEAR_MM
    ]


def _covers(rails: Sequence[_Rail], low: float, high: float) -> bool:
    reached = low
    for rail in sorted(rails, key=lambda r: r.low):
        if rail.low <= reached + NEAR_MM:
            reached = max(reached, rail.high)
    return reached >= high - NEAR_MM


def _courses(floor: Polygon, cover: int, first: int) -> list[list[Polygon]]:
    """The floor cut along the run: for each course the separate stretches it has."""
    _, _, run_mm, across_mm = floor.bounds
    courses: list[list[Polygon]] = []
    low, high = 0.0, float(first)
    while low < across_mm:
        courses.append(_polygons(floor.intersection(box(-1, low, run_mm + 1, high))))
        low, high = high, high + cover
    return courses


def _pieces(
    courses: Sequence[Sequence[Polygon]], rails: Sequence[_Rail], longest: int
) -> list[_Piece]:
    """Every course cut at its end joints."""
    pieces: list[_Piece] = []
    before: frozenset[float] = frozenset()
    before_that: frozenset[float] = frozenset()
    for course, stretches in enumerate(courses, start=1):
        used: set[float] = set()
        for stretch in stretches:
            start, low, end, high = stretch.bounds
            joists = sorted({r.at for r in rails if _carries(r, rails, stretch)})
            joints = end_joints(
                start, end, joists, longest=longest, before=before, before_that=before_that
            )
            used.update(joints)
            for begin, stop in pairwise([start - 1, *joints, end + 1]):
                part = stretch.intersection(box(begin, low - 1, stop, high + 1))
                pieces += [_Piece(course, shape) for shape in _polygons(part)]
        before, before_that = frozenset(used), before
    return pieces


def _carries(rail: _Rail, rails: Sequence[_Rail], stretch: Polygon) -> bool:
    """Whether joists lie under the whole width of a course at the distance of this one."""
    start, low, end, high = stretch.bounds
    if not start < rail.at < end:
        return False
    if rail.low <= low + NEAR_MM and high - NEAR_MM <= rail.high:
        return True
    here = [other for other in rails if other.at == rail.at]
    return all(_covers(here, *crossed) for crossed in _across(stretch, rail.at))


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in get_parts(shape) if isinstance(part, Polygon) and part.area > 0]


def _without_slivers(pieces: Sequence[_Piece], sliver: float) -> list[_Piece]:
    """Give what is too narrow for a board to the boards beside it, each its own length of it."""
    boards = [piece for piece in pieces if not _is_sliver(piece.shape, sliver)]
    for piece in pieces:
        left: BaseGeometry = piece.shape
        if not _is_sliver(piece.shape, sliver):
            continue
        beside = sorted(
            (count for count, board in enumerate(boards) if _contact(board.shape, left) > 0),
            key=lambda count: (-_contact(boards[count].shape, piece.shape), count),
        )
        for count in beside:
            board = boards[count].shape
            start, _, end, _ = board.bounds
            last = count == beside[-1]
            part = left if last else left.intersection(box(start, -1e9, end, 1e9))
            grown = board.union(part)
            if isinstance(grown, Polygon):
                boards[count] = replace(boards[count], shape=grown)
                left = left.difference(part)
    return boards


def _is_sliver(shape: Polygon, sliver: float) -> bool:
    return bool(shape.buffer(-sliver / 2, join_style="mitre").is_empty)


def _contact(one: BaseGeometry, two: BaseGeometry) -> float:
    """Length of the edge two neighbours share [mm]."""
    return float(one.intersection(two).length)


def _marked_joists(rails: Iterable[_Rail], frame: Frame) -> tuple[SetJoist, ...]:
    joists: list[SetJoist] = []
    for count, (_, group) in enumerate(groupby(rails, key=lambda rail: rail.at), start=1):
        broken = list(group)
        for letter, rail in enumerate(broken):
            suffix = ascii_lowercase[letter % 26] * (1 + letter // 26) if len(broken) > 1 else ""
            line = (frame.on_plan(rail.at, rail.low), frame.on_plan(rail.at, rail.high))
            joists.append(SetJoist(f"J{count}{suffix}", line))
    return tuple(joists)


def _marked_boards(pieces: Sequence[_Piece], frame: Frame) -> tuple[SetBoard, ...]:
    boards: list[SetBoard] = []
    ordered = sorted(pieces, key=lambda p: (p.course, p.shape.bounds[0], p.shape.bounds[1]))
    for course, (_, group) in enumerate(groupby(ordered, key=lambda p: p.course), start=1):
        boards += [
            SetBoard(f"B{course}.{count}", course, count, frame.outline(piece.shape))
            for count, piece in enumerate(group, start=1)
        ]
    return tuple(boards)
