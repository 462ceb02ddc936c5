"""The page of one's own tokens."""

from __future__ import annotations

import re

import pytest
from rest_framework.test import APIClient

from renovation.models import AccessToken
from renovation.tokens import make_token
from tests.api.actors import member_of, with_browser


def secret_on(page):
    return re.search(r'id="secret" readonly value="(\w+)"', page.text)[1]


def test_a_token_is_shown_once_and_works(house):
    browser = with_browser(house.owner)

    page = browser.post("/tokens/new/", {"name": "Shopping list", "days": "30"})
    secret = secret_on(page)
    later = browser.get("/tokens/")

    api = APIClient(headers={"Authorization": f"Token {secret}"})
    assert api.get("/api/v1/properties/").status_code == 200
    assert "no-store" in page["Cache-Control"]
    assert "Shopping list" in later.text
    assert secret not in later.text


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"name": " ", "days": "30"}, "Say what it is for"),
        ({"name": "x" * 61, "days": "30"}, "Say what it is for"),
        ({"name": "x", "days": "0"}, "From 1 to 366 days"),
        ({"name": "x", "days": "many"}, "From 1 to 366 days"),
        ({"name": "x"}, "From 1 to 366 days"),
    ],
)
def test_what_cannot_be_made_is_said_beside_its_field(house, sent, said):
    page = with_browser(house.owner).post("/tokens/new/", sent)

    assert page.status_code == 422
    assert said in page.text
    assert not AccessToken.objects.exists()


def test_a_revoked_token_is_gone_and_said(house):
    row, _ = make_token(user=house.owner, name="Laptop", days=1)
    browser = with_browser(house.owner)

    page = browser.post("/tokens/revoke/", {"token": row.pk}, follow=True)

    assert "Revoked: Laptop opens nothing now." in page.text
    assert not AccessToken.objects.exists()


@pytest.mark.parametrize("which", ["", "x", "-1", None])
def test_nobody_revokes_what_is_not_theirs(house, which):
    row, _ = make_token(user=house.owner, name="Laptop", days=1)
    other = with_browser(member_of(house, "owner"))

    answer = other.post("/tokens/revoke/", {"token": row.pk if which is None else which})

    assert answer.status_code == 404
    assert "Laptop" not in other.get("/tokens/").text
    assert AccessToken.objects.get() == row
