"""Inspections over HTTP: due, notified, booked. Signing off is in test_sign_offs.py."""

import pytest

from apps.property.outlines import rectangle
from tests import factories
from tests.api.asking import ago, ahead, ids, is_problem, queries_of_list, refuses

INSPECTIONS = "/api/v1/inspections/"


def look(house, **fields):
    return factories.InspectionFactory(property=house, **fields)


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def post(client, inspection, step, body=None):
    return client.post(f"{INSPECTIONS}{inspection.pk}/{step}/", body or {})


def times(starts, ends):
    return {"starts": starts.isoformat(), "ends": ends.isoformat()}


def test_an_inspection_blocks_some_tasks_and_looks_at_others(client, house):
    repair, lay = task_of(house), task_of(house)
    floor = factories.FloorFactory(property=house)

    answer = client.post(
        INSPECTIONS,
        {
            "property": house.pk, "title": "Joist ends", "floor": floor.pk,
            "area": rectangle(3000, 500), "looks_at": [repair.pk], "blocks": [lay.pk],
            "notice_working_days": 2,
        },
    )  # fmt: skip

    made = answer.json()
    assert answer.status_code == 201
    assert (made["state"], made["blocks"], made["looks_at"]) == ("due", [lay.pk], [repair.pk])


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"by": "a neighbour"}, "/by", "not a valid choice"),
        ({"minutes": 14}, "", "15 to 480 minutes"),
        ({"minutes": 481}, "", "15 to 480 minutes"),
        ({"notice_working_days": 61}, "", "at most 60 working days"),
        ({"visiting_from": "16:00"}, "", "end after they begin"),
        ({"area": rectangle(500, 500)}, "", "which floor the area is on"),
        ({"blocks": [987654321]}, "/blocks", "does not exist"),
    ],
)
def test_what_no_inspection_can_be_is_refused(client, house, changes, pointer, words):
    assert refuses(client.patch(f"{INSPECTIONS}{look(house).pk}/", changes), pointer, words)


def test_an_area_beyond_its_floor_is_refused(client, house):
    floor = factories.FloorFactory(property=house)

    answer = client.patch(
        f"{INSPECTIONS}{look(house).pk}/", {"floor": floor.pk, "area": rectangle(9000, 500)}
    )

    assert refuses(answer, "/area", "reaches 6000 mm past")


@pytest.mark.parametrize("first", ["blocks", "looks_at"])
def test_a_task_does_not_wait_for_the_look_at_its_own_result(client, house, first):
    task, inspection = task_of(house, title="Lay"), look(house)
    second = {"blocks": "looks_at", "looks_at": "blocks"}[first]
    client.patch(f"{INSPECTIONS}{inspection.pk}/", {first: [task.pk]})

    answer = client.patch(f"{INSPECTIONS}{inspection.pk}/", {second: [task.pk]})

    assert refuses(answer, "/blocks", "Lay cannot wait for the look at its own result.")


@pytest.mark.parametrize("field", ["blocks", "looks_at", "rooms"])
def test_an_inspection_stays_in_one_house(client, house, field):
    second = factories.MemberFactory(user=house.owner, role="owner").property
    theirs = factories.RoomFactory(property=second) if field == "rooms" else task_of(second)

    answer = client.patch(f"{INSPECTIONS}{look(house).pk}/", {field: [theirs.pk]})

    assert refuses(answer, f"/{field}", "another house")


def test_notice_is_given_and_a_time_booked_and_moved(client, house):
    inspection = look(house)

    notified = post(client, inspection, "notify", {"at": ago(20).isoformat()})
    booked = post(client, inspection, "book", times(ahead(40), ahead(41)))
    moved = post(client, inspection, "book", times(ahead(50), ahead(51)))

    states = [answer.json()["state"] for answer in (notified, booked, moved)]
    assert states == ["notified", "booked", "booked"]
    assert moved.json()["notified_at"] == ago(20).isoformat().replace("+00:00", "Z")
    assert moved.json()["booked_starts"] == ahead(50).isoformat().replace("+00:00", "Z")


def test_a_booking_is_undone_back_to_the_notice_and_the_notice_back_to_due(client, house):
    inspection = look(house)
    post(client, inspection, "notify")
    post(client, inspection, "book", times(ahead(40), ahead(41)))

    unbooked = post(client, inspection, "unbook")
    withdrawn = post(client, inspection, "withdraw-notice")

    assert (unbooked.json()["state"], unbooked.json()["booked_starts"]) == ("notified", None)
    assert (withdrawn.json()["state"], withdrawn.json()["notified_at"]) == ("due", None)


def test_a_booking_without_a_notice_is_undone_back_to_due(client, house):
    inspection = look(house)
    post(client, inspection, "book", times(ahead(40), ahead(41)))

    assert post(client, inspection, "unbook").json()["state"] == "due"


