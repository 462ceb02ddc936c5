"""Tokens for the API: what is kept of them, what they open, how they end."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from renovation.guessing import MOST_WRONG
from renovation.models import AccessToken, RememberedAnswer
from renovation.tokens import make_token
from tests import factories
from tests.api.walk import is_problem, pointers, signed_in

TOKENS = "/api/v1/tokens/"


def asking(secret):
    return APIClient(headers={"Authorization": f"Token {secret}"})


def test_a_token_is_told_once_and_opens_the_door(client, house):
    made = client.post(TOKENS, {"name": "Laptop", "days": 30})

    seen = asking(made.json()["token"]).get("/api/v1/properties/").json()["results"]
    listed = client.get(TOKENS).json()["results"]

    assert made.status_code == 201
    assert made["Cache-Control"] == "no-store"
    assert [row["id"] for row in seen] == [house.pk]
    assert [row["name"] for row in listed] == ["Laptop"]
    assert "token" not in listed[0]
    assert "token" not in client.get(made["Location"]).json()


def test_the_database_keeps_no_secret(client, house):
    secret = client.post(TOKENS, {"name": "Laptop"}).json()["token"]

    kept = AccessToken.objects.values().get()

    assert len(secret) == 64
    assert not any(secret in str(value) for value in kept.values())
    # Fifteen of 64 hexadecimal digits find the row; 196 bits stay unknown.
    assert secret.startswith(kept["token_key"])
    assert len(kept["token_key"]) == 15


def test_the_same_post_sent_twice_makes_two_tokens_and_remembers_neither(client, house):
    first = client.post(TOKENS, {"name": "Laptop"}, HTTP_IDEMPOTENCY_KEY="once")
    second = client.post(TOKENS, {"name": "Laptop"}, HTTP_IDEMPOTENCY_KEY="once")

    assert first.json()["token"] != second.json()["token"]
    assert "Idempotency-Replayed" not in second
    assert not RememberedAnswer.objects.exists()


def test_a_token_ends_after_its_days(house):
    row, secret = make_token(user=house.owner, name="Laptop", days=1)
    AccessToken.objects.filter(pk=row.pk).update(expiry=timezone.now() - timedelta(seconds=1))

    answer = asking(secret).get("/api/v1/properties/")

    assert is_problem(answer, 401)
    assert not AccessToken.objects.exists()


def test_a_revoked_token_opens_nothing(client, house):
    made = client.post(TOKENS, {"name": "Laptop"})

    gone = client.delete(made["Location"])

    assert gone.status_code == 204
    assert is_problem(asking(made.json()["token"]).get("/api/v1/properties/"), 401)


def test_a_token_of_a_closed_account_opens_nothing(house):
    _, secret = make_token(user=house.owner, name="Laptop", days=1)
    house.owner.is_active = False
    house.owner.save()

    assert is_problem(asking(secret).get("/api/v1/properties/"), 401)


@pytest.mark.parametrize("days", [0, -1, 367, "many", None, 2**70])
def test_a_token_works_for_a_day_to_a_year(client, house, days):
    answer = client.post(TOKENS, {"name": "Laptop", "days": days})

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/days"]
    assert not AccessToken.objects.exists()


def test_a_token_without_a_name_is_refused(client, house):
    answer = client.post(TOKENS, {"name": " "})

    assert pointers(answer) == ["/name"]


def test_a_token_makes_and_revokes_no_tokens(house):
    row, secret = make_token(user=house.owner, name="Laptop", days=1)
    script = asking(secret)

    answers = [script.post(TOKENS, {"name": "Another"}), script.delete(f"{TOKENS}{row.pk}/")]

    assert script.get(TOKENS).status_code == 200
    assert all(is_problem(answer, 403) for answer in answers)
    assert all(answer.json()["type"].endswith("#signed-in-only") for answer in answers)
    assert AccessToken.objects.get() == row


def test_nobody_sees_or_ends_another_persons_token_not_even_in_the_same_house(house):
    row, _ = make_token(user=house.owner, name="Laptop", days=1)
    other = signed_in(factories.MemberFactory(property=house, role="owner").user)

    answers = [other.get(f"{TOKENS}{row.pk}/"), other.delete(f"{TOKENS}{row.pk}/")]

    assert other.get(TOKENS).json()["results"] == []
    assert all(is_problem(answer, 404) for answer in answers)
    assert AccessToken.objects.get() == row


def test_a_token_seen_before_is_revoked_only_as_it_was_seen(client, house):
    made = client.post(TOKENS, {"name": "Laptop"})

    answer = client.delete(made["Location"], HTTP_IF_MATCH='"77"')

    assert is_problem(answer, 412)
    assert AccessToken.objects.exists()


def test_whoever_guesses_tokens_waits_even_with_a_right_one(house):
    _, secret = make_token(user=house.owner, name="Laptop", days=1)
    guesser = asking("0" * 64)
    wrong = [guesser.get("/api/v1/properties/") for _ in range(MOST_WRONG)]

    late, right = guesser.get("/api/v1/properties/"), asking(secret).get("/api/v1/properties/")

    assert {answer.status_code for answer in wrong} == {401}
    assert is_problem(late, 429)
    assert 1 <= int(late["Retry-After"]) <= 60
    assert is_problem(right, 429)


def test_a_guesser_elsewhere_keeps_nobody_out(house):
    _, secret = make_token(user=house.owner, name="Laptop", days=1)
    for _ in range(MOST_WRONG):
        asking("0" * 64).get("/api/v1/properties/", REMOTE_ADDR="192.0.2.7")

    assert asking(secret).get("/api/v1/properties/").status_code == 200


def test_an_address_that_a_caller_invents_counts_for_nothing(house):
    for number in range(MOST_WRONG):
        asking("0" * 64).get("/api/v1/properties/", HTTP_X_FORWARDED_FOR=f"192.0.2.{number}")

    assert is_problem(asking("0" * 64).get("/api/v1/properties/"), 429)


def test_behind_a_proxy_the_proxys_own_word_counts(house, settings):
    settings.BEHIND_PROXY = True
    for number in range(MOST_WRONG):
        asking("0" * 64).get(
            "/api/v1/properties/", HTTP_X_FORWARDED_FOR=f"198.51.100.{number}, 192.0.2.7"
        )

    there = asking("0" * 64).get("/api/v1/properties/", HTTP_X_FORWARDED_FOR="192.0.2.7")
    elsewhere = asking("0" * 64).get("/api/v1/properties/", HTTP_X_FORWARDED_FOR="192.0.2.8")

    assert (there.status_code, elsewhere.status_code) == (429, 401)
