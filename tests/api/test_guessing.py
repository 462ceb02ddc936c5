"""Wrong secrets are counted also while Redis is away."""

from __future__ import annotations

import pytest
from django.core.cache import caches
from django.test import Client

from renovation.guessing import MOST_WRONG, Guesses
from tests import factories

PASSWORD = "seven dry joists in the hall"
NOWHERE = {
    "BACKEND": "renovation.caches.ForgivingRedisCache",
    "LOCATION": "redis://127.0.0.1:1/0",
    "OPTIONS": {"socket_connect_timeout": 1},
}


@pytest.fixture
def redis_away(settings):
    settings.CACHES = {**settings.CACHES, "default": NOWHERE}


@pytest.fixture
def guesses():
    ours = Guesses("guesses:test:192.0.2.9")
    yield ours
    caches["process"].delete(ours.key)
    caches["default"].delete(ours.key)


def test_without_a_cache_this_process_counts_alone(redis_away, guesses):
    for _ in range(MOST_WRONG - 1):
        guesses.count()
    assert guesses.seconds_to_wait() == 0

    guesses.count()

    assert 1 <= guesses.seconds_to_wait() <= 60


def test_what_others_counted_counts_too(guesses):
    for _ in range(MOST_WRONG):
        guesses.count()
    caches["process"].delete(guesses.key)

    assert guesses.seconds_to_wait() > 0


def test_what_was_counted_alone_counts_when_the_cache_is_back(guesses):
    for _ in range(MOST_WRONG):
        guesses.count()
    caches["default"].delete(guesses.key)

    assert guesses.seconds_to_wait() > 0
    guesses.count()

    assert caches["default"].get(guesses.key)[0] == MOST_WRONG + 1


def test_an_earlier_minute_is_over(guesses):
    caches["process"].set(guesses.key, (MOST_WRONG, 1.0))

    assert guesses.seconds_to_wait() == 0
    guesses.count()

    assert caches["process"].get(guesses.key)[0] == 1


def test_a_token_is_not_guessed_while_redis_is_away(db, redis_away):
    browser = Client(headers={"authorization": f"Token {'0' * 64}"}, REMOTE_ADDR="192.0.2.10")

    statuses = [browser.get("/api/v1/properties/").status_code for _ in range(MOST_WRONG + 1)]
    caches["process"].delete("guesses:token:192.0.2.10")

    assert statuses == [401] * MOST_WRONG + [429]


def test_a_name_is_closed_after_five_wrong_passwords_while_redis_is_away(db, redis_away):
    """Those are counted in the database."""
    user = factories.UserFactory(username="mari")
    user.set_password(PASSWORD)
    user.save()
    tries = [*["no"] * 5, PASSWORD]

    statuses = [
        Client()
        .post("/sign-in/", {"username": "mari", "password": word}, REMOTE_ADDR="192.0.2.11")
        .status_code
        for word in tries
    ]
    caches["process"].delete("guesses:password:192.0.2.11")

    assert statuses[-1] == 429
    assert 302 not in statuses
