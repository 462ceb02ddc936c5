"""What several files of API tests need to be set before their tests."""

from __future__ import annotations

import pytest
from django.core.cache import caches

from renovation.guessing import KEPT_IN


@pytest.fixture
def handed_out(monkeypatch):
    """Work is handed out when the request's transaction commits; in a test it never does."""
    from django.db import transaction

    monkeypatch.setattr(transaction, "on_commit", lambda act: act())


@pytest.fixture(autouse=True)
def nobody_guessed():
    """Wrong tokens and passwords of the tests before do not count."""
    for name in KEPT_IN:
        caches[name].delete_many([f"guesses:{kind}:127.0.0.1" for kind in ("token", "password")])
