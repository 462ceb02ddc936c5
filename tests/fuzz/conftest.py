"""One house for all requests, in a transaction that is never kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.test import override_settings

from tests.fuzz.site import Site, built


@pytest.fixture(scope="session")
def db(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """In the place of pytest-django's, which would make the house anew for each test."""
    # The end of a request would give the connection back, and the transaction with it.
    lent = connections[DEFAULT_DB_ALIAS]
    with (
        mock.patch.object(lent, "close_if_unusable_or_obsolete"),
        django_db_blocker.unblock(),
        transaction.atomic(),
    ):
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="session")
def site(db: None, files: Path) -> Site:
    with override_settings(EVIDENCE_DIR=files / "evidence"):
        return built()


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(autouse=True)
def kept_files(settings: Any, files: Path) -> None:
    """The house's files are there for all tests, as the house is."""
    settings.EVIDENCE_DIR = files / "evidence"
    settings.COMPLETION_DIR = files / "completion"
    settings.HOUSE_FILES_DIR = files / "house-files"
    settings.HOUSE_ARRIVALS_DIR = files / "house-arrivals"
