"""What is missing before sign-off, and what stands against tasks."""

from datetime import date

from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.inspections import selectors
from tests import factories
from tests.api.walk import viewer_of

ASKED = [{"key": "joist-ends", "title": "Joist ends"}, {"key": "vents", "title": "Vents"}]


def look(house, *blocked, **fields):
    inspection = factories.InspectionFactory(property=house, **fields)
    inspection.blocks.set(blocked)
    return inspection


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def owed(client, house):
    return client.get(f"/api/v1/properties/{house.pk}/owed/").json()["owed"]


def evidence(inspection, requirement):
    return factories.EvidenceFactory(
        property=inspection.property, inspection=inspection, requirement=requirement
    )


def test_a_house_that_owes_nothing_says_so(client, house):
    look(house, state="accepted")

    assert owed(client, house) == []


def test_everything_that_is_missing_is_named_with_a_sentence(client, house):
    due = look(house, title="Joist ends")
    seen = look(house, title="Drain run", state="accepted", required_evidence=ASKED[1:])
    condition = factories.condition(seen, due_on=date(2026, 3, 9), recorded_by=house.owner)
    drafted = factories.DeviationFactory(property=house)
    trade = factories.TradeFactory(property=house, name="Ama Sparks")
    paper = factories.CertificateFactory(property=house, trade=trade, due_on=date(2026, 4, 1))

    assert owed(client, house) == [
        {
            "kind": "hold_point", "id": due.pk,
            "sentence": "“Joist ends” is not signed off; it is due.",
        },
        {
            "kind": "condition", "id": condition.pk,
            "sentence": (
                "The condition “Treat the cut ends” of “Drain run” is open, due 9 Mar 2026."
            ),
        },
        {
            "kind": "evidence", "id": seen.pk,
            "sentence": "“Vents” is not on file for “Drain run”.",
        },
        {
            "kind": "deviation", "id": drafted.pk,
            "sentence": (
                "The deviation “J7: 47 × 150 mm for J7: 50 × 150 mm” is not put to anyone."
            ),
        },
        {
            "kind": "certificate", "id": paper.pk,
            "sentence": (
                "“Electrical installation certificate” from Ama Sparks has not been received, "
                "due 1 Apr 2026."
            ),
        },
    ]  # fmt: skip


def test_each_thing_leaves_the_list_when_it_is_done(client, house):
    inspection = look(house, required_evidence=ASKED)
    paper = factories.CertificateFactory(property=house)
    evidence(inspection, "joist-ends")
    evidence(inspection, "vents")
    factories.SignOffFactory(inspection=inspection, recorded_by=house.owner)
    inspection.change(state="accepted")
    client.post(f"/api/v1/certificates/{paper.pk}/receive/", {"received_on": "2026-03-20"})

    assert owed(client, house) == []


def test_a_deviation_that_was_put_is_still_to_be_decided(client, house):
    row = factories.DeviationFactory(property=house)
    client.post(f"/api/v1/deviations/{row.pk}/put/")

    assert "put, but not decided" in owed(client, house)[0]["sentence"]


def test_a_viewer_may_ask_and_a_stranger_not(client, house):
    address = f"/api/v1/properties/{house.pk}/owed/"
    theirs = factories.PropertyFactory()

    assert viewer_of(house).get(address).status_code == 200
    assert client.get(f"/api/v1/properties/{theirs.pk}/owed/").status_code == 404


def test_evidence_of_another_key_or_inspection_is_not_the_one_asked_for(client, house):
    inspection = look(house, state="accepted", required_evidence=ASKED)
    evidence(look(house, state="accepted"), "vents")
    evidence(inspection, "")
    evidence(inspection, "joist-ends")

    missing = selectors.missing_evidence(house)

    assert [(row.inspection, row.key) for row in missing] == [(inspection, "vents")]


def test_what_stands_against_tasks_is_named_per_task(house):
    lay, skirt = task_of(house, title="Lay"), task_of(house, title="Skirt")
    open_look = look(house, lay, skirt, title="Joist ends")
    seen = look(house, skirt, title="Drain", state="accepted", required_evidence=ASKED[:1])
    condition = factories.condition(seen, blocks=[lay], recorded_by=house.owner)
    look(house, lay, state="accepted")

    blocks = {(row.task_id, row.kind, row.id): row.sentence for row in selectors.open_blocks(house)}

    assert blocks == {
        (lay.pk, "inspection", open_look.pk): (
            "Lay waits until “Joist ends” is signed off; it is due."
        ),
        (skirt.pk, "inspection", open_look.pk): (
            "Skirt waits until “Joist ends” is signed off; it is due."
        ),
        (lay.pk, "condition", condition.pk): (
            "Lay waits until the condition “Treat the cut ends” of “Drain” is cleared."
        ),
        (skirt.pk, "evidence", seen.pk): (
            "Skirt waits for “Joist ends”, which “Drain” needs on file."
        ),
    }


def test_missing_evidence_keeps_a_task_waiting_after_the_sign_off(client, house):
    lay = task_of(house)
    inspection = look(house, lay, state="accepted", required_evidence=ASKED[:1])

    waits = client.post(f"/api/v1/tasks/{lay.pk}/start/")
    evidence(inspection, "joist-ends")
    goes = client.post(f"/api/v1/tasks/{lay.pk}/start/")

    assert waits.status_code == 409
    assert waits.json()["evidence"] == [
        {"inspection": inspection.pk, "key": "joist-ends", "title": "Joist ends"}
    ]
    assert goes.status_code == 200


def test_what_is_owed_and_what_blocks_takes_as_many_queries_for_two_as_for_twenty(house):
    def make(count):
        for _ in range(count):
            inspection = look(house, task_of(house), required_evidence=ASKED)
            factories.condition(inspection, blocks=[task_of(house)], recorded_by=house.owner)
            factories.CertificateFactory(property=house)

    def queries():
        with CaptureQueriesContext(connection) as caught:
            selectors.open_blocks(house)
            selectors.missing_evidence(house)
        return len(caught)

    make(2)
    few = queries()
    make(18)

    assert queries() == few
