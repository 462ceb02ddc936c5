"""Sign-offs over HTTP: an append-only record that decides an inspection's state."""

import pytest
from django.db import DatabaseError, connection, transaction

from apps.inspections.models import SignOff
from tests import factories
from tests.api.asking import ago, ahead, ids, queries_of_list, refuses

SIGN_OFFS = "/api/v1/sign-offs/"
HOUR_AGO = ago(1)


def look(house, **fields):
    return factories.InspectionFactory(property=house, **fields)


def body_for(inspection, result="accepted", seen_at=HOUR_AGO):
    body = {
        "inspection": inspection.pk, "result": result, "seen_by": "A. Surveyor",
        "seen_at": seen_at.isoformat(),
    }  # fmt: skip
    asked = {"conditions": [{"text": "Treat the cut ends"}]}
    return body | (asked if result == "accepted_with_conditions" else {})


def post(client, inspection, result="accepted", seen_at=HOUR_AGO):
    return client.post(SIGN_OFFS, body_for(inspection, result, seen_at))


def recorded(house, **fields):
    defaults = {"inspection": look(house), "recorded_by": house.owner, "seen_at": ago(1)}
    return factories.SignOffFactory(**defaults | fields)


@pytest.mark.parametrize("result", ["accepted", "accepted_with_conditions", "rejected"])
def test_a_sign_off_decides_the_inspections_state(client, house, result):
    inspection = look(house)

    answer = post(client, inspection, result)

    inspection.refresh_from_db()
    assert answer.status_code == 201
    assert answer.json()["recorded_by"] == house.owner.username
    assert answer.json()["recorded_at"] is not None
    assert (inspection.state, inspection.version) == (result, 2)


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"seen_by": ""}, "/seen_by", "blank"),
        ({"result": "nice"}, "/result", "not a valid choice"),
        ({"seen_at": "2999-01-01T00:00:00Z"}, "/seen_at", "still to come"),
        ({"seen_at": "2026-03-02T10:00:00"}, "/seen_at", "time zone"),
        ({"inspection": 987654321}, "/inspection", "does not exist"),
        ({"result": "overridden"}, "/result", "not a valid choice"),
        ({"reason": "A slip"}, "", "a correction or an override gives its reason"),
        ({"conditions": [{"text": "Treat it"}]}, "/conditions", "Only what is accepted with"),
        ({"result": "accepted_with_conditions"}, "/conditions", "one or more"),
        (
            {"result": "accepted_with_conditions", "conditions": [{"text": ""}]},
            "/conditions/0/text",
            "blank",
        ),
        (
            {"result": "accepted_with_conditions", "conditions": [{"text": "x"}] * 51},
            "/conditions",
            "at most 50",
        ),
    ],
)
def test_a_sign_off_that_makes_no_sense_is_refused(client, house, changes, pointer, words):
    inspection = look(house)

    answer = client.post(SIGN_OFFS, body_for(inspection) | changes)

    inspection.refresh_from_db()
    assert refuses(answer, pointer, words)
    assert inspection.state == "due"
    assert not SignOff.objects.exists()


def test_sign_offs_of_a_house_are_numbered_and_each_carries_the_digest_before_it(client, house):
    other = factories.MemberFactory(user=house.owner, role="owner").property

    first, elsewhere, second = (post(client, look(of)).json() for of in (house, other, house))

    assert [row["number"] for row in (first, elsewhere, second)] == [1, 1, 2]
    assert (first["previous_digest"], elsewhere["previous_digest"]) == ("", "")
    assert second["previous_digest"] == first["digest"]
    assert len({first["digest"], elsewhere["digest"], second["digest"]}) == 3


def test_what_is_said_of_its_place_in_the_chain_is_not_listened_to(client, house):
    own = {"number": 7, "digest": "f" * 64, "previous_digest": "e" * 64, "task": None}

    answer = client.post(SIGN_OFFS, body_for(look(house)) | own)

    assert (answer.json()["number"], answer.json()["previous_digest"]) == (1, "")
    assert answer.json()["digest"] != "f" * 64


