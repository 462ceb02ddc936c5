"""`manage.py token` and `manage.py sign_in`: ways in for the owner."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from rest_framework.test import APIClient

from apps.pages.owner import owner_account
from tests import factories


def printed(name, **options):
    out = StringIO()
    call_command(name, stdout=out, **options)
    return out.getvalue().strip()


@pytest.mark.django_db
def test_the_token_is_the_same_each_time_and_opens_the_owners_house():
    house = factories.MemberFactory(user=owner_account(), role="owner").property
    api = APIClient(headers={"Authorization": f"Token {printed('token')}"})

    seen = api.get("/api/v1/properties/").json()["results"]

    assert [row["id"] for row in seen] == [house.pk]
    assert printed("token") == printed("token")


@pytest.mark.django_db
def test_the_owner_cannot_sign_in_by_a_password():
    assert not owner_account().has_usable_password()


@pytest.mark.django_db
def test_a_fresh_sign_in_address_is_for_the_port_asked_for():
    assert printed("sign_in", port=8123).startswith("http://127.0.0.1:8123/sign-in/")
