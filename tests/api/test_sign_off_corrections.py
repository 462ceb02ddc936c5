"""A correction is a new row that supersedes the old one; both stay."""

import pytest

from apps.inspections.models import SignOff
from tests import factories
from tests.api.asking import ago, ids, is_problem, refuses

SIGN_OFFS = "/api/v1/sign-offs/"


def look(house, **fields):
    return factories.InspectionFactory(property=house, **fields)


def post(client, inspection, result="accepted", hours_ago=1, **more):
    return client.post(
        SIGN_OFFS,
        {
            "inspection": inspection.pk, "result": result, "seen_by": "A. Surveyor",
            "seen_at": ago(hours_ago).isoformat(), **more,
        },
    )  # fmt: skip


def correct(client, inspection, wrong, result="rejected", hours_ago=1, **more):
    said = {"supersedes": wrong["id"], "reason": "Wrong box ticked"} | more
    return post(client, inspection, result, hours_ago, **said)


def state(inspection):
    inspection.refresh_from_db()
    return inspection.state


def test_a_correction_decides_and_both_stay_visible(client, house):
    inspection = look(house)
    wrong = post(client, inspection, "accepted").json()

    answer = correct(client, inspection, wrong)

    corrected = client.get(f"{SIGN_OFFS}{wrong['id']}/").json()
    assert answer.status_code == 201
    assert (answer.json()["supersedes"], answer.json()["reason"]) == (
        wrong["id"], "Wrong box ticked",
    )  # fmt: skip
    assert (corrected["superseded_by"], corrected["result"]) == (answer.json()["id"], "accepted")
    assert state(inspection) == "rejected"
    assert len(ids(client.get(SIGN_OFFS))) == 2


def test_a_correction_counts_even_when_the_look_was_earlier_than_first_said(client, house):
    inspection = look(house)
    wrong = post(client, inspection, "rejected", hours_ago=1).json()

    correct(client, inspection, wrong, "accepted", hours_ago=5)

    assert state(inspection) == "accepted"


def test_a_look_that_a_correction_dates_back_lets_the_later_one_decide(client, house):
    inspection = look(house)
    post(client, inspection, "accepted", hours_ago=10)
    wrong = post(client, inspection, "rejected", hours_ago=1).json()

    correct(client, inspection, wrong, "rejected", hours_ago=20)

    assert state(inspection) == "accepted"


def test_a_correction_of_an_earlier_look_leaves_a_new_booking_alone(client, house):
    inspection = look(house)
    early = post(client, inspection, "accepted", hours_ago=20).json()
    post(client, inspection, "rejected", hours_ago=2)
    client.post(f"/api/v1/inspections/{inspection.pk}/notify/")

    correct(client, inspection, early, "rejected", hours_ago=20)

    assert state(inspection) == "notified"


def test_a_correction_to_rejected_holds_boards_again(client, house):
    inspection = look(house)
    need = factories.AccessNeedFactory(
        property=house, trade=None, visit=None, inspection=inspection, until="signed_off"
    )
    wrong = post(client, inspection, "accepted").json()

    correct(client, inspection, wrong)

    need.refresh_from_db()
    assert need.released_at is None


def test_a_reason_is_needed(client, house):
    inspection = look(house)
    wrong = post(client, inspection).json()

    answer = correct(client, inspection, wrong, reason="")

    assert refuses(answer, "", "a correction or an override gives its reason")
    assert SignOff.objects.count() == 1


def test_what_was_corrected_already_is_not_corrected_twice(client, house):
    inspection = look(house)
    wrong = post(client, inspection).json()
    correct(client, inspection, wrong)

    answer = correct(client, inspection, wrong, "accepted")

    assert is_problem(answer, 409, "superseded-already")
    assert "number 1 was corrected already" in answer.json()["detail"]
    assert state(inspection) == "rejected"


def test_a_correction_is_corrected_in_its_turn(client, house):
    inspection = look(house)
    wrong = post(client, inspection).json()
    second = correct(client, inspection, wrong).json()

    answer = correct(client, inspection, second, "accepted")

    assert answer.json()["number"] == 3
    assert state(inspection) == "accepted"


def test_a_look_at_something_else_is_no_correction(client, house):
    wrong = post(client, look(house, title="Drain run")).json()

    answer = correct(client, look(house), wrong)

    assert refuses(answer, "/supersedes", "That was a look at Drain run.")


def test_a_strangers_sign_off_is_not_there_to_be_corrected(client, house):
    theirs = factories.SignOffFactory()

    answer = correct(client, look(house), {"id": theirs.pk})

    assert refuses(answer, "/supersedes", "does not exist")


def test_an_override_is_not_corrected(client, house):
    inspection = look(house)
    override = factories.SignOffFactory(
        inspection=inspection, result="overridden", reason="It rains in",
        task=factories.TaskFactory(package__property=house),
    )  # fmt: skip

    answer = correct(client, inspection, {"id": override.pk})

    assert refuses(answer, "/supersedes", "An override is not corrected")


def test_conditions_of_a_corrected_sign_off_no_longer_count(client, house):
    inspection, task = look(house), factories.TaskFactory(package__property=house)
    asked = [{"text": "Treat the cut ends", "blocks": [task.pk]}]
    wrong = post(client, inspection, "accepted_with_conditions", conditions=asked).json()
    before = client.post(f"/api/v1/tasks/{task.pk}/start/")

    correct(client, inspection, wrong, "accepted")

    assert before.status_code == 409
    assert client.post(f"/api/v1/tasks/{task.pk}/start/").status_code == 200
    assert ids(client.get("/api/v1/conditions/", {"superseded": "false"})) == []
    assert len(ids(client.get("/api/v1/conditions/", {"superseded": "true"}))) == 1


def test_the_etag_of_a_row_changes_when_it_is_corrected(client, house):
    inspection = look(house)
    wrong = post(client, inspection).json()
    before = client.get(f"{SIGN_OFFS}{wrong['id']}/")["ETag"]

    correct(client, inspection, wrong)

    assert client.get(f"{SIGN_OFFS}{wrong['id']}/")["ETag"] != before


@pytest.mark.parametrize(("superseded", "numbers"), [("true", [1]), ("false", [2])])
def test_sign_offs_are_filtered_by_whether_they_stand(client, house, superseded, numbers):
    inspection = look(house)
    correct(client, inspection, post(client, inspection).json())

    rows = client.get(SIGN_OFFS, {"superseded": superseded, "property": house.pk}).json()["results"]

    assert [row["number"] for row in rows] == numbers
