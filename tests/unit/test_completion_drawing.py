"""Floor drawings: to the scale they state, and readable without colour."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from apps.inspections.completion.drawing import LETTERS, STRIPS, plan_of_floor, sections_of
from tests.unit.records import board, floor, joist, rectangle, room

SVG = "{http://www.w3.org/2000/svg}"


def drawn(drawing):
    return ElementTree.fromstring(drawing.svg)


def polygons(drawing, wanted):
    """The corners of the polygons of some style [mm on paper]."""
    return [
        [tuple(map(float, pair.split(","))) for pair in shape.get("points").split()]
        for shape in drawn(drawing).iter(f"{SVG}polygon")
        if all(shape.get(name) == value for name, value in wanted.items())
    ]


def words(drawing):
    return [label.text for label in drawn(drawing).iter(f"{SVG}text")]


def size(corners):
    xs, ys = zip(*corners, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_a_floor_is_as_large_on_paper_as_its_scale_says():
    plan = plan_of_floor(floor(), [])

    (outline,) = polygons(plan, {"stroke-width": "0.5"})
    assert plan.scale == 50
    assert size(outline) == pytest.approx((3000 / 50, 4000 / 50), abs=0.02)


def test_one_unit_of_the_drawing_is_one_millimetre_of_paper():
    plan = plan_of_floor(floor(), [])

    svg = drawn(plan)
    assert svg.get("width") == f"{svg.get('viewBox').split()[2]}mm"
    assert svg.get("height") == f"{svg.get('viewBox').split()[3]}mm"


@pytest.mark.parametrize("metres", [0.5, 3, 12, 60, 900])
def test_every_floor_fits_the_sheet(metres):
    side = int(metres * 1000)

    plan = plan_of_floor(floor(outline=rectangle(side, side)), [])

    assert plan.width_mm <= 170
    assert plan.height_mm <= 205


def test_up_in_the_house_is_up_on_paper():
    plan = plan_of_floor(floor(boards=[board(y=0, was_lifted=True), board(y=3000)]), [])

    (low,), (high,) = (
        polygons(plan, {"fill": fill, "stroke": "#aaa"}) for fill in ("url(#lifted)", "none")
    )
    assert min(y for _, y in low) > max(y for _, y in high)


def test_a_joist_is_drawn_as_broad_as_it_is():
    plan = plan_of_floor(floor(joists=[joist(condition="new")]), [])

    (strip,) = polygons(plan, {"fill": "#000"})
    assert size(strip) == pytest.approx((50 / 50, 4000 / 50), abs=0.02)


def test_every_condition_has_its_own_letter_and_its_own_pattern():
    assert len(set(LETTERS.values())) == len(LETTERS) == 5
    assert len(set(STRIPS.values())) == len(STRIPS) == 5
    assert set(LETTERS) == set(STRIPS)


@pytest.mark.parametrize("condition", sorted(LETTERS))
def test_a_joist_says_its_condition_behind_its_mark(condition):
    plan = plan_of_floor(floor(joists=[joist("J7", condition=condition)]), [])

    assert f"J7 {LETTERS[condition]}" in words(plan)


def test_the_drawing_has_no_colour():
    whole = plan_of_floor(
        floor(
            joists=[joist(f"J{n}", x=n * 400, condition=c) for n, c in enumerate(LETTERS)],
            boards=[board(state="up", was_lifted=True), board("B2.1", y=150, was_lifted=True)],
        ),
        [room()],
    ).svg

    for red, green, blue in re.findall(r'"#(\w)(\w)(\w)"', whole):
        assert red == green == blue
    assert "rgb" not in whole


def test_a_decayed_stretch_is_crossed_where_it_is():
    plan = plan_of_floor(floor(joists=[joist(decayed=[{"from_mm": 3500, "to_mm": 9000}])]), [])

    (crossed,) = polygons(plan, {"fill": "url(#crossed)"})
    # The line's end is at y = 4000 and nothing is drawn beyond it.
    assert size(crossed)[1] == pytest.approx(500 / 50, abs=0.02)


def test_boards_that_were_lifted_are_hatched_and_marked():
    plan = plan_of_floor(
        floor(boards=[board("B1.1"), board("B2.1", y=150, was_lifted=True),
                      board("B3.1", y=300, state="up", was_lifted=True)]),
        [],
    )  # fmt: skip

    fills = [
        len(polygons(plan, {"fill": fill, "stroke": "#aaa"}))
        for fill in ("none", "url(#lifted)", "url(#open)")
    ]
    assert fills == [1, 1, 1]
    assert {"B2.1", "B3.1"} <= set(words(plan))
    assert "B1.1" not in words(plan)


def test_a_room_has_its_name_and_one_far_off_is_not_drawn():
    near, far = room("Parlour"), room("Attic", rectangle(3000, 3000, (20_000, 0)))

    said = words(plan_of_floor(floor(), [near, far]))

    assert "Parlour" in said
    assert "Attic" not in said


def test_a_name_cannot_become_part_of_the_drawing():
    name = "</text><g/>&"

    plan = plan_of_floor(floor(), [room(name)])

    assert name in words(plan)
    assert not list(drawn(plan).iter(f"{SVG}g"))


def test_sections_show_each_kind_of_joist_once_with_how_many_are_alike():
    cut = sections_of(
        floor(joists=[joist("J1"), joist("J2"), joist("J3", depth_mm=175, condition="new")])
    )

    assert {"50×150", "J1 +1 S", "50×175", "J3 N"} <= set(words(cut))
    black = [shape for shape in drawn(cut).iter(f"{SVG}rect") if shape.get("fill") == "#000"]
    assert [(s.get("width"), s.get("height")) for s in black] == [("5", "17.5")]


def test_a_floor_without_joists_has_no_sections():
    assert sections_of(floor()) is None
