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


def test_a_finding_says_where_along_which_joist(client, house):
    joist = factories.JoistFactory(floor__property=house)
    body = {"property": house.pk, "kind": "decay", "title": "Soft", "found_at": ago(3).isoformat()}

    made = client.post(FINDINGS, {**body, "joist": joist.pk, "at_mm": 3600})

    assert made.status_code == 201
    assert (made.json()["joist"], made.json()["at_mm"]) == (joist.pk, 3600)
    assert ids(client.get(FINDINGS, {"joist": joist.pk, "at_mm__gte": 3600})) == [made.json()["id"]]


def test_a_place_along_a_joist_is_on_it_and_on_its_floor(client, house):
    joist = factories.JoistFactory(floor__property=house)
    finding = factories.FindingFactory(property=house)
    at = f"{FINDINGS}{finding.pk}/"

    assert refuses(client.patch(at, {"at_mm": 100}), "", "along which joist")
    assert refuses(client.patch(at, {"joist": joist.pk, "at_mm": 4001}), "/at_mm", "4000 mm long")
    elsewhere = factories.FloorFactory(property=house)
    assert refuses(
        client.patch(at, {"joist": joist.pk, "floor": elsewhere.pk}), "/joist", "not a joist of"
    )


@pytest.mark.parametrize(
    ("kind", "severity", "words"),
    [
        ("asbestos_suspected", "stop", "sampled by a competent person"),
        ("gas", "stop", "registered gas engineer"),
        ("electrical", "act", "registered electrician"),
        ("decay", "act", "decide what is done"),
    ],
)
def test_a_finding_is_an_alert_until_it_is_decided(client, house, kind, severity, words):
    finding = factories.FindingFactory(property=house, kind=kind, found_at=ago(72))

    before = client.get(f"/api/v1/alerts/?property={house.pk}").json()["results"]
    finding.change(decision="Left to the one who knows", decided_at=ago(1))
    after = client.get(f"/api/v1/alerts/?property={house.pk}").json()["results"]

    assert [(a["code"], a["severity"], a["figures"]) for a in before] == [
        ("finding_undecided", severity, {"days": 3})
    ]
    assert words in before[0]["sentence"]
    assert after == []
