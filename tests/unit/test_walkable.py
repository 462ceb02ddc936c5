"""Ways through the house at night, and the fewest boards that restore them."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.floors.cells import cells
from apps.floors.shapes import Board, Doorway, Ground, Room, Way
from apps.floors.walkable import (
    _by_walking,
    held_with_up,
    route_state,
    smallest_bridge,
)
from tests.floors import boards_and_joists, l_shape, marks, put, rectangle

BEDROOM = Room(1, "the back parlour", rectangle(3000, 3000))
HALL = Room(2, "the hall", rectangle(1200, 6100, 3100, 0))
BATHROOM = Room(3, "the bathroom", rectangle(2500, 3000, 4400, 3100))
ROOMS = (BEDROOM, HALL, BATHROOM)
DOORS = (
    Doorway(1, 1, 2, ((3000, 1000), (3000, 1800))),
    Doorway(2, 2, 3, ((4350, 4000), (4350, 4760))),
    Doorway(3, 2, None, ((3300, 0), (4100, 0))),
)
TO_BATHROOM = Way(1, 3)
# Hall boards along x, across the way: 41 courses of one piece.
HALL_BOARDS, _ = boards_and_joists(rectangle(1200, 6100))
HALL_BOARDS = [replace(b, outline=tuple((x + 3100, y) for x, y in b.outline)) for b in HALL_BOARDS]


def ground(boards=(), unsupported=(), rooms=ROOMS, doors=DOORS):
    return Ground(rooms, doors, tuple(boards), frozenset(unsupported))


def test_a_whole_floor_can_be_walked():
    assert route_state(ground(HALL_BOARDS), TO_BATHROOM).holds
    assert smallest_bridge(ground(HALL_BOARDS), TO_BATHROOM).lay_ids == ()


def test_rooms_without_boards_can_be_walked():
    state = route_state(ground(), TO_BATHROOM)

    assert state.holds
    assert state.sentence == "The way from the back parlour to the bathroom can be walked."


def test_one_board_up_across_the_hall_cuts_the_way():
    boards = put(HALL_BOARDS, "up", "B20.1")

    state = route_state(ground(boards), TO_BATHROOM)
    bridge = smallest_bridge(ground(boards), TO_BATHROOM)

    assert (state.holds, marks(boards, state.cut_by)) == (False, ["B20.1"])
    assert state.sentence == ("The way from the back parlour to the bathroom is cut by B20.1 (up).")
    assert (marks(boards, bridge.lay_ids), bridge.deck_ids) == (["B20.1"], ())
    assert bridge.sentence == (
        "To restore it, lay loose B20.1. "
        "The way from the back parlour to the bathroom can then be walked."
    )


def test_boards_up_off_the_way_do_not_cut_it():
    boards = put(HALL_BOARDS, "up", "B1.1", "B40.1")

    assert route_state(ground(boards), TO_BATHROOM).holds


def test_a_hole_one_can_walk_around_is_not_named():
    hole = Board(99, "B9.9", 9, 9, rectangle(150, 150, 500, 1000), "up")
    boards = [hole, *put(HALL_BOARDS, "up", "B20.1")]

    assert marks(boards, route_state(ground(boards), TO_BATHROOM).cut_by) == ["B20.1"]


def test_boards_laid_loose_can_be_walked():
    assert route_state(ground(put(HALL_BOARDS, "loose", "B20.1")), TO_BATHROOM).holds


def test_an_unsupported_board_is_not_walked_on_even_when_fixed():
    weak = HALL_BOARDS[19]

    state = route_state(ground(HALL_BOARDS, [weak.id]), TO_BATHROOM)
    bridge = smallest_bridge(ground(HALL_BOARDS, [weak.id]), TO_BATHROOM)

    assert state.cut_by == (weak.id,)
    assert state.sentence.endswith("is cut by B20.1 (unsupported).")
    assert (bridge.possible, bridge.lay_ids, bridge.deck_ids) == (True, (), (weak.id,))
    assert bridge.sentence == (
        "The way from the back parlour to the bathroom cannot be restored by laying boards "
        "alone: put a temporary deck, resting on sound joists, over B20.1 (unsupported)."
    )


def test_missing_boards_need_a_deck_and_the_others_are_laid():
    boards = put(put(HALL_BOARDS, "up", "B21.1"), "missing", "B20.1")

    bridge = smallest_bridge(ground(boards), TO_BATHROOM)

    assert marks(boards, bridge.deck_ids) == ["B20.1"]
    assert marks(boards, bridge.lay_ids) == ["B21.1"]
    assert bridge.sentence.endswith("over B20.1 (missing), and lay loose B21.1.")


def test_a_board_up_and_unsupported_cannot_simply_be_laid():
    boards = put(HALL_BOARDS, "up", "B20.1")

    bridge = smallest_bridge(ground(boards, [boards[19].id]), TO_BATHROOM)

    assert (bridge.lay_ids, bridge.deck_ids) == ((), (boards[19].id,))
    assert "B20.1 (up and unsupported)" in bridge.sentence


def test_the_narrow_side_of_a_hole_is_bridged():
    # Boards along y in a hall 1200 wide: 8 courses, all up; 600 mm takes four of 150.
    boards, _ = boards_and_joists(
        rectangle(1200, 6100), boards_run_deg=90, max_board_length_mm=7000
    )
    boards = [
        replace(b, outline=tuple((x + 3100, y) for x, y in b.outline), state="up") for b in boards
    ]

    bridge = smallest_bridge(
        ground(boards), Way(2, 2, from_point=(3700, 400), to_point=(3700, 5700))
    )

    assert len(bridge.lay_ids) == 4
    courses = sorted(b.course for b in boards if b.id in bridge.lay_ids)
    assert courses == list(range(courses[0], courses[0] + 4))


def test_of_equal_bridges_the_first_in_mark_order_is_named():
    left = Board(1, "B1.1", 1, 1, rectangle(600, 200, 0, 1000), "up")
    right = Board(2, "B1.2", 1, 2, rectangle(600, 200, 600, 1000), "up")
    room = Room(1, "the hall", rectangle(1200, 3000))
    way = Way(1, 1, from_point=(600, 400), to_point=(600, 2600))

    assert smallest_bridge(ground([right, left], rooms=(room,), doors=()), way).lay_ids == (1,)


def test_an_opening_of_exactly_the_width_lets_one_through():
    exact = (Doorway(1, 1, 2, ((3000, 1000), (3000, 1600))), *DOORS[1:])
    tight = (Doorway(1, 1, 2, ((3000, 1000), (3000, 1595))), *DOORS[1:])

    assert route_state(ground(doors=exact), TO_BATHROOM).holds
    assert not route_state(ground(doors=tight), TO_BATHROOM).holds


def test_a_way_too_narrow_even_with_every_board_down_is_said_to_be():
    wide = replace(TO_BATHROOM, width_mm=900)
    boards = put(HALL_BOARDS, "up", "B20.1")

    state = route_state(ground(boards), wide)
    bridge = smallest_bridge(ground(boards), wide)

    assert (state.holds, state.cut_by, bridge.possible) == (False, (), False)
    assert "even with every board down there is no way 900 mm wide" in state.sentence
    assert bridge.sentence.startswith("The way from the back parlour to the bathroom cannot be")


def test_a_wall_between_rooms_that_share_a_side_stays_a_wall():
    rooms = (BEDROOM, Room(2, "the hall", rectangle(1200, 6100, 3000, 0)))
    door = Doorway(1, 1, 2, ((3000, 1000), (3000, 1700)))

    assert not route_state(ground(rooms=rooms, doors=()), Way(1, 2)).holds
    assert route_state(ground(rooms=rooms, doors=(door,)), Way(1, 2)).holds


def test_a_doorway_that_is_nowhere_near_its_rooms_leads_nowhere():
    afar = (Doorway(1, 1, 2, ((1500, 1000), (1500, 1800))),)

    assert not route_state(ground(doors=afar), Way(1, 2)).holds


@pytest.mark.parametrize("x", [3000, 3050, 3100])
def test_a_doorway_may_be_drawn_on_either_face_or_between(x):
    door = (Doorway(1, 2, 1, ((x, 1800), (x, 1000))),)

    assert route_state(ground(doors=door), Way(1, 2)).holds


def test_a_board_up_under_a_doorway_cuts_the_way_through_it():
    sill = Board(1, "B7.1", 7, 1, rectangle(300, 150, 2900, 1300), "up")

    assert route_state(ground([sill]), TO_BATHROOM).cut_by == (1,)


def test_the_way_outside_leads_through_an_outer_doorway():
    boards = put(HALL_BOARDS, "up", "B3.1")

    assert route_state(ground(HALL_BOARDS), Way(1, None)).holds
    assert marks(boards, route_state(ground(boards), Way(1, None)).cut_by) == ["B3.1"]
    assert "to outside" in route_state(ground(boards), Way(1, None)).sentence


def test_without_an_outer_doorway_there_is_no_way_outside():
    assert not route_state(ground(doors=DOORS[:2]), Way(1, None)).holds


def test_a_room_too_small_to_stand_in_is_no_start():
    closet = Room(4, "the closet", rectangle(400, 400, 8000, 0))

    state = route_state(ground(rooms=(*ROOMS, closet)), Way(4, 3, from_point=(8200, 200)))

    assert not state.holds


def test_a_point_says_which_part_of_a_room_is_meant():
    # A trench through the back parlour, the door on its near side.
    trench = Board(1, "B1.1", 1, 1, rectangle(150, 3000, 1200, 0), "up")

    assert route_state(ground([trench]), TO_BATHROOM).holds
    at_the_bed = replace(TO_BATHROOM, from_point=(100, 2900))
    assert route_state(ground([trench]), at_the_bed).cut_by == (1,)
    assert smallest_bridge(ground([trench]), at_the_bed).lay_ids == (1,)


def test_a_start_in_the_hole_itself_is_cut_too():
    boards = put(HALL_BOARDS, "up", *(f"B{n}.1" for n in range(10, 20)))

    state = route_state(ground(boards), Way(2, 3, from_point=(3700, 2200)))

    assert not state.holds
    assert marks(boards, state.cut_by) == [f"B{n}.1" for n in range(10, 20)]


def test_boards_of_another_storey_do_not_cut_the_way():
    above = [replace(b, storey=1) for b in put(HALL_BOARDS, "up", "B20.1")]

    assert route_state(ground(above), TO_BATHROOM).holds


def test_a_way_between_storeys_is_refused_with_advice():
    attic = Room(9, "the attic", rectangle(3000, 3000), storey=2)

    with pytest.raises(ValueError, match="to and from the stair"):
        route_state(ground(rooms=(*ROOMS, attic)), Way(1, 9))


@pytest.mark.parametrize("way", [Way(8, 1), Way(1, 8)])
def test_a_way_to_an_unknown_room_is_refused(way):
    with pytest.raises(ValueError, match="a room \\(8\\) that is not there"):
        route_state(ground(), way)


def test_a_way_of_no_width_is_refused():
    with pytest.raises(ValueError, match="millimetres above 2"):
        smallest_bridge(ground(), replace(TO_BATHROOM, width_mm=2))


SMALL_BOARDS, _ = boards_and_joists(
    l_shape(2400, 2000, 900, 800), board_cover_width_mm=400, max_board_length_mm=1300
)
SMALL_ROOM = Room(1, "the landing", l_shape(2400, 2000, 900, 800))
SMALL_WAY = Way(1, 1, width_mm=500, from_point=(2300, 100), to_point=(100, 1900))


def small(states, unsupported=()):
    boards = [replace(b, state=s) for b, s in zip(SMALL_BOARDS, states, strict=True)]
    return Ground((SMALL_ROOM,), (), tuple(boards), frozenset(unsupported))


def laid(given_ground, ids):
    """The same ground with some boards laid and safe."""
    boards = tuple(replace(b, state="loose") if b.id in ids else b for b in given_ground.boards)
    return replace(given_ground, boards=boards, unsupported=given_ground.unsupported - set(ids))


STATES = st.lists(
    st.sampled_from(["fixed", "up", "up", "up", "missing"]),
    min_size=len(SMALL_BOARDS),
    max_size=len(SMALL_BOARDS),
)
WEAK = st.sets(st.sampled_from([board.id for board in SMALL_BOARDS]), max_size=2)


@settings(max_examples=10, deadline=None)
@given(STATES, WEAK)
def test_the_bridge_is_the_smallest_and_first_of_all_subsets(states, weak):
    here = small(states, weak)
    bridge = smallest_bridge(here, SMALL_WAY)

    bad = [b for b in here.boards if b.state in {"up", "missing"} or b.id in weak]
    layable = [b.id for b in bad if b.state == "up" and b.id not in weak]
    others = [b.id for b in bad if b.id not in layable]
    deck = first_that_holds(here, others, always=layable)
    assert bridge.possible
    assert bridge.deck_ids == deck
    assert bridge.lay_ids == first_that_holds(here, layable, always=deck)


def first_that_holds(here, ids, always):
    return next(
        chosen
        for size in range(len(ids) + 1)
        for chosen in combinations(ids, size)
        if route_state(laid(here, {*always, *chosen}), SMALL_WAY).holds
    )


@settings(max_examples=30, deadline=None)
@given(STATES)
def test_the_boards_of_a_walk_restore_the_way_and_none_can_be_spared(states):
    here = small(["up" if state == "missing" else state for state in states])
    graph = cells(here, SMALL_WAY)

    found = {graph.boards[bit].id for bit in bits(by_walking(graph))}

    assert route_state(laid(here, found), SMALL_WAY).holds
    assert not any(route_state(laid(here, found - {one}), SMALL_WAY).holds for one in found)
    assert len(found) >= len(smallest_bridge(here, SMALL_WAY).lay_ids)


def by_walking(graph):
    return _by_walking(graph, laid=0, choice=(1 << len(graph.boards)) - 1)


def bits(mask):
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]


def test_a_wide_room_with_every_board_up_has_a_bridge_too():
    # Fifty courses end to end: trying sets of boards for the smallest would take minutes.
    boards, _ = boards_and_joists(rectangle(4000, 7500), max_board_length_mm=1200)
    room = Room(1, "the parlour", rectangle(4000, 7500))
    across = Way(1, 1, from_point=(2000, 300), to_point=(2000, 7200))
    here = Ground((room,), (), tuple(replace(b, state="up") for b in boards), frozenset())

    bridge = smallest_bridge(here, across)

    assert bridge.possible
    assert bridge.deck_ids == ()
    assert route_state(laid(here, bridge.lay_ids), across).holds
    assert len(bridge.lay_ids) < len(boards) / 3


IDS = st.sampled_from([board.id for board in SMALL_BOARDS])


@settings(max_examples=30, deadline=None)
@given(STATES, WEAK, st.lists(st.frozensets(IDS), max_size=5))
def test_many_groups_at_once_are_answered_as_each_by_itself(states, weak, groups):
    here = small(states, weak)

    def with_up(group):
        boards = [replace(b, state="up" if b.id in group else "fixed") for b in here.boards]
        return replace(here, boards=tuple(boards))

    alone = [route_state(with_up(group), SMALL_WAY).holds for group in groups]
    assert held_with_up(here, SMALL_WAY, groups) == alone


@settings(max_examples=60, deadline=None)
@given(STATES, st.sets(st.sampled_from([board.id for board in SMALL_BOARDS])))
def test_laying_more_boards_never_cuts_a_way(states, more):
    here = small(states)

    before, after = route_state(here, SMALL_WAY), route_state(laid(here, more), SMALL_WAY)

    assert before.holds <= after.holds


@settings(max_examples=60, deadline=None)
@given(STATES)
def test_a_cut_way_names_boards_that_are_open(states):
    here = small(states)

    state = route_state(here, SMALL_WAY)

    is_open = {b.id for b in here.boards if b.state in {"up", "missing"}}
    assert set(state.cut_by) <= is_open
    assert state.holds == (not state.cut_by)
    assert route_state(laid(here, state.cut_by), SMALL_WAY).holds or not state.holds
