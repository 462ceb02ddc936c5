"""The house and the client, for every test that wants them; and for all, a folder of kept files."""

from __future__ import annotations

import pytest

from tests import factories
from tests.clients import Client


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