def test_a_rejected_inspection_can_be_notified_and_booked_again(client, house):
    inspection = look(house, state="rejected")

    post(client, inspection, "notify")
    answer = post(client, inspection, "book", times(ahead(40), ahead(41)))

    assert answer.json()["state"] == "booked"


@pytest.mark.parametrize(
    ("state", "step", "allowed"),
    [
        ("due", "unbook", ["notify", "book"]),
        ("accepted", "book", []),
        ("accepted_with_conditions", "notify", []),
        ("rejected", "unbook", ["notify", "book"]),
    ],
)
def test_a_step_that_is_not_possible_names_those_that_are(client, house, state, step, allowed):
    inspection = look(house, title="Joist ends", state=state)

    answer = post(client, inspection, step, times(ahead(1), ahead(2)))

    inspection.refresh_from_db()
    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["allowed"] == allowed
    assert "Joist ends is " + state.replace("_", " ") in answer.json()["detail"]
    assert (inspection.state, inspection.version) == (state, 1)


def test_a_booking_ends_after_it_starts(client, house):
    answer = post(client, look(house), "book", times(ahead(2), ahead(1)))

    assert refuses(answer, "/ends", "ends after it starts")


def test_the_state_is_never_written_directly(client, house):
    answer = client.patch(f"{INSPECTIONS}{look(house).pk}/", {"state": "accepted"})

    assert answer.json()["state"] == "due"


@pytest.mark.parametrize(
    "changes",
    [
        {"title": "Joist tops"},
        {"by": "engineer"},
        {"note": "Seen from below"},
        {"required_evidence": [{"key": "ends", "title": "Each joist end"}]},
    ],
)
def test_what_somebody_signed_stays_as_it_was_signed(client, house, changes):
    seen = factories.SignOffFactory(inspection=look(house, title="Joist ends")).inspection

    answer = client.patch(f"{INSPECTIONS}{seen.pk}/", {"reference": "BC/17", **changes})

    assert is_problem(answer, 409, "seen-already")
    assert "Joist ends was signed already" in answer.json()["detail"]
    assert [row["pointer"] for row in answer.json()["errors"]] == [f"/{name}" for name in changes]
    seen.refresh_from_db()
    assert (seen.version, seen.title, seen.reference) == (1, "Joist ends", "")


@pytest.mark.parametrize("field", ["looks_at", "blocks", "rooms"])
def test_what_was_signed_is_about_the_same_tasks_and_rooms_for_good(client, house, field):
    first, second = task_of(house), task_of(house)
    if field == "rooms":
        first, second = (factories.RoomFactory(property=house) for _ in range(2))
    seen = factories.SignOffFactory(inspection=look(house)).inspection
    getattr(seen, field).set([first])

    same = client.patch(f"{INSPECTIONS}{seen.pk}/", {field: [first.pk]})
    other = client.patch(f"{INSPECTIONS}{seen.pk}/", {field: [second.pk]})

    assert same.status_code == 200
    assert is_problem(other, 409, "seen-already")
    assert list(getattr(seen, field).all()) == [first]


def test_a_case_number_may_come_after_the_sign_off(client, house):
    seen = factories.SignOffFactory(inspection=look(house, title="Joist ends")).inspection

    answer = client.patch(f"{INSPECTIONS}{seen.pk}/", {"reference": "BC/17", "title": "Joist ends"})

    assert answer.status_code == 200
    assert answer.json()["reference"] == "BC/17"


def test_a_strangers_inspection_takes_no_step(client, house):
    theirs = factories.InspectionFactory()

    steps = ("notify", "withdraw-notice", "book", "unbook")
    assert {post(client, theirs, step).status_code for step in steps} == {404}


def test_inspections_are_filtered_by_state_task_and_time(client, house):
    task, room = task_of(house), factories.RoomFactory(property=house)
    due = look(house)
    due.blocks.add(task)
    due.rooms.add(room)
    booked = look(house, state="booked", booked_starts=ahead(40), booked_ends=ahead(41))

    assert ids(client.get(INSPECTIONS, {"state": "due"})) == [due.pk]
    assert ids(client.get(INSPECTIONS, {"blocks": task.pk, "rooms": room.pk})) == [due.pk]
    assert ids(client.get(INSPECTIONS, {"booked_starts__gte": ahead(1).isoformat()})) == [booked.pk]


def test_inspections_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            inspection = look(house, floor=factories.FloorFactory(property=house))
            inspection.blocks.add(task_of(house))
            inspection.looks_at.add(task_of(house))
            inspection.rooms.add(factories.RoomFactory(property=house))

    make(2)
    few = queries_of_list(client, INSPECTIONS)
    make(18)

    assert queries_of_list(client, INSPECTIONS) == few
