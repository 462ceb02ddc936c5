"""The boards as they will lie on a night."""

from apps.planning.nights import Move, states_at


def test_boards_lifted_before_night_are_up_and_fixed_after_they_are_fixed():
    moves = [Move(10, "up", frozenset({1, 2})), Move(20, "fixed", frozenset({2}))]
    now = {1: "fixed", 2: "fixed", 3: "loose"}

    assert states_at(9, now, moves) == now
    assert states_at(10, now, moves) == {1: "up", 2: "up", 3: "loose"}
    assert states_at(25, now, moves) == {1: "up", 2: "fixed", 3: "loose"}


def test_lifting_what_is_missing_changes_nothing():
    assert states_at(5, {1: "missing"}, [Move(1, "up", frozenset({1}))]) == {1: "missing"}


def test_moves_count_in_the_order_of_their_times():
    moves = [Move(20, "fixed", frozenset({1})), Move(10, "up", frozenset({1}))]

    assert states_at(30, {1: "fixed"}, moves) == {1: "fixed"}
