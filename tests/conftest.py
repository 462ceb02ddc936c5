"""The house and the client, for every test that wants them."""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from tests import factories


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
    api = APIClient()
    api.force_authenticate(house.owner)
    return api
