"""The floor drawing: true to scale, every board once, told without colour, no word read as SVG."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations, pairwise
from typing import get_args
from xml.etree import ElementTree

import pytest

from apps.floors.shapes import BoardState, Doorway, Ground, JoistCondition, Room, Way
from apps.pages.drawing.boards import patches
from apps.pages.drawing.holders import Holder, letters
from apps.pages.drawing.legend import legend
from apps.pages.drawing.parts import (
    JOIST_LETTERS,
    STATE_LETTERS,
    FloorPlan,
    PlanBoard,
    PlanHeight,
    PlanJoist,
    PlanNeed,
    PlanRoom,
    PlanWay,
)
from apps.pages.drawing.plan import LAYERS, on_paper, on_screen, window_of
from apps.pages.drawing.walks import length_of, walk
from tests.floors import rectangle

SVG = "{http://www.w3.org/2000/svg}"
PAPER = {"most_width_mm": 186, "most_height_mm": 244}


def plan(**parts):
    """A room of 3 × 4 m with three boards of 3 m over two joists."""
    ordinary = {
        "rooms": (PlanRoom("Parlour", rectangle(3000, 4000)),),
        "floors": (rectangle(3000, 4000),),
        "boards": tuple(
            PlanBoard(n, f"B{n}.1", 1, rectangle(3000, 150, 0, 150 * (n - 1))) for n in (1, 2, 3)
        ),
        "joists": tuple(
            PlanJoist(f"J{n}", ((400 * n, 0), (400 * n, 4000)), 50) for n in (1, 2)
        ),
    }  # fmt: skip
    return FloorPlan(**{**ordinary, **parts})


def screen(drawn, **options):
    window = window_of([rectangle(3000, 4000)])
    return ElementTree.fromstring(on_screen(drawn, window, **options).svg)


def one_board(**facts):
    return plan(boards=(replace(PlanBoard(7, "B1.1", 1, rectangle(3000, 150)), **facts),))


def look(element):
    """How an outline is drawn, without where."""
    names = ("fill", "stroke-width", "stroke-dasharray")
    return tuple(element.get(name) for name in names)


def words(svg):
    return [label.text for label in svg.iter(f"{SVG}text")]


def shape(svg, css_class):
    return next(one for one in svg.iter(f"{SVG}polygon") if css_class in one.get("class", ""))


def test_every_board_is_drawn_once_where_it_lies():
    svg = screen(plan())

    drawn = [one for one in svg.iter(f"{SVG}polygon") if one.get("data-board")]
    assert sorted(one.get("data-board") for one in drawn) == ["1", "2", "3"]
    first = next(one for one in drawn if one.get("data-board") == "1")
    # The window reaches 950 mm beyond the floor; the plan's y runs up, the drawing's down.
    assert first.get("points").split()[0] == "950,4950"


@pytest.mark.parametrize("side_mm", [800, 3000, 9000, 45_000])
def test_a_sheet_is_as_large_as_its_scale_says(side_mm):
    window = window_of([rectangle(side_mm, side_mm)])

    drawing = on_paper(plan(), window, **PAPER)

    svg = ElementTree.fromstring(drawing.svg)
    units = [float(value) for value in svg.get("viewBox").split()]
    assert units[2] == side_mm + 1900
    assert float(svg.get("width").removesuffix("mm")) == pytest.approx(
        units[2] / drawing.scale, abs=0.01
    )
    assert float(svg.get("height").removesuffix("mm")) == pytest.approx(
        units[3] / drawing.scale, abs=0.01
    )
    assert drawing.paper_width_mm <= 186
    assert f"1 m at 1:{drawing.scale}" in words(svg)


def test_the_scale_bar_is_a_metre_long():
    bar = next(p for p in screen(plan()).iter(f"{SVG}path") if p.get("class") == "scale-bar")

    assert re.match(r"M\d+ \d+h1000M", bar.get("d"))


def test_states_of_boards_differ_by_pattern_and_by_letter():
    looks = {
        state: look(shape(screen(one_board(state=state)), f"b {state}"))
        for state in get_args(BoardState)
    }

    assert all(a != b for a, b in combinations(looks.values(), 2))
    assert len(set(STATE_LETTERS.values())) == len(get_args(BoardState))
    for state, letter in STATE_LETTERS.items():
        assert f"B1.1 {letter}" in words(screen(one_board(state=state)))


def test_conditions_of_joists_differ_by_line_and_by_letter():
    def drawn(condition):
        return screen(plan(joists=(PlanJoist("J1", ((400, 0), (400, 4000)), 50, condition),)))

    looks = {
        condition: look(shape(drawn(condition), f"j {condition}"))
        for condition in get_args(JoistCondition)
    }

    assert all(a != b for a, b in combinations(looks.values(), 2))
    assert len(set(JOIST_LETTERS.values())) == len(get_args(JoistCondition))
    for condition, letter in JOIST_LETTERS.items():
        assert f"J1 {letter}" in words(drawn(condition))


def test_a_decayed_end_is_drawn_as_long_as_it_is():
    joist = PlanJoist("J1", ((400, 0), (400, 4000)), 50, "decayed", ((3600, 4000),))
    svg = screen(plan(joists=(joist,)))

    corners = [pair.split(",") for pair in shape(svg, "j decayed").get("points").split()]
    ys = [float(y) for _, y in corners]
    assert max(ys) - min(ys) == 400


def test_what_tonight_asks_is_seen_without_colour():
    kept, lay, deck = (
        look(shape(screen(one_board(state="up", tonight=asked)), "b up"))
        for asked in ("", "lay", "deck")
    )

    assert len({kept, lay, deck}) == 3
    assert "B1.1 UT!→L" in words(
        screen(one_board(state="up", trapped=True, unsafe=True, tonight="lay"))
    )


@pytest.mark.parametrize("name", ['<script>alert("x")</script>', "a\x00b\x1b", "Ö & 'ü' ]]>", ""])
def test_no_name_is_taken_for_markup(name):
    drawn = plan(
        rooms=(PlanRoom(name, rectangle(3000, 4000)),),
        boards=(PlanBoard(1, name[:12], 1, rectangle(3000, 150), held_by=("<P>",)),),
        joists=(PlanJoist(name[:12], ((0, 0), (0, 4000)), 50),),
        needs=(PlanNeed("<&", area=rectangle(500, 500)),),
        heights=(PlanHeight((5, 5), name),),
    )

    svg = screen(drawn, name=name)

    assert svg.tag == f"{SVG}svg"
    assert not list(svg.iter(f"{SVG}script"))
    assert "script" not in {one.tag for one in svg.iter()}


def test_a_hidden_layer_stays_off_the_sheet():
    drawn = plan(
        needs=(PlanNeed("P", route=((0, 500), (3000, 500)), clearance_mm=150),),
        ways=(PlanWay(1, ((100, 100), (100, 3000))),),
        heights=(PlanHeight((5, 5), "−12"),),
    )
    window = window_of([rectangle(3000, 4000)])

    whole = words(ElementTree.fromstring(on_paper(drawn, window, layers=LAYERS, **PAPER).svg))
    bare = words(ElementTree.fromstring(on_paper(drawn, window, layers=(), **PAPER).svg))

    assert {"J1 S", "1", "−12"} <= set(whole)
    assert not {"J1 S", "1", "−12"} & set(bare)


def test_boards_side_by_side_in_one_state_are_one_patch():
    states = {1: "up", 2: "up", 3: "fixed", 4: "up"}
    boards = [
        PlanBoard(n, f"B{n}", 1, rectangle(900, 150, 0, 150 * n), state)
        for n, state in states.items()
    ]

    found = sorted(sorted(one.id for one in patch) for patch in patches(boards))

    assert found == [[1, 2], [3], [4]]


def test_everyone_has_a_letter_of_their_own():
    found = letters(
        [
            Holder("trade", 1, "Perrin", "Plumber"),
            Holder("trade", 2, "Pia", "Plasterer"),
            Holder("trade", 3, "Odile", "Electrician"),
            Holder("trade", 3, "Odile", "Electrician"),
            Holder("task", 8, "Photograph"),
            Holder("inspection", 9, "Joist ends"),
        ]
    )

    assert found["trade", 3] == "E"
    assert found["task", 8] == "O"
    assert found["inspection", 9] == "I"
    assert len(set(found.values())) == 5
    assert not set(found.values()) & set("FLUMTSDNX")


def test_a_hundred_trades_still_have_a_mark_each():
    found = letters(Holder("trade", n, f"Trade {n}", "Plumber") for n in range(100))

    assert len(set(found.values())) == 100


def test_a_way_goes_round_the_corner_and_through_the_doorway():
    # Two rooms side by side, the doorway at the far end of the wall between them.
    rooms = (Room(1, "A", rectangle(3000, 4000)), Room(2, "B", rectangle(3000, 4000, 3000, 0)))
    door = Doorway(1, 1, 2, ((3000, 3000), (3000, 3900)))
    way = Way(1, 2, 600, (500, 500), (5500, 500))

    line = walk(Ground(rooms, (door,), ()), way)

    assert (line[0], line[-1]) == ((500, 500), (5500, 500))
    crossing = [
        ay + (by - ay) * (3000 - ax) / (bx - ax)
        for (ax, ay), (bx, by) in pairwise(line)
        if (ax - 3000) * (bx - 3000) <= 0 and ax != bx
    ]
    assert all(3270 <= y <= 3630 for y in crossing)
    # Straight to the near jamb, kept clear of by half the width, and straight on.
    assert length_of(line) == pytest.approx(2 * (2500**2 + 2800**2) ** 0.5, rel=0.02)


def test_a_way_that_cannot_be_walked_has_no_line():
    rooms = (Room(1, "A", rectangle(3000, 4000)), Room(2, "B", rectangle(3000, 4000, 3500, 0)))

    assert walk(Ground(rooms, (), ()), Way(1, 2, 600)) == ()


def test_the_legend_tells_every_state_and_condition():
    told = {(entry.kind, entry.letter) for entry in legend()}

    assert {("Boards", letter) for letter in STATE_LETTERS.values()} <= told
    assert {("Joists", letter) for letter in JOIST_LETTERS.values()} <= told
    assert {("Boards", "T"), ("Boards", "!"), ("Boards", "→L"), ("Boards", "→D")} <= told
    for entry in legend(standing_alone=True):
        assert ElementTree.fromstring(entry.swatch).tag == f"{SVG}svg"
