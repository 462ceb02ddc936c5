"""Boards over HTTP: where they lie, whether they are trapped, whether they are carried."""

from tests import factories


def floor_with_joists(house, count=8):
    """3 × 4 m, joists at 400 mm along y from x = 100."""
    floor = factories.FloorFactory(property=house)
    joists = [
        factories.JoistFactory(
            floor=floor, mark=f"J{n + 1}", line=[[100 + 400 * n, 0], [100 + 400 * n, 4000]]
        )
        for n in range(count)
    ]
    return floor, joists


def two_rooms(house, floor):
    """A hall and a parlour with 100 mm between them at x = 1400 to 1500."""
    for name, left, right in (("Hall", 0, 1400), ("Parlour", 1500, 3000)):
        factories.RoomFactory(
            property=house,
            storey=floor.storey,
            name=name,
            outline=[[left, 0], [right, 0], [right, 4000], [left, 4000]],
        )


def board_of(floor, course=1):
    return factories.BoardFactory(floor=floor, course=course, mark=f"B{course}.1")


def test_a_board_on_sound_joists_is_supported(client, house):
    floor, _ = floor_with_joists(house)
    board = board_of(floor)

    answer = client.get(f"/api/v1/boards/{board.pk}/").json()

    assert answer["supported"] is True
    assert answer["support"] == "B1.1 rests on J1, J2, J3, J4, J5, J6, J7 and J8."
    assert answer["trapped"] is False


def test_a_board_over_missing_joists_is_not_supported_and_says_why(client, house):
    floor, joists = floor_with_joists(house)
    board = board_of(floor)
    for joist in joists[1:]:
        client.patch(f"/api/v1/joists/{joist.pk}/", {"condition": "missing"})

    answer = client.get(f"/api/v1/boards/{board.pk}/").json()

    assert answer["supported"] is False
    assert answer["support"].startswith("B1.1 rests on one sound joist only, J1.")


def test_a_board_under_a_partition_is_trapped(client, house):
    floor, _ = floor_with_joists(house)
    two_rooms(house, floor)
    board = board_of(floor)

    assert client.get(f"/api/v1/boards/{board.pk}/").json()["trapped"] is True


def test_a_board_in_the_doorway_of_a_partition_is_free(client, house):
    floor, _ = floor_with_joists(house)
    two_rooms(house, floor)
    hall, parlour = floor.storey.rooms.order_by("name")
    client.post(
        "/api/v1/doorways/",
        {"property": house.pk, "room_a": hall.pk, "room_b": parlour.pk,
         "line": [[1450, 0], [1450, 800]]},
    )  # fmt: skip
    in_doorway, beside_it = board_of(floor, 2), board_of(floor, 12)

    trapped = {
        board.pk: client.get(f"/api/v1/boards/{board.pk}/").json()["trapped"]
        for board in (in_doorway, beside_it)
    }

    assert trapped == {in_doorway.pk: False, beside_it.pk: True}


def test_a_room_of_another_storey_traps_nothing(client, house):
    floor, _ = floor_with_joists(house)
    upstairs = factories.FloorFactory(
        property=house, storey=factories.StoreyFactory(property=house, level=1)
    )
    two_rooms(house, upstairs)
    board = board_of(floor)

    assert client.get(f"/api/v1/boards/{board.pk}/").json()["trapped"] is False


def test_the_state_of_a_board_cannot_be_written_past_the_log(client, house):
    board = board_of(factories.FloorFactory(property=house))

    answer = client.patch(f"/api/v1/boards/{board.pk}/", {"state": "up"})

    board.refresh_from_db()
    assert answer.json()["state"] == "fixed"
    assert board.state == "fixed"


def test_the_etag_of_a_board_changes_when_it_loses_its_joists(client, house):
    floor, joists = floor_with_joists(house)
    board = board_of(floor)
    before = client.get(f"/api/v1/boards/{board.pk}/")
    client.patch(f"/api/v1/joists/{joists[3].pk}/", {"condition": "missing"})

    after = client.get(f"/api/v1/boards/{board.pk}/", HTTP_IF_NONE_MATCH=before["ETag"])
    change = client.patch(
        f"/api/v1/boards/{board.pk}/", {"mark": "B1.9"}, HTTP_IF_MATCH=before["ETag"]
    )

    assert after.status_code == 200
    assert after["ETag"] != before["ETag"]
    # Nobody wrote to the board itself, so nobody's write would be lost.
    assert change.status_code == 200


def test_boards_of_many_floors_take_as_many_queries_as_those_of_one(
    client, house, django_assert_num_queries
):
    for _ in range(3):
        floor, _ = floor_with_joists(house, count=3)
        two_boards = [board_of(floor, course) for course in (1, 2)]
    factories.RoomFactory(property=house, storey=floor.storey)

    # Count, page, and the five that the geometry reads: floors, boards, joists, rooms, doorways.
    with django_assert_num_queries(7):
        many = client.get("/api/v1/boards/").json()
    with django_assert_num_queries(8):  # also whether the filter names a floor of ours
        one = client.get("/api/v1/boards/", {"floor": floor.pk}).json()

    assert (many["count"], one["count"]) == (6, len(two_boards))


def test_boards_are_found_by_state(client, house):
    floor = factories.FloorFactory(property=house)
    up = factories.BoardFactory(floor=floor, state="up")
    factories.BoardFactory(floor=floor)

    found = client.get("/api/v1/boards/", {"state": "up"}).json()

    assert [board["id"] for board in found["results"]] == [up.pk]


def test_a_course_counts_from_one(client, house):
    board = board_of(factories.FloorFactory(property=house))

    answer = client.patch(f"/api/v1/boards/{board.pk}/", {"course": 0})

    assert answer.status_code == 400
    assert "count from 1" in answer.json()["detail"]
