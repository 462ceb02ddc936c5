"""How far a floor's boards span, by their thickness, in what is said of each board."""

from tests import factories


def board_over_a_gap(house, *, free_mm=0, **floor_fields):
    """A board of 1.5 m and a free end on three joists, the second of which is missing."""
    floor = factories.FloorFactory(property=house, **floor_fields)
    for number, (x, condition) in enumerate(
        ((25, "sound"), (425, "missing"), (825, "sound"), (1225, "sound")), 1
    ):
        factories.JoistFactory(
            floor=floor, mark=f"J{number}", line=[[x, 0], [x, 4000]], condition=condition
        )
    end = 1250 + free_mm
    return factories.BoardFactory(
        floor=floor, course=1, outline=[[0, 0], [end, 0], [end, 150], [0, 150]]
    )


def told(client, board):
    return client.get(f"/api/v1/boards/{board.pk}/").json()


def test_a_gap_wider_than_such_boards_span_is_said(client, house):
    answer = told(client, board_over_a_gap(house, board_thickness_mm=21))

    assert answer["supported"] is True
    assert answer["support"].endswith("Its joists are 800 mm apart; such a board spans 635 mm.")


def test_a_sheet_is_not_judged_as_a_board(client, house):
    answer = told(client, board_over_a_gap(house, board_cover_width_mm=600))

    assert "apart" not in answer["support"]


def test_thin_boards_may_hang_free_less_far(client, house):
    thin, thick = (
        told(client, board_over_a_gap(house, free_mm=140, board_thickness_mm=mm)) for mm in (16, 21)
    )

    assert (thin["supported"], thick["supported"]) == (False, True)
    assert "126 mm at most" in thin["support"]
