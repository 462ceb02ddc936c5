"""Certificates over HTTP: owed by a trade, due with a visit or on a day, received with a file."""

import pytest

from tests import factories
from tests.api.asking import ahead, ids, is_problem, queries_of_list, refuses
from tests.api.walk import another_house_of, viewer_of

CERTIFICATES = "/api/v1/certificates/"


def certificate(house, **fields):
    return factories.CertificateFactory(property=house, **fields)


def paper(house, **fields):
    return factories.EvidenceFactory(
        property=house, kind="document", uploaded_by=house.owner, **fields
    )


def post(client, row, step, **body):
    return client.post(f"{CERTIFICATES}{row.pk}/{step}/", body)


def test_a_certificate_is_owed_by_a_trade_until_it_comes(client, house):
    trade = factories.TradeFactory(property=house, craft="electrician")

    answer = client.post(
        CERTIFICATES,
        {
            "property": house.pk, "craft": "electrician", "trade": trade.pk,
            "title": "Minor works certificate", "due_on": "2026-04-01",
        },
    )  # fmt: skip

    made = answer.json()
    assert answer.status_code == 201
    assert (made["trade"], made["received_on"], made["evidence"]) == (trade.pk, None, [])


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"craft": "plumbing"}, "/craft", "not a valid choice"),
        ({"due_on": "soon"}, "/due_on", "format"),
        ({"trade": 987654321}, "/trade", "does not exist"),
    ],
)
def test_what_no_certificate_can_be_is_refused(client, house, changes, pointer, words):
    answer = client.patch(f"{CERTIFICATES}{certificate(house).pk}/", changes)

    assert refuses(answer, pointer, words)


def test_a_trade_of_another_house_owes_nothing_here(client, house):
    theirs = factories.TradeFactory(property=another_house_of(house.owner))

    answer = client.patch(f"{CERTIFICATES}{certificate(house).pk}/", {"trade": theirs.pk})

    assert refuses(answer, "/trade", "another house")


def test_it_is_received_with_its_file_and_the_undoing_keeps_the_file(client, house):
    row, file = certificate(house), paper(house)

    received = post(client, row, "receive", received_on="2026-03-20", evidence=file.pk).json()
    undone = post(client, row, "not-received").json()

    file.refresh_from_db()
    assert (received["received_on"], received["evidence"]) == ("2026-03-20", [file.pk])
    assert (undone["received_on"], undone["evidence"]) == (None, [file.pk])
    assert file.version == 2


def test_receiving_again_puts_the_day_right(client, house):
    row = certificate(house)
    post(client, row, "receive", received_on="2026-03-20")

    assert post(client, row, "receive", received_on="2026-03-19").json()["received_on"] == (
        "2026-03-19"
    )


def test_the_day_is_written_by_the_action_only(client, house):
    row = certificate(house)

    client.patch(f"{CERTIFICATES}{row.pk}/", {"received_on": "2026-03-20"})

    row.refresh_from_db()
    assert row.received_on is None


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({}, "/received_on", "required"),
        ({"received_on": "2999-01-01"}, "/received_on", "still to come"),
        ({"received_on": "2026-03-20", "evidence": 987654321}, "/evidence", "does not exist"),
    ],
)
def test_receiving_says_when(client, house, body, pointer, words):
    assert refuses(post(client, certificate(house), "receive", **body), pointer, words)


def test_the_file_is_of_this_house_and_of_no_other_certificate(client, house):
    row = certificate(house)
    theirs = paper(another_house_of(house.owner))
    taken = paper(house, certificate=certificate(house, title="Gas notice"))
    day = {"received_on": "2026-03-20"}

    of_another_house = post(client, row, "receive", evidence=theirs.pk, **day)
    of_another_paper = post(client, row, "receive", evidence=taken.pk, **day)

    assert refuses(of_another_house, "/evidence", "another house")
    assert refuses(of_another_paper, "/evidence", "the file of Gas notice")


def test_what_is_owed_cannot_be_taken_back(client, house):
    answer = post(client, certificate(house), "not-received")

    assert is_problem(answer, 409, "wrong-step")
    assert answer.json()["allowed"] == ["receive"]


def test_a_visit_names_the_certificates_that_are_due_with_it(client, house):
    row, visit = certificate(house), factories.VisitFactory(property=house)
    theirs = certificate(another_house_of(house.owner))
    address = f"/api/v1/visits/{visit.pk}/"

    named = client.patch(address, {"certificates": [row.pk]})
    refused = client.patch(address, {"certificates": [theirs.pk]})

    assert named.json()["certificates"] == [row.pk]
    assert refuses(refused, "/certificates", "another house")
    assert ids(client.get("/api/v1/visits/", {"certificates": row.pk})) == [visit.pk]


def test_a_viewer_receives_nothing_and_a_stranger_finds_nothing(client, house):
    day = {"received_on": "2026-03-20"}
    theirs = factories.CertificateFactory()

    assert post(viewer_of(house), certificate(house), "receive", **day).status_code == 403
    assert post(client, theirs, "receive", **day).status_code == 404


def test_certificates_are_filtered_by_craft_and_whether_they_came(client, house):
    owed = certificate(house, craft="gas", due_on=ahead(50).date())
    come = certificate(house, received_on="2026-03-20")

    assert ids(client.get(CERTIFICATES, {"craft": "gas"})) == [owed.pk]
    assert ids(client.get(CERTIFICATES, {"received_on__isnull": "false"})) == [come.pk]
    assert ids(client.get(CERTIFICATES, {"due_on__lte": "2026-01-01"})) == []


def test_certificates_list_in_as_many_queries_for_two_as_for_twenty(client, house):
    def make(count):
        for _ in range(count):
            paper(house, certificate=certificate(house))

    make(2)
    few = queries_of_list(client, CERTIFICATES)
    make(18)

    assert queries_of_list(client, CERTIFICATES) == few
