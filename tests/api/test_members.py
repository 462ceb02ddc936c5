"""Members over HTTP: who may look, who may change, who decides."""

import pytest

from apps.property.models import Member
from tests import factories
from tests.api.walk import signed_in

AT = "/api/v1/members/"


@pytest.fixture
def helper(house):
    return factories.MemberFactory(property=house, role="helper")


def test_an_owner_takes_in_a_helper_by_name(client, house):
    person = factories.UserFactory()

    answer = client.post(AT, {"property": house.pk, "user": person.username})

    assert answer.status_code == 201
    assert answer.json()["role"] == "helper"
    assert signed_in(person).get(f"/api/v1/properties/{house.pk}/").status_code == 200


def test_a_person_is_a_member_once(client, house, helper):
    answer = client.post(AT, {"property": house.pk, "user": helper.user.username})

    assert answer.status_code == 400
    assert "member already" in answer.json()["detail"]


@pytest.mark.parametrize("role", ["owner", "viewer"])
def test_a_helper_decides_nobodys_role(house, helper, role):
    answer = signed_in(helper.user).patch(f"{AT}{helper.pk}/", {"role": role})

    helper.refresh_from_db()
    assert answer.status_code == 403
    assert answer.json()["type"].endswith("#owners-only")
    assert helper.role == "helper"


def test_a_helper_takes_in_nobody(house, helper):
    answer = signed_in(helper.user).post(
        AT, {"property": house.pk, "user": factories.UserFactory().username, "role": "owner"}
    )

    assert answer.status_code == 403
    assert Member.objects.filter(property=house).count() == 2


def test_a_helper_may_leave_but_sends_nobody_away(house, helper):
    owner = Member.objects.get(property=house, role="owner")
    other = factories.MemberFactory(property=house, role="helper")
    client = signed_in(helper.user)

    answers = [client.delete(f"{AT}{row.pk}/").status_code for row in (other, owner, helper)]

    assert answers == [403, 403, 204]


def test_the_last_owner_stays(client, house):
    owner = Member.objects.get(property=house, role="owner")

    left = client.delete(f"{AT}{owner.pk}/")
    demoted = client.patch(f"{AT}{owner.pk}/", {"role": "viewer"})

    owner.refresh_from_db()
    assert (left.status_code, demoted.status_code) == (409, 409)
    assert left.json()["type"].endswith("#last-owner")
    assert owner.role == "owner"


def test_an_owner_may_go_when_another_stays(client, house, helper):
    owner = Member.objects.get(property=house, role="owner")
    client.patch(f"{AT}{helper.pk}/", {"role": "owner"})

    assert client.delete(f"{AT}{owner.pk}/").status_code == 204


def test_a_membership_is_not_handed_to_someone_else(client, house):
    owner = Member.objects.get(property=house, role="owner")

    answer = client.patch(f"{AT}{owner.pk}/", {"user": factories.UserFactory().username})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/user"


def test_members_are_found_by_name(client, house, helper):
    found = client.get(AT, {"user__username": helper.user.username}).json()

    assert [member["id"] for member in found["results"]] == [helper.pk]
