"""The house and the client, for every test that wants them; and for all, a folder of kept files."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings as hypothesis_settings

from tests import factories
from tests.clients import Client

# Whoever runs the tests by hand looks for new cases; CI tries the same ones every time, so that
# it judges the change and not the day.
hypothesis_settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    hypothesis_settings.load_profile("ci")


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
