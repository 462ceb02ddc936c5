"""The house and the client, for every test that wants them; and for all, a folder of kept files."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings as hypothesis_settings

from tests import factories
from tests.clients import Client
from tests.migrated import Kept

# Whoever runs the tests by hand looks for new cases; CI tries the same ones every time, so that
# it judges the change and not the day.
hypothesis_settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    hypothesis_settings.load_profile("ci")


@pytest.fixture(scope="session")
def kept_database(django_test_environment, django_db_modify_db_settings):
    return Kept()


@pytest.fixture(scope="session")
def django_db_setup(kept_database, django_db_setup):
    """pytest-django's own, with a database in memory migrated before where one was kept."""
    kept_database.keep()


@pytest.fixture(autouse=True)
def kept_files(settings, tmp_path):
    """No test reads or writes files of the data folder."""
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    settings.COMPLETION_DIR = tmp_path / "completion"


@pytest.fixture
def house(db):
    """An ordinary house with its owner, who is `house.owner`."""
    made = factories.PropertyFactory()
    made.owner = factories.UserFactory()
    factories.MemberFactory(property=made, user=made.owner, role="owner")
    return made


@pytest.fixture
def client(house):
    """Signed in as the house's owner."""
    api = Client()
    api.force_authenticate(house.owner)
    return api
