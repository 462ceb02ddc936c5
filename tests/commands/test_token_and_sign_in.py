"""`manage.py token`, `sign_in` and `account`: ways in, and their ends."""

from __future__ import annotations

import io
import re
from io import StringIO

import pytest
from axes.models import AccessAttempt
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.test import Client
from rest_framework.test import APIClient

from apps.pages.owner import owner_account
from renovation.models import AccessToken
from renovation.tokens import make_token
from tests import factories

PASSWORD = "seven dry joists in the hall"


def printed(command, *words, **options):
    out = StringIO()
    call_command(command, *words, stdout=out, **options)
    return out.getvalue().strip()


def opens(secret):
    api = APIClient(headers={"Authorization": f"Token {secret}"})
    return api.get("/api/v1/properties/").status_code == 200


@pytest.fixture
def typed(monkeypatch):
    """What comes by a pipe where a password is asked for."""
    return lambda words: monkeypatch.setattr("sys.stdin", io.StringIO(words))


@pytest.mark.django_db
def test_a_fresh_token_each_time_opens_the_owners_house():
    house = factories.MemberFactory(user=owner_account(), role="owner").property
    first, second = printed("token"), printed("token", days=1, name="shopping list")

    api = APIClient(headers={"Authorization": f"Token {second}"})

    assert [row["id"] for row in api.get("/api/v1/properties/").json()["results"]] == [house.pk]
    assert first != second
    assert opens(first)


@pytest.mark.django_db
def test_tokens_are_listed_by_name_without_their_secrets():
    secret = printed("token", name="shopping list")

    told = printed("token", list=True)

    assert re.fullmatch(r"\d+  until \d{4}-\d\d-\d\d \d\d:\d\d UTC  shopping list", told)
    assert secret[:15] not in told


@pytest.mark.django_db
def test_one_token_is_revoked_and_the_others_stay():
    secrets = [printed("token", name=name) for name in ("one", "other")]
    row = AccessToken.objects.get(name="one")

    printed("token", revoke=str(row.pk))

    assert [opens(secret) for secret in secrets] == [False, True]


@pytest.mark.django_db
def test_all_tokens_of_one_person_are_revoked_at_once():
    theirs = make_token(user=factories.UserFactory(), name="theirs", days=1)[1]
    mine = printed("token")

    assert printed("token", revoke="all") == "Revoked: 1."
    assert [opens(mine), opens(theirs)] == [False, True]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "options",
    [{"days": 0}, {"days": 367}, {"name": " "}, {"name": "x" * 61}, {"revoke": "7"},
     {"revoke": "x"}, {"user": "nobody"}],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_in_a_sentence(options):
    with pytest.raises(CommandError, match=r"\.$"):
        printed("token", **options)

    assert not AccessToken.objects.exists()


@pytest.mark.django_db
def test_the_owner_cannot_sign_in_by_a_password():
    assert not owner_account().has_usable_password()


@pytest.mark.django_db
def test_a_fresh_sign_in_address_is_for_the_port_asked_for():
    assert printed("sign_in", port=8123).startswith("http://127.0.0.1:8123/sign-in/")


@pytest.mark.django_db
def test_a_served_site_has_its_own_name_in_the_address(settings):
    settings.CSRF_TRUSTED_ORIGINS = ["https://*.boards.example", "https://boards.example"]

    assert printed("sign_in").startswith("https://boards.example/sign-in/")
    assert printed("sign_in", site="https://other.example/").startswith("https://other.example/s")


@pytest.mark.django_db
def test_somebody_else_gets_an_account_and_signs_in_by_an_address():
    printed("account", "mari")
    address = printed("sign_in", user="mari")
    browser = Client()

    browser.post(address.removeprefix("http://127.0.0.1:8000"))

    assert browser.get("/houses/").status_code == 200
    assert not get_user_model().objects.get(username="mari").has_usable_password()


@pytest.mark.django_db
def test_there_is_no_address_for_nobody():
    with pytest.raises(CommandError, match="account nobody"):
        printed("sign_in", user="nobody")


@pytest.mark.django_db
def test_a_password_comes_by_a_pipe_and_never_as_an_argument(typed):
    typed(f"{PASSWORD}\n")

    printed("account", "mari", password=True)

    assert get_user_model().objects.get(username="mari").check_password(PASSWORD)


@pytest.mark.django_db
@pytest.mark.parametrize("word", ["short", "password1234", "", "long " * 26])
def test_a_poor_password_is_refused_and_nothing_is_made(typed, word):
    typed(f"{word}\n")

    with pytest.raises(CommandError):
        printed("account", "mari", password=True)

    assert not get_user_model().objects.filter(username="mari").exists()


@pytest.mark.django_db
def test_who_is_let_in_has_no_wrong_passwords_any_more():
    printed("account", "mari")
    Client().post("/sign-in/", {"username": "mari", "password": "no"})
    counted = AccessAttempt.objects.count()

    printed("account", "mari", let_in=True)

    assert (counted, AccessAttempt.objects.count()) == (1, 0)


@pytest.mark.django_db
def test_a_closed_account_has_no_way_in_until_it_is_opened():
    printed("account", "mari")
    user = get_user_model().objects.get(username="mari")
    secret, browser = make_token(user=user, name="script", days=1)[1], Client()
    browser.force_login(user)
    address = printed("sign_in", user="mari").removeprefix("http://127.0.0.1:8000")

    printed("account", "mari", close=True)

    assert browser.get("/houses/").status_code == 302
    assert not opens(secret)
    assert Client().post(address).status_code == 410
    printed("account", "mari", open=True)
    assert Client().post(address).status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["", "two words", "x" * 151, "a/b"])
def test_a_name_is_letters_and_digits(name):
    with pytest.raises(CommandError):
        printed("account", name)
