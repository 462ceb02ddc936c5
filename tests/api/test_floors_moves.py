"""Board moves: the log of what was lifted, laid loose and fixed."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from apps.floors import services
from apps.floors.models import BoardMove, BoardStay
from renovation.errors import Problem
from tests import factories
from tests.api.walk import signed_in

AT = "/api/v1/board-moves/"
MONDAY = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
TUESDAY = MONDAY + timedelta(days=1)


def move(house, boards, to_state="up", at=MONDAY, **fields):
    return services.move_boards(
        boards=boards, to_state=to_state, moved_at=at, moved_by=house.owner,
        **{"note": "", **fields},
    )  # fmt: skip


def boards_of(house, count=2):
    floor = factories.FloorFactory(property=house)
    return [
        factories.BoardFactory(floor=floor, course=n + 1, mark=f"B{n + 1}.1") for n in range(count)
    ]


def stays(board):
    return [(stay.move.to_state, stay.since, stay.until) for stay in board.stays.order_by("since")]


def test_a_lifted_board_is_up_until_it_is_fixed(house):
    (board,) = boards_of(house, 1)

    move(house, [board], "up", MONDAY)
    move(house, [board], "fixed", TUESDAY)

    board.refresh_from_db()
    assert stays(board) == [("up", MONDAY, TUESDAY), ("fixed", TUESDAY, None)]
    assert (board.state, board.version) == ("fixed", 3)


def test_boards_are_moved_together_over_http(client, house):
    boards = boards_of(house)

    answer = client.post(
        AT, {"boards": [b.pk for b in boards], "to_state": "loose", "moved_at": MONDAY.isoformat(),
             "note": "For the night"},
    )  # fmt: skip

    assert answer.status_code == 201, answer.json()
    assert sorted(answer.json()["boards"]) == [board.pk for board in boards]
    assert answer.json()["moved_by"] == house.owner.username
    assert client.get("/api/v1/boards/", {"state": "loose"}).json()["count"] == 2


def test_a_move_without_a_time_happened_now(client, house):
    (board,) = boards_of(house, 1)
    before = timezone.now()

    client.post(AT, {"boards": [board.pk], "to_state": "up"})

    assert before <= BoardMove.objects.get().moved_at <= timezone.now()


def refused(house, *args, **fields):
    with pytest.raises(Problem) as caught, transaction.atomic():
        move(house, *args, **fields)
    return caught.value


def test_a_board_cannot_move_before_its_last_move(house):
    boards = boards_of(house)
    house.timezone = "Europe/Madrid"
    house.save()
    move(house, [boards[1]], "up", TUESDAY)

    problem = refused(house, boards, "missing", at=MONDAY)

    assert problem.code == "board-moved-later"
    assert problem.detail == "B2.1 was moved on 03 Mar 2026 at 20:00, after this."
    assert problem.errors[0]["pointer"] == "/moved_at"
    assert stays(boards[0]) == []


def test_two_moves_may_be_noted_for_the_same_minute(house):
    (board,) = boards_of(house, 1)

    move(house, [board], "up", MONDAY)
    move(house, [board], "loose", MONDAY)

    assert [state for state, _, _ in stays(board)] == ["up", "loose"]


def test_what_has_yet_to_happen_is_not_noted(house):
    (board,) = boards_of(house, 1)

    problem = refused(house, [board], at=timezone.now() + timedelta(minutes=30))

    assert (problem.status_code, problem.errors[0]["pointer"]) == (400, "/moved_at")


def test_a_phone_whose_clock_is_fast_is_believed(house):
    (board,) = boards_of(house, 1)

    move(house, [board], at=timezone.now() + timedelta(minutes=2))

    board.refresh_from_db()
    assert board.state == "up"


def test_a_board_that_is_up_is_not_lifted_again(house):
    boards = boards_of(house)
    move(house, [boards[0]])

    problem = refused(house, boards, at=TUESDAY)

    boards[1].refresh_from_db()
    assert problem.code == "board-in-state"
    assert problem.detail == "B1.1 is up already."
    assert boards[1].state == "fixed"


@pytest.mark.parametrize("twice", [True, False])
def test_boards_are_named_once_and_there_is_at_least_one(client, house, twice):
    (board,) = boards_of(house, 1)

    answer = client.post(AT, {"boards": [board.pk] * 2 if twice else [], "to_state": "up"})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/boards"


def test_the_log_itself_takes_no_board_twice_and_no_empty_move(house):
    (board,) = boards_of(house, 1)

    assert refused(house, [board, board]).detail == "B1.1 is named twice."
    assert refused(house, []).detail == "Say which boards."


def test_boards_of_two_floors_are_moved_apart(client, house):
    boards = boards_of(house, 1) + boards_of(house, 1)

    answer = client.post(AT, {"boards": [b.pk for b in boards], "to_state": "up"})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/boards"


def trapped_board(house):
    """Under the partition between a hall and a parlour, 100 mm apart."""
    (board,) = boards_of(house, 1)
    for name, left, right in (("Hall", 0, 1400), ("Parlour", 1500, 3000)):
        factories.RoomFactory(
            property=house, storey=board.floor.storey, name=name,
            outline=[[left, 0], [right, 0], [right, 4000], [left, 4000]],
        )  # fmt: skip
    return board


def test_a_trapped_board_is_not_lifted_without_a_reason(house):
    board = trapped_board(house)

    problem = refused(house, [board])

    assert (problem.code, problem.status_code) == ("board-trapped", 409)
    assert problem.detail.startswith("B1.1 is under the partition between Hall and Parlour.")


def test_a_trapped_board_is_lifted_with_a_reason_that_is_kept(client, house):
    board = trapped_board(house)

    answer = client.post(
        AT, {"boards": [board.pk], "to_state": "up", "force_reason": "Sawn beside the plate"}
    )

    assert answer.status_code == 201, answer.json()
    assert (
        client.get(f"{AT}{answer.json()['id']}/").json()["force_reason"] == "Sawn beside the plate"
    )


def test_a_trapped_board_may_be_fixed_down_as_it_lies(house):
    board = trapped_board(house)
    move(house, [board], "up", MONDAY, forced_reason="Sawn")

    move(house, [board], "fixed", TUESDAY)

    board.refresh_from_db()
    assert board.state == "fixed"


def test_a_slip_is_taken_back_by_another_move(client, house):
    boards = boards_of(house, 3)
    move(house, [boards[0]], "loose", MONDAY)
    slip = move(house, boards, "up", TUESDAY)

    answer = client.post(f"{AT}{slip.pk}/undo/")

    states = {board.mark: board.state for board in boards[0].floor.boards.all()}
    assert answer.status_code == 201, answer.json()
    assert [(m["to_state"], len(m["boards"])) for m in answer.json()] == [
        ("fixed", 2),
        ("loose", 1),
    ]
    assert states == {"B1.1": "loose", "B2.1": "fixed", "B3.1": "fixed"}
    assert BoardMove.objects.filter(pk=slip.pk).exists()


def test_taking_back_and_taking_that_back_ends_where_it_began(client, house):
    (board,) = boards_of(house, 1)
    slip = move(house, [board], "up", MONDAY)

    (back,) = client.post(f"{AT}{slip.pk}/undo/").json()
    client.post(f"{AT}{back['id']}/undo/")

    assert [state for state, _, _ in stays(board)] == ["up", "fixed", "up"]


def test_a_move_that_others_followed_is_not_taken_back(client, house):
    boards = boards_of(house)
    first = move(house, boards, "up", MONDAY)
    move(house, [boards[1]], "loose", TUESDAY)

    answer = client.post(f"{AT}{first.pk}/undo/")

    assert answer.status_code == 409
    assert answer.json()["type"].endswith("#move-not-last")
    assert "B2.1" in answer.json()["detail"]


def test_moves_are_found_by_board_and_time(client, house):
    boards = boards_of(house)
    first = move(house, [boards[0]], "up", MONDAY)
    move(house, [boards[1]], "up", TUESDAY)

    by_board = client.get(AT, {"board": boards[0].pk}).json()["results"]
    by_time = client.get(AT, {"moved_at__lte": MONDAY.isoformat()}).json()["results"]

    assert [m["id"] for m in by_board] == [m["id"] for m in by_time] == [first.pk]


def test_moving_120_boards_takes_no_more_queries_than_moving_two(house, client):
    from django.test.utils import CaptureQueriesContext

    counts = []
    for count in (2, 120):
        boards = boards_of(house, count)
        with CaptureQueriesContext(connection) as caught:
            answer = client.post(AT, {"boards": [b.pk for b in boards], "to_state": "up"})
        assert answer.status_code == 201
        counts.append(len(caught))

    assert counts[0] == counts[1]


def test_a_helper_is_named_in_the_log_as_the_one_who_moved(house):
    helper = factories.MemberFactory(property=house, role="helper").user
    (board,) = boards_of(house, 1)

    answer = signed_in(helper).post(AT, {"boards": [board.pk], "to_state": "up"})

    assert answer.json()["moved_by"] == helper.username


@pytest.mark.parametrize(
    "statement",
    ["UPDATE floors_boardmove SET note = 'never'", "DELETE FROM floors_boardmove"],
)
def test_the_database_itself_refuses_to_alter_the_log(house, statement):
    BoardMove.objects.create(
        floor=factories.FloorFactory(property=house), to_state="up", moved_at=MONDAY,
        moved_by=house.owner,
    )  # fmt: skip

    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)

    assert BoardMove.objects.get().note == ""


def test_a_board_has_one_open_stay(house):
    (board,) = boards_of(house, 1)
    made = move(house, [board])

    with pytest.raises(IntegrityError), transaction.atomic():
        BoardStay.objects.create(board=board, move=made, since=TUESDAY)
