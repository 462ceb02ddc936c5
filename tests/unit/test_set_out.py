"""Setting out joists and boards: boards tile the floor, joints lie over joists, marks count."""

from itertools import combinations, pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, STRtree, union_all

from apps.floors.joints import end_joints
from apps.floors.resting import support
from apps.property.outlines import closed_ring
from tests.floors import boards_and_joists, l_floors, l_shape, laid, rectangle

# An octagon-like bay: no two neighbouring sides at right angles.
BAY = ((0, 0), (4000, 0), (5200, 1100), (5200, 2600), (4000, 3700), (0, 3700), (0, 0))
U_SHAPE = (
    (0, 0), (6000, 0), (6000, 4000), (4000, 4000), (4000, 1500), (2000, 1500), (2000, 4000),
    (0, 4000), (0, 0),
)  # fmt: skip
# At these angles two corners of one board fall on the same whole millimetre.
NOTCHED_CORNER = ((0, 0), (2783, 0), (2783, 1500), (2283, 1500), (2283, 2000), (0, 2000), (0, 0))


def area(outline):
    return Polygon(outline).area


def test_boards_of_a_rectangle_are_counted_from_the_corner():
    made = laid(rectangle(2000, 450), max_board_length_mm=2000)

    assert [board.mark for board in made.boards] == ["B1.1", "B2.1", "B3.1"]
    assert made.corner == (0, 0)
    assert made.boards[1].outline == rectangle(2000, 150, 0, 150)


def test_joists_stand_at_right_angles_at_their_centres_and_one_by_the_far_wall():
    made = laid(rectangle(1500, 900))

    assert [(joist.mark, joist.line[0][0]) for joist in made.joists] == [
        ("J1", 50), ("J2", 450), ("J3", 850), ("J4", 1250), ("J5", 1450),
    ]  # fmt: skip
    assert all(joist.line[0][1] == 0 and joist.line[1][1] == 900 for joist in made.joists)


def test_a_regular_joist_near_the_wall_needs_no_other_beside_it():
    made = laid(rectangle(1350, 900))

    assert [joist.line[0][0] for joist in made.joists] == [50, 450, 850, 1250]


def test_wall_joists_can_be_left_out():
    made = laid(rectangle(1500, 900), wall_joists=False)

    assert [joist.line[0][0] for joist in made.joists] == [50, 450, 850, 1250]


def test_boards_along_y_count_from_the_corner_on_the_right():
    made = laid(rectangle(450, 2000), boards_run_deg=90)

    assert made.corner == (450, 0)
    assert made.boards[0].outline == ((300, 0), (450, 0), (450, 2000), (300, 2000), (300, 0))
    assert {joist.line[0][1] for joist in made.joists} >= {50, 450, 850}


def test_half_a_turn_counts_from_the_opposite_corner():
    made = laid(rectangle(2000, 450), boards_run_deg=180)

    assert made.corner == (2000, 450)
    assert Polygon(made.boards[0].outline).bounds == (0, 300, 2000, 450)


def test_the_first_course_can_be_ripped_and_the_last_takes_what_is_left():
    made = laid(rectangle(2000, 500), first_board_mm=60)

    heights = [Polygon(b.outline).bounds[3] - Polygon(b.outline).bounds[1] for b in made.boards]
    assert heights == [60, 150, 150, 140]


def test_a_sliver_too_narrow_for_a_board_widens_its_neighbours():
    made = laid(rectangle(5000, 303))

    assert {board.course for board in made.boards} == {1, 2}
    assert sum(area(board.outline) for board in made.boards) == 5000 * 303
    assert {Polygon(b.outline).bounds[3] for b in made.boards if b.course == 2} == {303}


def test_a_floor_that_is_one_sliver_has_no_board():
    made = laid(rectangle(2000, 4))

    assert made.boards == ()


def test_a_notch_breaks_joists_into_lettered_pieces_and_courses_into_numbered_ones():
    made = laid(U_SHAPE)

    # The notch is open at the far side of the courses: it ends joists, and breaks courses.
    assert not any(joist.mark[-1].isalpha() for joist in made.joists)
    beyond_notch = [b.mark for b in made.boards if b.course == 20]
    assert beyond_notch == ["B20.1", "B20.2"]

    turned = laid(U_SHAPE, boards_run_deg=90)

    broken = [joist.mark for joist in turned.joists if joist.mark[-1].isalpha()]
    assert broken[:2] == ["J6a", "J6b"]
    assert len(set(broken)) == len(broken)


def test_a_joist_stands_by_the_wall_of_a_notch_only_as_long_as_that_wall():
    made = laid(l_shape(5000, 4000, 2100, 2000))

    by_notch = [joist.line for joist in made.joists if joist.line[0][0] == 2850]
    assert by_notch == [((2850, 0), (2850, 4000))]

    moved = laid(l_shape(5000, 4000, 2300, 2000))

    assert ((2650, 2000), (2650, 4000)) in [joist.line for joist in moved.joists]


def test_no_board_is_longer_than_the_longest_and_neighbours_break_joint():
    made = laid(rectangle(7000, 1500))

    assert (
        max(Polygon(b.outline).bounds[2] - Polygon(b.outline).bounds[0] for b in made.boards)
        <= 3000
    )
    joints = {
        course: {
            Polygon(b.outline).bounds[2] for b in made.boards if b.course == course
        } - {7000}
        for course in range(1, 11)
    }  # fmt: skip
    assert all(joints[course] for course in joints)
    assert all(not joints[a] & joints[b] for a, b in pairwise(range(1, 11)))


