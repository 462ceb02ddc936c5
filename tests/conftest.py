"""The house and the client, for every test that wants them; and for all, a folder of kept files."""

from __future__ import annotations

import os
from unittest import mock

import pytest
from hypothesis import settings as hypothesis_settings
from whitenoise.middleware import WhiteNoiseMiddleware

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
    """pytest-django's own, over a database in memory that is a copy of the kept one."""
    kept_database.close()


@pytest.fixture(scope="session", autouse=True)
def static_files_found_once():
    """Each client starts all middleware anew, and WhiteNoise would look for the same files."""
    look, found = WhiteNoiseMiddleware.add_files_from_finders, {}

    def once(middleware):
        if not found:
            look(middleware)
            found.update(middleware.files)
        middleware.files.update(found)

    with mock.patch.object(WhiteNoiseMiddleware, "add_files_from_finders", once):
        yield


@pytest.fixture(autouse=True)
def kept_files(settings, tmp_path):
    """No test reads or writes files of the data folder."""
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    settings.COMPLETION_DIR = tmp_path / "completion"
    settings.HOUSE_FILES_DIR = tmp_path / "house-files"
    settings.HOUSE_ARRIVALS_DIR = tmp_path / "house-arrivals"


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
