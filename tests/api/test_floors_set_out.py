"""Setting a floor out over HTTP, and setting it out again."""

from datetime import UTC, datetime

import pytest

from apps.floors import services
from apps.floors.models import Board, Joist
from tests import factories

WHOLE = {"max_board_length_mm": 2400}


def at(floor, **query):
    words = "&".join(f"{name}={value}" for name, value in query.items())
    return f"/api/v1/floors/{floor.pk}/set-out/{'?' + words if words else ''}"


def test_joists_and_boards_are_laid_over_the_outline(client, house):
    floor = factories.FloorFactory(property=house, strength_class="C16")

    answer = client.post(at(floor), WHOLE)

    floor.refresh_from_db()
    boards, joists = floor.boards.all(), floor.joists.all()
    assert answer.status_code == 201
    assert answer["ETag"] == f'"{floor.version}"' == '"2"'
    assert [j["mark"] for j in answer.json()["joists"]] == [j.mark for j in joists]
    assert {b["mark"] for b in answer.json()["boards"]} == {b.mark for b in boards}
    assert {(j.breadth_mm, j.depth_mm, j.strength_class) for j in joists} == {(50, 150, "C16")}
    assert {board.state for board in boards} == {"fixed"}
    assert sum(area_mm2(board.outline) for board in boards) == 3000 * 4000


def area_mm2(ring):
    """Of a rectangle along the axes."""
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return (max(xs) - min(xs)) * (max(ys) - min(ys))


def test_every_board_that_was_set_out_is_supported(client, house):
    floor = factories.FloorFactory(property=house)
    client.post(at(floor), WHOLE)

    boards = client.get("/api/v1/boards/", {"floor": floor.pk, "page_size": 200}).json()

    assert boards["count"] == len(boards["results"]) > 27
    assert [board["support"] for board in boards["results"] if not board["supported"]] == []


def test_the_first_joist_and_the_first_course_start_where_they_are_told_to(client, house):
    floor = factories.FloorFactory(property=house)

    laid = client.post(
        at(floor), {"first_joist_mm": 120, "first_board_mm": 90, "max_board_length_mm": 3000}
    ).json()

    first_course = [board for board in laid["boards"] if board["course"] == 1]
    assert laid["corner"] == [0, 0]
    assert laid["joists"][0]["line"] == [[120, 0], [120, 4000]]
    assert {max(y for _, y in board["outline"]) for board in first_course} == {90}


def test_a_preview_says_the_same_and_changes_nothing(client, house):
    floor = factories.FloorFactory(property=house)

    preview = client.post(at(floor, dry_run=1), WHOLE)
    nothing = (
        floor.joists.count(),
        floor.boards.count(),
        client.get(f"/api/v1/floors/{floor.pk}/"),
    )
    laid = client.post(at(floor), WHOLE)

    assert preview.status_code == 200
    assert nothing[:2] == (0, 0)
    assert nothing[2]["ETag"] == '"1"'
    assert preview.json() == laid.json()


def test_a_floor_without_history_is_set_out_anew(client, house):
    floor = factories.FloorFactory(property=house)
    client.post(at(floor), WHOLE)
    before = set(floor.boards.values_list("pk", flat=True))

    answer = client.post(at(floor), {"max_board_length_mm": 3600})

    assert answer.status_code == 201
    assert before.isdisjoint(floor.boards.values_list("pk", flat=True))
    assert floor.boards.count() == len(answer.json()["boards"])


@pytest.mark.parametrize("dry_run", [0, 1])
def test_a_floor_with_history_is_not_set_out_again(client, house, dry_run):
    floor = factories.FloorFactory(property=house)
    board = factories.BoardFactory(floor=floor, mark="B7.1")
    for state in ("up", "fixed"):
        services.move_boards(
            boards=[board], to_state=state, moved_at=datetime(2026, 3, 2, tzinfo=UTC),
            note="", moved_by=house.owner,
        )  # fmt: skip

    answer = client.post(at(floor, dry_run=dry_run), WHOLE)

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#floor-has-history")
    assert "B7.1 was moved" in answer.json()["detail"]
    assert list(floor.boards.all()) == [board]


@pytest.mark.parametrize(
    "noted",
    [
        {"condition": "suspect"},
        {"decayed": [{"from_mm": 0, "to_mm": 300}]},
        {"cuts": [{"kind": "notch", "edge": "top", "at_mm": 900, "size_mm": 40, "depth_mm": 30}]},
        {"bearings": [{"kind": "wall_plate", "at_mm": 0, "length_mm": 75}]},
    ],
    ids=lambda noted: next(iter(noted)),
)
def test_what_was_seen_on_a_joist_is_not_lost(client, house, noted):
    floor = factories.FloorFactory(property=house)
    factories.JoistFactory(floor=floor, mark="J4", **noted)

    answer = client.post(at(floor), WHOLE)

    assert answer.status_code == 409
    assert "J4" in answer.json()["detail"]
    assert floor.joists.count() == 1


def test_a_solid_floor_has_nothing_to_set_out(client, house):
    floor = factories.FloorFactory(property=house, construction="solid")

    answer = client.post(at(floor), WHOLE)

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#floor-is-solid")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/max_board_length_mm"),
        ({"max_board_length_mm": 0}, "/max_board_length_mm"),
        ({"max_board_length_mm": 200}, "/max_board_length_mm"),
        ({"max_board_length_mm": 2400, "first_joist_mm": 401}, "/first_joist_mm"),
        ({"max_board_length_mm": 2400, "first_joist_mm": -1}, "/first_joist_mm"),
        ({"max_board_length_mm": 2400, "first_board_mm": 151}, "/first_board_mm"),
        ({"max_board_length_mm": 2400, "first_board_mm": "wide"}, "/first_board_mm"),
    ],
)
def test_a_size_no_floor_has_is_pointed_at(client, house, body, pointer):
    floor = factories.FloorFactory(property=house)

    answer = client.post(at(floor), body)

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert not Board.objects.exists()
    assert not Joist.objects.exists()


def test_an_outline_drawn_in_the_wrong_unit_is_noticed(client, house):
    floor = factories.FloorFactory(
        property=house, outline=[[0, 0], [900_000, 0], [900_000, 900_000], [0, 900_000]]
    )

    answer = client.post(at(floor), WHOLE)

    assert answer.status_code == 400
    assert "check its outline" in answer.json()["detail"]


def test_a_preview_is_asked_for_in_plain_words_or_not_at_all(client, house):
    floor = factories.FloorFactory(property=house)

    answer = client.post(at(floor, dry_run="yes"), WHOLE)

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/dry_run"
    assert floor.boards.count() == 0


def test_a_stale_set_out_is_refused(client, house):
    floor = factories.FloorFactory(property=house)
    client.post(at(floor), WHOLE)

    answer = client.post(at(floor), WHOLE, HTTP_IF_MATCH='"1"')

    assert answer.status_code == 412


def test_a_set_out_sent_twice_is_laid_once(client, house):
    floor = factories.FloorFactory(property=house)

    first = client.post(at(floor), WHOLE, HTTP_IDEMPOTENCY_KEY="lay")
    ids = list(floor.boards.values_list("pk", flat=True))
    again = client.post(at(floor), WHOLE, HTTP_IDEMPOTENCY_KEY="lay")

    assert again.json() == first.json()
    assert list(floor.boards.values_list("pk", flat=True)) == ids
