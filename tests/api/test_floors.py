"""Floors over HTTP: their record, and in which order their boards come up and go down."""

import pytest

from tests import factories


def board_of(floor, course, **fields):
    return factories.BoardFactory(floor=floor, course=course, mark=f"B{course}.1", **fields)


def tongued_floor(house, courses=3, **fields):
    """Tongued boards of 3000 × 150 mm, course beside course."""
    floor = factories.FloorFactory(property=house, board_edge="tongued")
    return floor, [board_of(floor, course, **fields) for course in range(1, courses + 1)]


def marks(items):
    return [item["mark"] for item in items]


def test_a_floor_is_recorded_with_its_usual_sizes(client, house):
    storey = factories.StoreyFactory(property=house)

    answer = client.post(
        "/api/v1/floors/",
        {
            "property": house.pk,
            "storey": storey.pk,
            "name": "Back parlour",
            "outline": [[0, 0], [3600, 0], [3600, 4200], [0, 4200]],
        },
    )

    assert answer.status_code == 201
    assert answer.json()["outline"][-1] == [0, 0]
    assert answer.json()["joist_centres_mm"] == 400
    assert answer.json()["board_edge"] == "square"


@pytest.mark.parametrize(
    ("field", "size"),
    [
        ("board_cover_width_mm", 0),
        ("board_thickness_mm", 0),
        ("joist_centres_mm", 0),
        ("joist_breadth_mm", 0),
        ("joist_depth_mm", 9999),
        ("boards_run_deg", 180),
    ],
)
def test_a_floor_of_an_impossible_size_is_refused(client, house, field, size):
    floor = factories.FloorFactory(property=house)

    answer = client.patch(f"/api/v1/floors/{floor.pk}/", {field: size})

    floor.refresh_from_db()
    assert answer.status_code == 400
    assert getattr(floor, field) != size


def test_a_negative_size_is_pointed_at(client, house):
    floor = factories.FloorFactory(property=house)

    answer = client.patch(f"/api/v1/floors/{floor.pk}/", {"void_depth_mm": -1})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/void_depth_mm"


def test_two_floors_of_a_house_do_not_share_a_name(client, house):
    floor = factories.FloorFactory(property=house, name="Hall")
    other = factories.FloorFactory(property=house)

    answer = client.patch(f"/api/v1/floors/{other.pk}/", {"name": floor.name})

    assert answer.status_code == 400
    assert "already" in answer.json()["detail"]


def test_a_floor_with_boards_is_not_removed(client, house):
    board = factories.BoardFactory(floor__property=house)

    answer = client.delete(f"/api/v1/floors/{board.floor_id}/")

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#in-use")
    assert "board" in answer.json()["detail"]


def test_square_boards_come_up_without_their_neighbours(client, house):
    floor = factories.FloorFactory(property=house)
    boards = [board_of(floor, course) for course in (1, 2, 3)]

    answer = client.get(f"/api/v1/floors/{floor.pk}/lifting/", {"boards": boards[0].pk})

    assert answer.status_code == 200
    assert marks(answer.json()["order"]) == ["B1.1"]
    assert answer.json()["extra"] == []
    assert answer.json()["sentence"] == "Lift B1.1."


def test_the_next_courses_of_a_tongued_floor_come_up_first(client, house):
    floor, boards = tongued_floor(house)

    answer = client.get(f"/api/v1/floors/{floor.pk}/lifting/", {"boards": boards[0].pk})

    assert marks(answer.json()["order"]) == ["B3.1", "B2.1", "B1.1"]
    assert marks(answer.json()["extra"]) == ["B2.1", "B3.1"]
    assert marks(answer.json()["cut"]) == ["B1.1"]


def test_lifting_warns_of_boards_under_a_partition(client, house):
    floor, board = floor_with_a_partition(house)

    answer = client.get(f"/api/v1/floors/{floor.pk}/lifting/", {"boards": board.pk})

    assert marks(answer.json()["trapped"]) == [board.mark]
    assert "partition" in answer.json()["sentence"]


def floor_with_a_partition(house):
    """Two rooms side by side, 100 mm apart, over one board along both."""
    floor = factories.FloorFactory(
        property=house, outline=[[0, 0], [3000, 0], [3000, 4000], [0, 4000]]
    )
    for name, left, right in (("Hall", 0, 1400), ("Parlour", 1500, 3000)):
        factories.RoomFactory(
            property=house,
            storey=floor.storey,
            name=name,
            outline=[[left, 0], [right, 0], [right, 4000], [left, 4000]],
        )
    return floor, board_of(floor, 1)


def test_a_tongued_board_waits_for_the_course_it_is_pushed_over(client, house):
    floor, boards = tongued_floor(house, state="up")

    answer = client.get(
        f"/api/v1/floors/{floor.pk}/laying/",
        {"boards": f"{boards[0].pk},{boards[1].pk},{boards[2].pk}", "held": boards[1].pk},
    )

    assert marks(answer.json()["order"]) == ["B1.1"]
    assert [(w["mark"], marks(w["waits_for"])) for w in answer.json()["waiting"]] == [
        ("B3.1", ["B2.1"])
    ]


@pytest.mark.parametrize("ids", ["", "abc", "1.5", "999999", ",", "1,,2", "²"])
def test_only_boards_of_the_floor_can_be_asked_about(client, house, ids):
    floor, _ = tongued_floor(house)

    answers = [
        client.get(f"/api/v1/floors/{floor.pk}/{question}/", {"boards": ids})
        for question in ("lifting", "laying")
    ]

    assert [answer.status_code for answer in answers] == [400, 400]
    assert all(a.json()["errors"][0]["pointer"] == "/boards" for a in answers)


def test_a_board_of_another_floor_is_not_of_this_one(client, house):
    floor, _ = tongued_floor(house)
    elsewhere = factories.BoardFactory(floor__property=house)

    answer = client.get(f"/api/v1/floors/{floor.pk}/lifting/", {"boards": elsewhere.pk})

    assert answer.status_code == 400
