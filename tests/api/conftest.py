"""What several files of API tests need to be set before their tests."""

from __future__ import annotations

import pytest


@pytest.fixture
def handed_out(monkeypatch):
    """Work is handed out when the request's transaction commits; in a test it never does."""
    from django.db import transaction

    monkeypatch.setattr(transaction, "on_commit", lambda act: act())