def test_a_later_look_decides_and_both_stay(client, house):
    inspection = look(house)
    post(client, inspection, "accepted")

    post(client, inspection, "rejected")

    inspection.refresh_from_db()
    assert inspection.state == "rejected"
    assert SignOff.objects.filter(inspection=inspection).count() == 2


def test_an_earlier_look_typed_in_late_changes_no_state(client, house):
    inspection = look(house)
    post(client, inspection, "accepted", seen_at=ago(2))

    post(client, inspection, "rejected", seen_at=ago(30))

    inspection.refresh_from_db()
    assert inspection.state == "accepted"


def test_after_a_rejection_the_old_notice_and_booking_do_not_count(client, house):
    inspection = look(
        house, state="booked", notified_at=ago(90), booked_starts=ago(2), booked_ends=ago(1)
    )

    post(client, inspection, "rejected")

    inspection.refresh_from_db()
    assert (inspection.notified_at, inspection.booked_starts) == (None, None)


def held_for(house, inspection):
    return factories.AccessNeedFactory(
        property=house, trade=None, visit=None, inspection=inspection, until="signed_off"
    )


def test_acceptance_releases_what_was_held_for_the_look_and_a_rejection_holds_it_again(
    client, house
):
    inspection = look(house)
    need, others = held_for(house, inspection), held_for(house, look(house))

    post(client, inspection, "accepted_with_conditions", seen_at=ago(2))
    need.refresh_from_db()
    released_at = need.released_at
    post(client, inspection, "rejected", seen_at=ago(1))

    need.refresh_from_db()
    others.refresh_from_db()
    assert released_at == ago(2)
    assert need.released_at is None
    assert (others.released_at, others.version) == (None, 1)


def test_an_earlier_rejection_typed_in_late_takes_no_release_back(client, house):
    inspection = look(house)
    need = held_for(house, inspection)
    post(client, inspection, "accepted", seen_at=ago(2))

    post(client, inspection, "rejected", seen_at=ago(30))

    need.refresh_from_db()
    assert need.released_at == ago(2)


def test_a_signed_off_task_starts_and_a_rejected_one_does_not(client, house):
    task, inspection = factories.TaskFactory(package__property=house), look(house)
    inspection.blocks.add(task)

    post(client, inspection, "rejected", seen_at=ago(2))
    too_early = client.post(f"/api/v1/tasks/{task.pk}/start/")
    post(client, inspection, "accepted", seen_at=ago(1))
    started = client.post(f"/api/v1/tasks/{task.pk}/start/")

    assert (too_early.status_code, started.status_code) == (409, 200)


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_a_sign_off_is_never_altered_over_http(client, house, method):
    row = recorded(house)

    answer = getattr(client, method)(f"{SIGN_OFFS}{row.pk}/", {"result": "rejected"})

    assert answer.status_code == 405


@pytest.mark.parametrize(
    "statement",
    ["UPDATE inspections_signoff SET result = 'rejected'", "DELETE FROM inspections_signoff"],
)
def test_the_database_itself_refuses_to_alter_the_record(house, statement):
    row = recorded(house)

    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)

    row.refresh_from_db()
    assert row.result == "accepted"


def test_an_inspection_with_a_sign_off_is_kept(client, house):
    row = recorded(house)

    answer = client.delete(f"/api/v1/inspections/{row.inspection_id}/")

    assert answer.status_code == 409
    assert "sign off" in answer.json()["detail"]


def test_sign_offs_are_filtered_by_inspection_result_and_time(client, house):
    early = recorded(house, seen_at=ago(50))
    late = recorded(house, result="rejected")

    assert ids(client.get(SIGN_OFFS, {"inspection": early.inspection_id})) == [early.pk]
    assert ids(client.get(SIGN_OFFS, {"result": "rejected"})) == [late.pk]
    assert ids(client.get(SIGN_OFFS, {"seen_at__lte": ago(40).isoformat()})) == [early.pk]
    assert ids(client.get(SIGN_OFFS, {"recorded_at__gte": ahead(900).isoformat()})) == []


def test_sign_offs_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            recorded(house, recorded_by=factories.UserFactory())

    make(2)
    few = queries_of_list(client, SIGN_OFFS)
    make(18)

    assert queries_of_list(client, SIGN_OFFS) == few
