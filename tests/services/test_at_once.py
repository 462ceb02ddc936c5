"""Several clients at once, on several web processes: PostgreSQL, and SQLite's one file."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest

from tests.installation import until

CLIENTS = 6


@pytest.fixture(params=["grown", "small"])
def service(request):
    return request.getfixturevalue(request.param)


def at_once(*requests):
    """Send all at the same moment; the answers in their order."""
    start = Barrier(len(requests))

    def send(request):
        start.wait()
        return request()

    with ThreadPoolExecutor(len(requests)) as pool:
        return list(pool.map(send, requests))


def room(house, name):
    return {
        "property": house["property"], "storey": house["storey"], "name": name,
        "width_mm": 2000, "length_mm": 3000,
    }  # fmt: skip


def test_one_key_sent_by_many_at_once_is_done_once_and_answered_alike(service):
    house = service.seed()
    key = f"scullery-{house['property']}"

    answers = at_once(*[lambda: service.post("rooms/", room(house, "Scullery"), key)] * CLIENTS)

    assert [answer.status for answer in answers] == [201] * CLIENTS
    assert len({answer.text for answer in answers}) == 1
    replayed = Counter(answer.headers["Idempotency-Replayed"] for answer in answers)
    assert replayed == {None: 1, "true": CLIENTS - 1}
    kept = service.get(f"rooms/?property={house['property']}").json()["results"]
    assert [row["name"] for row in kept].count("Scullery") == 1


def test_one_board_moved_by_two_at_once_is_open_in_one_place(service):
    house = service.seed()
    boards = house["boards"][:3]

    def move(state, ids):
        return lambda: service.post("board-moves/", {"boards": ids, "to_state": state})

    answers = [
        *at_once(move("up", boards), move("up", boards[::-1]), move("loose", boards)),
        *at_once(move("fixed", boards), move("fixed", boards[::-1]), move("up", boards)),
    ]

    assert {answer.status for answer in answers} <= {201, 409}
    assert 201 in {answer.status for answer in answers[:3]}
    found = service.installation.run(
        "from apps.floors.models import Board\n"
        f"answer = [[b.state, [s.move.to_state for s in b.stays.filter(until=None)]]"
        f" for b in Board.objects.filter(pk__in={boards})]"
    )
    assert len(found) == 3
    assert [stays for _, stays in found] == [[state] for state, _ in found]


def test_of_two_who_change_the_same_version_one_is_told_so(service):
    house = service.seed()
    path = f"rooms/{house['room']}/"

    answers = at_once(
        *(
            lambda name=name: service.patch(path, {"name": name}, '"1"')
            for name in ("Parlour", "Snug")
        )
    )

    assert sorted(answer.status for answer in answers) == [200, 412]
    [told] = [answer for answer in answers if answer.status == 412]
    [kept] = [answer for answer in answers if answer.status == 200]
    assert told.json()["current"]["name"] == kept.json()["name"]
    assert service.get(path).json()["version"] == 2


def test_of_two_owners_who_step_down_at_once_one_stays(service):
    house = service.seed()
    first, second = service.installation.run(
        "from django.contrib.auth.models import User\n"
        "from apps.property.models import Member\n"
        f"owner = Member.objects.get(property={house['property']}, role='owner')\n"
        f"other = User.objects.create(username='heir-{house['property']}')\n"
        f"heir = Member.objects.create(property_id={house['property']}, user=other, role='owner')\n"
        "answer = [owner.pk, heir.pk]"
    )

    answers = at_once(
        *(
            lambda key=key: service.patch(f"members/{key}/", {"role": "helper"}, '"1"')
            for key in (first, second)
        )
    )

    owners = service.installation.run(
        "from apps.property.models import Member\n"
        f"answer = Member.objects.filter(property={house['property']}, role='owner').count()"
    )
    assert owners == 1
    assert min(answer.status for answer in answers) == 200
    # Whoever comes second is the last owner by then, or asks as a helper.
    assert max(answer.status for answer in answers) in {403, 409}


def test_many_writers_at_once_all_get_through(service):
    house = service.seed()
    names = [f"Cell {n}" for n in range(4 * CLIENTS)]

    answers = at_once(
        *(lambda name=name: service.post("rooms/", room(house, name)) for name in names)
    )

    assert {answer.status for answer in answers} == {201}
    kept = service.get(f"rooms/?property={house['property']}&page_size=200").json()["results"]
    assert set(names) <= {row["name"] for row in kept}


def test_two_plans_asked_for_in_process_at_once_are_made_one_after_the_other(small):
    """Whoever comes second is told that it is queued; who was first makes it after their own."""
    house = small.seed()
    at = f"plans/?property={house['property']}"

    answers = at_once(
        *[lambda: small.post("plans/", {"property": house["property"], "seconds": 1})] * 2
    )

    assert {answer.status for answer in answers} <= {201, 202}
    assert 201 in {answer.status for answer in answers}
    until(
        lambda: not {"queued", "solving"} & {p["status"] for p in small.get(at).json()["results"]},
        "both to be worked out",
    )
    plans = small.get(at).json()["results"]
    newest = max(plans, key=lambda plan: plan["id"])
    assert [plan["id"] for plan in plans if plan["is_current"]] == [newest["id"]]
    assert {plan["status"] for plan in plans} <= {"ready", "superseded"}
