"""Signing in with a password: how it is kept, and what happens to whoever guesses."""

from __future__ import annotations

import pytest
from axes.utils import reset
from django.contrib.auth.hashers import identify_hasher
from django.test import Client

from apps.pages.owner import sign_in_ticket
from renovation.guessing import MOST_WRONG
from tests import factories

PASSWORD = "seven dry joists in the hall"


@pytest.fixture
def person(db):
    """Somebody with a password."""
    user = factories.UserFactory(username="mari")
    user.set_password(PASSWORD)
    user.save()
    return user


def tried(password, *, name="mari", client=None, **extra):
    return (client or Client()).post("/sign-in/", {"username": name, "password": password}, **extra)


def test_a_password_is_kept_as_argon2(person):
    assert identify_hasher(person.password).algorithm == "argon2"


def test_a_name_and_its_password_sign_in(person):
    browser = Client()

    answer = tried(PASSWORD, client=browser)

    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert browser.get("/houses/").status_code == 200


def test_signing_in_gives_the_browser_another_session(person):
    browser = Client()
    session = browser.session
    session["said"] = []
    session.save()
    before = session.session_key

    tried(PASSWORD, client=browser)

    assert browser.session.session_key != before


def test_a_wrong_name_is_answered_like_a_wrong_password(person):
    wrong, unknown = tried("no"), tried("no", name="nobody")

    assert (wrong.status_code, unknown.status_code) == (422, 422)
    assert "do not belong together" in wrong.text
    assert "do not belong together" in unknown.text
    assert "no" not in wrong.context.get("password", "")


def test_five_wrong_passwords_close_the_name_for_a_while_whoever_tried(person):
    answers = [tried("no", REMOTE_ADDR=f"192.0.2.{n}") for n in range(5)]

    right = tried(PASSWORD, REMOTE_ADDR="198.51.100.1")

    assert [answer.status_code for answer in answers[:4]] == [422] * 4
    assert right.status_code == 429
    assert right["Retry-After"] == "900"
    assert "Wait 15 minutes" in right.text
    assert "manage.py sign_in" in right.text


def test_a_sign_in_address_works_while_the_name_is_closed(person):
    for _ in range(5):
        tried("no")

    answer = Client().post(f"/sign-in/{sign_in_ticket(person)}/")

    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_one_name_closed_leaves_the_others_open(person):
    for _ in range(5):
        tried("no", name="somebody")

    assert tried(PASSWORD).status_code == 302


def test_whoever_is_let_in_may_try_again(person):
    for _ in range(5):
        tried("no")
    reset(username="mari")

    assert tried(PASSWORD).status_code == 302


def test_many_names_from_one_address_are_slowed_down_too(person):
    for number in range(MOST_WRONG):
        tried("no", name=f"person-{number}")

    late, elsewhere = tried(PASSWORD), tried(PASSWORD, REMOTE_ADDR="192.0.2.9")

    assert late.status_code == 429
    assert 1 <= int(late["Retry-After"]) <= 60
    assert elsewhere.status_code == 302


def test_a_form_without_its_csrf_token_signs_nobody_in(person):
    answer = tried(PASSWORD, client=Client(enforce_csrf_checks=True))

    assert answer.status_code == 403


def test_a_new_password_signs_other_browsers_out(person):
    browser = Client()
    tried(PASSWORD, client=browser)

    person.set_password("another eight damp joists")
    person.save()

    assert browser.get("/houses/")["Location"] == "/sign-in/"
