"""The drawings of the checks: true to scale, and safe whatever is written in them."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from apps.pages.drawing.checks_levels import Place, levels_drawn
from apps.pages.drawing.checks_side import TALLER, Beside, Side, SideCut, side_drawn
from apps.pages.drawing.checks_void import Brick, void_drawn

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "<script>&\"'"


def parts(drawing, class_):
    root = ElementTree.fromstring(drawing)
    return [one.attrib for one in root.iter() if one.get("class") == class_]


def words(drawing):
    return [one.text for one in ElementTree.fromstring(drawing).iter(f"{SVG}text")]


def test_a_notch_lies_where_it_was_measured_as_large_as_it_is():
    notch = SideCut("notch", 380, 420, 170, 195)

    drawing = side_drawn(Side(span_mm=3000, depth_mm=195, cuts=(notch,)), name="joist")

    (drawn,) = parts(drawing, "notch")
    assert (float(drawn["x"]), float(drawn["width"])) == (380, 40)
    assert (float(drawn["y"]), float(drawn["height"])) == (0, 25 * TALLER)
    assert "notch at 400" in words(drawing)
    assert "clear span 3000" in words(drawing)


def test_a_hole_is_as_high_above_the_bottom_as_it_was_measured():
    hole = SideCut("hole", 889, 911, 86, 108)

    drawing = side_drawn(Side(span_mm=3000, depth_mm=195, cuts=(hole,)), name="joist")

    (drawn,) = parts(drawing, "hole")
    assert (float(drawn["cx"]), float(drawn["rx"])) == (900, 11)
    assert (float(drawn["cy"]), float(drawn["ry"])) == ((195 - 97) * TALLER, 11 * TALLER)


def test_bearings_and_the_piece_beside_are_as_long_as_they_are():
    lap = Beside(-75, 900, 220, "new end")

    drawing = side_drawn(
        Side(span_mm=3000, depth_mm=195, bearings=(75, 40), beside=(lap,)), name="lap"
    )

    assert [float(one["width"]) for one in parts(drawing, "bearing")] == [75, 40]
    assert [float(one["x"]) for one in parts(drawing, "bearing")] == [-75, 3000]
    (piece,) = parts(drawing, "beside")
    assert (float(piece["x"]), float(piece["width"])) == (-75, 975)
    assert float(piece["height"]) == 220 * TALLER


def test_air_bricks_lie_on_the_wall_in_a_plan_to_scale():
    ring = ((0, 0), (4200, 0), (4200, 3600), (0, 3600), (0, 0))
    bricks = [Brick((1000, 0), "open"), Brick((3000, 3600), "shut", open=False)]

    drawing = void_drawn(ring, beyond=("outside", "inside"), bricks=bricks, name="void")

    first, second = parts(drawing, "brick")
    middle = [(float(b["x"]) + float(b["width"]) / 2, float(b["y"]) + float(b["height"]) / 2)
              for b in (first, second)]  # fmt: skip
    assert middle[1][0] - middle[0][0] == pytest.approx(2000, abs=0.2)
    assert middle[0][1] - middle[1][1] == pytest.approx(3600, abs=0.2)
    assert first["fill"] != second["fill"]


def test_packers_stand_on_their_joist_up_to_the_level():
    places = [Place("J1", -6, 6, words="+6"), Place("J2", -2, 2, words="+2")]

    drawing = levels_drawn(places, level_mm=0, name="levels")

    six, two = parts(drawing, "packer")
    assert float(six["height"]) == pytest.approx(3 * float(two["height"]), rel=0.01)
    (line,) = parts(drawing, "level")
    assert float(line["d"].split()[1].partition("H")[0]) == pytest.approx(float(six["y"]), abs=0.2)


@pytest.mark.parametrize(
    "drawing",
    [
        side_drawn(Side(span_mm=900, depth_mm=99, beside=(Beside(0, 9, 9, NASTY),)), name=NASTY),
        void_drawn(((0, 0), (9, 0), (9, 9), (0, 0)), bricks=[Brick((0, 0), NASTY)], name=NASTY),
        levels_drawn([Place(NASTY, 0.0, words=NASTY)], name=NASTY),
    ],
)
def test_what_people_type_is_only_ever_text(drawing):
    root = ElementTree.fromstring(drawing)

    assert root.get("aria-label") == NASTY
    assert not list(root.iter(f"{SVG}script"))
    assert NASTY in words(drawing)


def test_a_floor_drawn_in_two_rows_keeps_one_scale():
    low, high = Place("J1", -20, 20, words="+20"), Place("J2", -2, 2, words="+2")

    rows = [levels_drawn([one], among=[low, high], level_mm=0, name="row") for one in (low, high)]

    twenty, two = (float(parts(row, "packer")[0]["height"]) for row in rows)
    assert twenty == pytest.approx(10 * two, rel=0.01)
