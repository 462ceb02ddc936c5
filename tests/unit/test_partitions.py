"""Partitions that stand on the boards, read from the rooms."""

from apps.floors.geometry import trapped
from apps.floors.partitions import partitions_from_rooms
from apps.floors.shapes import Doorway, Partition, Room
from tests.floors import boards_and_joists, l_shape, marks, rectangle

FLOOR = rectangle(4100, 3000)
LEFT = Room(1, "Parlour", rectangle(2000, 3000))
RIGHT = Room(2, "Kitchen", rectangle(2000, 3000, 2100, 0))


def lines(partitions):
    return [partition.line for partition in partitions]


def test_a_gap_between_two_rooms_is_a_partition_as_thick_as_the_gap():
    assert partitions_from_rooms(FLOOR, [LEFT, RIGHT], []) == (
        Partition(((2050, 0), (2050, 3000)), 100, (1, 2)),
    )


def test_rooms_that_share_a_side_have_a_partition_of_ordinary_thickness():
    shared = Room(2, "Kitchen", rectangle(2100, 3000, 2000, 0))

    found = partitions_from_rooms(FLOOR, [shared, LEFT], [])

    assert found == (Partition(((2000, 0), (2000, 3000)), 100, (1, 2)),)


def test_a_wider_gap_is_a_masonry_wall_and_stands_on_no_boards():
    far = Room(2, "Kitchen", rectangle(1900, 3000, 2200, 0))

    assert partitions_from_rooms(FLOOR, [LEFT, far], []) == ()
    assert len(partitions_from_rooms(FLOOR, [LEFT, far], [], wall_gap_mm=200)) == 1


def test_a_doorway_leaves_the_partition_open():
    doorway = Doorway(1, 2, 1, ((2100, 1000), (2100, 1800)))

    found = partitions_from_rooms(FLOOR, [LEFT, RIGHT], [doorway])

    assert lines(found) == [((2050, 0), (2050, 1000)), ((2050, 1800), (2050, 3000))]


def test_a_doorway_of_other_rooms_or_in_another_wall_leaves_it_shut():
    outside = Doorway(1, 1, None, ((0, 1000), (0, 1800)))
    hatch = Doorway(2, 1, 2, ((1500, 2990), (1900, 2990)))
    afar = Doorway(3, 1, 2, ((900, 1000), (900, 1800)))

    found = partitions_from_rooms(FLOOR, [LEFT, RIGHT], [outside, hatch, afar])

    assert lines(found) == [((2050, 0), (2050, 3000))]


def test_rooms_that_overlap_only_in_part_share_that_part():
    short = Room(2, "Pantry", rectangle(2000, 1200, 2100, 900))

    found = partitions_from_rooms(rectangle(4100, 3000), [LEFT, short], [])

    between = [p for p in found if p.rooms == (1, 2)]
    assert lines(between) == [((2050, 850), (2050, 2150))]


def test_a_side_inside_the_floor_with_no_room_beyond_is_a_partition_too():
    found = partitions_from_rooms(rectangle(4100, 3000), [LEFT], [])

    assert found == (Partition(((2050, 0), (2050, 3000)), 100, (1, None)),)


def test_a_cupboard_door_leaves_that_side_open():
    cupboard = Doorway(1, 1, None, ((2000, 1000), (2000, 1700)))

    found = partitions_from_rooms(rectangle(4100, 3000), [LEFT], [cupboard])

    assert lines(found) == [((2050, 0), (2050, 1000)), ((2050, 1700), (2050, 3000))]


def test_the_floors_own_edge_is_no_partition():
    # The floor ends where the rooms meet: that wall stands on masonry.
    assert partitions_from_rooms(rectangle(2050, 3000), [LEFT, RIGHT], []) == ()


def test_a_wall_that_leaves_the_floors_edge_counts_from_there():
    # The wall runs on from the inner corner of an L-shaped floor.
    floor = l_shape(4100, 3000, 2050, 1000)

    found = partitions_from_rooms(floor, [LEFT, RIGHT], [])

    assert [p.rooms for p in found] == [(1, 2)]
    (_, low), (_, high) = found[0].line
    assert (low, round(high, -1)) == (0, 2000)


def test_three_rooms_leave_no_hole_where_their_walls_meet():
    floor = rectangle(4100, 4100)
    rooms = [LEFT, RIGHT, Room(3, "Landing", rectangle(4100, 1000, 0, 3100))]
    boards, _ = boards_and_joists(floor)

    found = partitions_from_rooms(floor, rooms, [])

    # Course 21 (3000 to 3150) runs its whole length under the landing's wall.
    under = marks(boards, trapped(boards, found))
    assert {b.mark for b in boards if b.course == 21} <= set(under)
    assert sorted(lines(p for p in found if p.rooms[1] == 3)) == [
        ((0, 3050), (2050, 3050)),
        ((2050, 3050), (4100, 3050)),
    ]


def test_slanted_rooms_are_read_like_straight_ones():
    left = Room(1, "Parlour", ((0, 0), (2000, 0), (2600, 3000), (0, 3000), (0, 0)))
    right = Room(2, "Kitchen", ((2100, 0), (4500, 0), (4500, 3000), (2700, 3000), (2100, 0)))

    found = partitions_from_rooms(rectangle(4500, 3000), [left, right], [])

    assert len(found) == 1
    assert found[0].thickness_mm == 98
    (x0, y0), (x1, y1) = found[0].line
    assert abs(x0 - 2050) <= 2
    assert abs(x1 - 2650) <= 2
    assert (y0, y1) == (0, 3000)


def test_boards_across_are_trapped_and_those_in_the_doorway_are_not():
    boards, _ = boards_and_joists(FLOOR, max_board_length_mm=5000)
    doorway = Doorway(1, 1, 2, ((2000, 900), (2000, 1800)))

    found = partitions_from_rooms(FLOOR, [LEFT, RIGHT], [doorway])

    free = [b.course for b in boards if b.id not in trapped(boards, found)]
    assert free == [7, 8, 9, 10, 11, 12]
