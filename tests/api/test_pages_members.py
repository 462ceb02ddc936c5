"""People of a house on its page: let in, given another role, taken off, and each taken back."""

from __future__ import annotations

import pytest

from apps.planning.models import PlanningPreferences
from apps.property.models import Member
from tests import factories
from tests.api.test_pages_house_edits import post, signed_in, text, undo

PAGE = "/house/members/"


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


@pytest.fixture
def kit(house):
    """A helper of the house."""
    user = factories.UserFactory(username="kit")
    return factories.MemberFactory(property=house, user=user, role="helper")


def roles_of(house):
    return dict(Member.objects.filter(property=house).values_list("user__username", "role"))


def test_somebody_with_an_account_is_let_in_and_undone(browser, house):
    factories.UserFactory(username="kit")

    answer = post(browser, f"{PAGE}add/", user="kit", role="viewer")
    let_in = roles_of(house)
    undo(browser, answer)

    assert "Let in: kit may look only." in text(answer)
    assert let_in == {house.owner.username: "owner", "kit": "viewer"}
    assert roles_of(house) == {house.owner.username: "owner"}


def test_a_name_without_an_account_is_said_at_its_field_with_how_one_is_made(browser, house):
    answer = post(browser, f"{PAGE}add/", user="nobody-yet", role="helper")

    assert answer.status_code == 400
    assert "There is no account nobody-yet here yet." in text(answer)
    assert "manage.py account NAME" in text(answer)
    assert 'value="nobody-yet"' in text(answer)


def test_the_page_tells_no_more_of_an_unknown_name_than_the_api(browser, client, house):
    over_http = client.post(
        "/api/v1/members/", {"property": house.pk, "user": "nobody-yet", "role": "helper"}
    )

    answer = post(browser, f"{PAGE}add/", user="nobody-yet", role="helper")

    assert over_http.status_code == answer.status_code == 400
    assert over_http.json()["errors"][0]["detail"] in text(answer)


def test_a_helper_is_not_told_whether_an_account_exists(house, kit):
    factories.UserFactory(username="someone")
    helper = signed_in(kit.user)

    answers = [
        helper.post(f"{PAGE}add/", {"user": name, "role": "owner"}, HTTP_X_FROM_QUEUE="1")
        for name in ("someone", "nobody-yet")
    ]

    assert [answer.status_code for answer in answers] == [403, 403]
    assert answers[0].json()["detail"] == answers[1].json()["detail"]


def test_who_is_in_already_is_not_let_in_twice(browser, house, kit):
    answer = post(browser, f"{PAGE}add/", user="kit", role="owner")

    assert answer.status_code == 400
    assert "This person is a member already." in text(answer)
    assert roles_of(house)["kit"] == "helper"


def test_a_role_is_changed_and_changed_back(browser, house, kit):
    answer = post(browser, f"{PAGE}{kit.pk}/role/", role="owner", version=kit.version)
    changed = roles_of(house)["kit"]
    undo(browser, answer)

    assert "kit is an owner now." in text(answer)
    assert changed == "owner"
    assert roles_of(house)["kit"] == "helper"


def test_a_role_that_another_owner_changed_meanwhile_is_not_written_over(browser, house, kit):
    seen = kit.version
    kit.change(role="viewer")

    answer = post(browser, f"{PAGE}{kit.pk}/role/", role="owner", version=seen)

    assert "The book has by now: kit may look only. You wrote: kit is an owner." in text(answer)
    assert roles_of(house)["kit"] == "viewer"


def test_a_role_nobody_has_is_refused(browser, house, kit):
    answer = post(browser, f"{PAGE}{kit.pk}/role/", role="king", version=kit.version)

    assert "Choose what they may do." in text(answer)
    assert roles_of(house)["kit"] == "helper"


def test_somebody_taken_off_is_out_and_in_again_as_before_after_undo(browser, house, kit):
    kit.change(shows_feet=True)
    theirs = signed_in(kit.user)

    answer = post(browser, f"{PAGE}{kit.pk}/remove/", version=kit.version)
    outside = theirs.get(f"/house/?property={house.pk}").status_code
    undo(browser, answer)

    back = Member.objects.get(property=house, user=kit.user)
    assert "kit does not get in any more." in text(answer)
    assert outside == 404
    assert (back.role, back.shows_feet) == ("helper", True)
    assert theirs.get(f"/house/?property={house.pk}").status_code == 200


def test_the_last_owner_cannot_go_and_the_page_says_why(browser, house, kit):
    owner = Member.objects.get(property=house, role="owner")
    shown = browser.get(PAGE)

    left = post(browser, f"{PAGE}{owner.pk}/remove/", version=owner.version)
    demoted = post(browser, f"{PAGE}{owner.pk}/role/", role="viewer", version=owner.version)

    assert "a house that nobody owns could never be opened again" in text(shown)
    assert f'action="{PAGE}{owner.pk}/' not in text(shown)
    assert all(f"is the last owner of {house}" in text(answer) for answer in (left, demoted))
    assert roles_of(house)[house.owner.username] == "owner"


def test_an_owner_who_steps_down_is_told_that_only_an_owner_takes_it_back(browser, house, kit):
    kit.change(role="owner")
    owner = Member.objects.get(property=house, user=house.owner)

    answer = post(browser, f"{PAGE}{owner.pk}/role/", role="viewer", version=owner.version)

    assert "You may look only now. Only an owner can take that back." in text(answer)
    assert "<button>Undo" not in text(answer)
    assert "Let somebody in" not in text(answer)


def test_an_owner_who_leaves_stands_before_the_houses(browser, house, kit):
    kit.change(role="owner")
    owner = Member.objects.get(property=house, user=house.owner)

    answer = post(browser, f"{PAGE}{owner.pk}/remove/", version=owner.version)

    assert answer.redirect_chain[-1][0] == "/houses/"
    assert f"You are not in {house} any more." in text(answer)
    assert roles_of(house) == {"kit": "owner"}


@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_others_see_the_list_and_are_refused_every_form(house, kit, role):
    kit.change(role=role)
    theirs = signed_in(kit.user)
    owner = Member.objects.get(property=house, role="owner")
    shown = text(theirs.get(PAGE))

    answers = [
        theirs.post(path, fields, HTTP_X_FROM_QUEUE="1").status_code
        for path, fields in (
            (f"{PAGE}add/", {"user": "kit", "role": "owner"}),
            (f"{PAGE}back/", {"user": "kit", "role": "owner"}),
            (f"{PAGE}{kit.pk}/role/", {"role": "owner"}),
            (f"{PAGE}{owner.pk}/remove/", {}),
        )
    ]

    assert house.owner.username in shown
    assert "kit (you)" in shown
    assert PAGE + "add/" not in shown
    assert answers == [403, 403, 403, 403]
    assert roles_of(house) == {house.owner.username: "owner", "kit": role}


@pytest.mark.parametrize("address", ["/house/put-back/", "/house/remove/", "/house/bring-back/"])
def test_the_undo_of_other_rows_is_no_way_to_a_better_role(house, kit, address):
    theirs = signed_in(kit.user)

    theirs.post(
        address,
        {"kind": "member", "id": kit.pk, "ids": kit.pk, "version": 1, "before": '{"role":"owner"}'},
    )

    assert roles_of(house)["kit"] == "helper"


def test_who_gets_in_is_nothing_that_a_plan_is_made_of(browser, house):
    factories.UserFactory(username="kit")
    wants = PlanningPreferences.objects.create(property=house, replans_after_edits=True)

    post(browser, f"{PAGE}add/", user="kit", role="viewer")

    wants.refresh_from_db()
    assert wants.replan_at is None