@pytest.mark.parametrize(
    ("sizes", "sentence"),
    [
        ({"board_cover_width_mm": 0}, "the cover width"),
        ({"joist_centres_mm": -1}, "the joist centres"),
        ({"joist_breadth_mm": 0}, "the joist breadth"),
        ({"max_board_length_mm": 0}, "the longest board"),
        ({"first_board_mm": 151}, "first course shows 1 to 150 mm"),
        ({"first_board_mm": 0}, "first course shows 1 to 150 mm"),
        ({"first_joist_mm": 401}, "first joist is 0 to 400 mm"),
        ({"max_board_length_mm": 300}, "do not reach from joist to joist"),
        ({"board_cover_width_mm": 1, "max_board_length_mm": 400}, "more than 20000 boards"),
    ],
)
def test_impossible_sizes_are_refused_with_a_sentence(sizes, sentence):
    with pytest.raises(ValueError, match=sentence):
        laid(rectangle(7000, 1500), **sizes)


@settings(max_examples=40, deadline=None)
@given(l_floors(), st.sampled_from([0, 90, 180, 270]), st.integers(80, 250), st.integers(1, 80))
def test_boards_tile_any_right_angled_floor_exactly(floor, run_deg, cover_mm, first_mm):
    made = laid(
        floor, boards_run_deg=run_deg, board_cover_width_mm=cover_mm, first_board_mm=first_mm
    )

    shapes = [Polygon(board.outline) for board in made.boards]
    assert sum(shape.area for shape in shapes) == area(floor)
    assert union_all(shapes).equals(Polygon(floor))


@settings(max_examples=40, deadline=None)
@given(l_floors(), st.integers(0, 359))
@example(BAY, 0)
@example(BAY, 37)
@example(U_SHAPE, 45)
@example(NOTCHED_CORNER, 120)
@example(NOTCHED_CORNER, 284)
@example(NOTCHED_CORNER, 311)
def test_boards_tile_at_any_angle_within_the_rounding(floor, run_deg):
    made = laid(floor, boards_run_deg=run_deg)

    shapes = [Polygon(board.outline) for board in made.boards]
    whole = Polygon(floor)
    seams = sum(shape.length for shape in shapes)
    assert abs(sum(shape.area for shape in shapes) - whole.area) <= seams * 0.71
    assert union_all(shapes).buffer(1.5).covers(whole)
    pairs = STRtree(shapes).query(shapes, predicate="overlaps").T
    assert all(shapes[a].intersection(shapes[b]).buffer(-1).is_empty for a, b in pairs)


@settings(max_examples=40, deadline=None)
@given(l_floors(), st.sampled_from([0, 90, 31]))
@example(U_SHAPE, 0)
@example(U_SHAPE, 90)
def test_every_joint_lies_over_a_joist(floor, run_deg):
    made = laid(floor, boards_run_deg=run_deg)

    joists = [LineString(joist.line) for joist in made.joists]
    for pieces in by_course(made.boards).values():
        for one, two in combinations(pieces, 2):
            joint = Polygon(one.outline).buffer(1.5).intersection(Polygon(two.outline))
            if joint.area > 150:  # beside each other for more than a corner
                nearest = min(joists, key=joint.distance)
                assert nearest.distance(Point(joint.centroid)) <= 2


@settings(max_examples=40, deadline=None)
@given(l_floors(), st.sampled_from([0, 90]))
def test_every_board_set_out_on_a_right_angled_floor_is_supported(floor, run_deg):
    boards, joists = boards_and_joists(floor, boards_run_deg=run_deg)

    resting = support(boards, joists)

    assert [rest.sentence for rest in resting.values() if not rest.supported] == []


@settings(max_examples=30, deadline=None)
@given(l_floors(), st.integers(0, 359))
def test_outlines_and_marks_are_ready_to_store(floor, run_deg):
    made = laid(floor, boards_run_deg=run_deg)

    assert all(
        closed_ring(board.outline) == [list(point) for point in board.outline]
        for board in made.boards
    )
    assert len({board.mark for board in made.boards}) == len(made.boards)
    assert len({joist.mark for joist in made.joists}) == len(made.joists)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(150, 450), min_size=2, max_size=7), st.integers(900, 1500))
def test_two_courses_share_no_joint_where_some_choice_avoids_it(bays, longest):
    joists = [100]
    for bay in bays:
        joists.append(joists[-1] + bay)
    end = joists[-1] + 100

    first = end_joints(0, end, joists, longest=longest)
    second = end_joints(0, end, joists, longest=longest, before=first)

    possible = [set(choice) for choice in choices(end, joists, longest)]
    avoidable = any(not choice & set(first) for choice in possible)
    assert not avoidable or not set(first) & set(second)


def choices(end, joists, longest):
    """Every set of joints that leaves no board too long or on one joist only."""
    for size in range(len(joists) + 1):
        for chosen in combinations(joists, size):
            ends = [0, *chosen, end]
            on_two = all(sum(a <= j <= b for j in joists) >= 2 for a, b in pairwise(ends))
            if on_two and all(b - a <= longest for a, b in pairwise(ends)):
                yield chosen


def by_course(boards):
    courses = {}
    for board in boards:
        courses.setdefault(board.course, []).append(board)
    return courses
