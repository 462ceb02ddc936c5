"""Findings over HTTP: what the house showed, and what was decided."""

import pytest

from tests import factories
from tests.api.asking import ago, ids, refuses

FINDINGS = "/api/v1/findings/"


def test_a_finding_is_noted_and_decided(client, house):
    made = client.post(
        FINDINGS,
        {"property": house.pk, "kind": "decay", "title": "J7 soft", "found_at": ago(3).isoformat()},
    )
    address = f"{FINDINGS}{made.json()['id']}/"

    decided = client.patch(
        address, {"decision": "Cut back and sister", "decided_at": ago(1).isoformat()}
    )

    assert (made.status_code, decided.status_code) == (201, 200)
    assert decided.json()["decision"] == "Cut back and sister"


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"title": ""}, "/title", "blank"),
        ({"kind": "ghost"}, "/kind", "not a valid choice"),
        ({"found_at": None}, "/found_at", "null"),
        ({"decided_at": "2026-03-02T10:00:00Z"}, "", "Say what was decided."),
    ],
)
def test_what_no_finding_can_be_is_refused(client, house, changes, pointer, words):
    finding = factories.FindingFactory(property=house)

    assert refuses(client.patch(f"{FINDINGS}{finding.pk}/", changes), pointer, words)


def test_a_finding_stays_with_its_own_house(client, house):
    second = factories.MemberFactory(user=house.owner, role="owner").property
    finding = factories.FindingFactory(property=house)

    answer = client.patch(
        f"{FINDINGS}{finding.pk}/", {"room": factories.RoomFactory(property=second).pk}
    )

    assert refuses(answer, "/room", "another house")


def test_findings_are_filtered_by_kind_room_and_whether_they_are_decided(client, house):
    room = factories.RoomFactory(property=house)
    damp = factories.FindingFactory(property=house, kind="damp", room=room)
    decided = factories.FindingFactory(property=house, decision="Leave", decided_at=ago(1))

    assert ids(client.get(FINDINGS, {"kind": "damp", "room": room.pk})) == [damp.pk]
    assert ids(client.get(FINDINGS, {"decided_at__isnull": "false"})) == [decided.pk]
    assert ids(client.get(FINDINGS, {"search": "leave"})) == [decided.pk]
