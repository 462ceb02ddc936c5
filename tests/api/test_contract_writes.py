"""What holds for every write: versions, removal, repeated posts, other people's rows."""

from __future__ import annotations

import pytest
from django.contrib.auth import get_user_model

from renovation.models import Record
from tests import factories
from tests.api.samples import SAMPLES
from tests.api.walk import (
    VIEWSETS,
    address,
    another_house_of,
    changed,
    is_problem,
    pointers,
    posted,
    removed,
    resources,
    signed_in,
    strangers_house,
    taking,
)


@resources
def test_one_object_comes_with_its_etag_and_is_not_sent_twice(client, house, prefix):
    row = SAMPLES[prefix].make(house)

    first = client.get(address(prefix, row))
    again = client.get(address(prefix, row), HTTP_IF_NONE_MATCH=first["ETag"])

    assert first["ETag"].strip('"').partition("-")[0] == str(first.json()["version"])
    assert again.status_code == 304
    assert again["ETag"] == first["ETag"]
    assert again.content == b""


@changed
def test_a_change_from_the_current_version_counts_the_version_up(client, house, prefix):
    row = SAMPLES[prefix].make(house)
    seen = client.get(address(prefix, row))

    answer = client.patch(address(prefix, row), SAMPLES[prefix].patch, HTTP_IF_MATCH=seen["ETag"])

    assert answer.status_code == 200, answer.json()
    assert answer.json()["version"] == seen.json()["version"] + 1
    assert answer["ETag"] != seen["ETag"]
    assert answer["ETag"] == client.get(address(prefix, row))["ETag"]
    assert SAMPLES[prefix].patch.items() <= answer.json().items()


@changed
def test_a_change_from_a_stale_version_is_refused_with_the_current_object(client, house, prefix):
    row = SAMPLES[prefix].make(house)
    client.patch(address(prefix, row), SAMPLES[prefix].patch)
    current = client.get(address(prefix, row)).json()

    answer = client.patch(address(prefix, row), SAMPLES[prefix].patch, HTTP_IF_MATCH='"1"')

    assert is_problem(answer, 412)
    assert answer.json()["current"] == current
    assert client.get(address(prefix, row)).json() == current


@removed
def test_removing_from_a_stale_version_is_refused(client, house, prefix):
    row = SAMPLES[prefix].make(house)

    answer = client.delete(address(prefix, row), HTTP_IF_MATCH='"77"')

    assert is_problem(answer, 412)
    assert type(row).objects.filter(pk=row.pk).exists()


@pytest.mark.parametrize(
    "prefix", [prefix for prefix in taking("delete") if prefix != "properties"]
)
def test_what_nothing_else_needs_can_be_removed(client, house, prefix):
    row = SAMPLES[prefix].make(house)

    answer = client.delete(address(prefix, row))

    assert answer.status_code == 204, answer.content
    assert is_problem(client.get(address(prefix, row)), 404)


@resources
def test_a_log_is_never_altered(client, house, prefix):
    row = SAMPLES[prefix].make(house)
    refused = [m for m in ("patch", "delete") if prefix not in taking(m)]

    answers = [getattr(client, method)(address(prefix, row), {}) for method in refused]

    assert all(is_problem(answer, 405) for answer in answers)
    assert type(row).objects.filter(pk=row.pk).exists()


@posted
def test_the_least_body_makes_one(client, house, prefix):
    answer = client.post(address(prefix), SAMPLES[prefix].body(house))

    assert answer.status_code in {201, 202}, answer.json()
    assert answer["Location"] == f"{address(prefix)}{answer.json()['id']}/"
    assert client.get(answer["Location"]).json()["id"] == answer.json()["id"]
    assert answer["ETag"] == client.get(answer["Location"])["ETag"]


@posted
def test_the_same_post_sent_twice_is_done_once(client, house, prefix):
    body = SAMPLES[prefix].body(house)
    rows = VIEWSETS[prefix].queryset.model.objects

    first = client.post(address(prefix), body, HTTP_IDEMPOTENCY_KEY="from-under-the-floor")
    count = rows.count()
    again = client.post(address(prefix), body, HTTP_IDEMPOTENCY_KEY="from-under-the-floor")

    assert first.status_code in {201, 202}, first.json()
    assert again.status_code == first.status_code
    assert again.json() == first.json()
    assert (again["ETag"], again["Location"]) == (first["ETag"], first["Location"])
    assert "Idempotency-Replayed" not in first
    assert again["Idempotency-Replayed"] == "true"
    assert rows.count() == count


@posted
def test_a_key_cannot_be_used_for_another_body(client, house, prefix):
    body = SAMPLES[prefix].body(house)
    client.post(address(prefix), body, HTTP_IDEMPOTENCY_KEY="once")

    answer = client.post(address(prefix), {**body, "note": "other"}, HTTP_IDEMPOTENCY_KEY="once")

    assert is_problem(answer, 422)
    assert answer.json()["type"].endswith("#key-reused")


@posted
def test_a_refusal_is_not_remembered(client, house, prefix):
    refused = client.post(address(prefix), {}, HTTP_IDEMPOTENCY_KEY="try-again")

    answer = client.post(
        address(prefix), SAMPLES[prefix].body(house), HTTP_IDEMPOTENCY_KEY="try-again"
    )

    assert is_problem(refused, 400)
    assert answer.status_code in {201, 202}, answer.json()


def test_two_people_may_use_the_same_key(client, house):
    helper = signed_in(factories.MemberFactory(property=house, role="helper").user)
    body = {"property": house.pk, "name": "Loft", "level": 3}
    client.post("/api/v1/storeys/", body, HTTP_IDEMPOTENCY_KEY="1")

    answer = helper.post("/api/v1/storeys/", {**body, "level": 4}, HTTP_IDEMPOTENCY_KEY="1")

    assert answer.status_code == 201


def test_a_refused_write_leaves_nothing_behind(client, house):
    users = get_user_model().objects.count()

    answer = client.post("/api/v1/members/", {"property": house.pk, "user": "nobody"})

    assert is_problem(answer, 400)
    assert get_user_model().objects.count() == users


@posted
def test_rows_of_a_strangers_house_cannot_be_named(client, house, prefix):
    body, theirs = SAMPLES[prefix].body(house), SAMPLES[prefix].body(strangers_house())
    named = [field for field in body if names_rows(prefix, field)]

    for field in named:
        answer = client.post(address(prefix), {**body, field: theirs[field]})

        assert is_problem(answer, 400)
        assert f"/{field}" in pointers(answer)
        assert "does not exist" in answer.json()["detail"]
    assert named or prefix == "properties"


def names_rows(prefix, field):
    """Whether a field of the body leads to records of a house (for a move: its boards). What is
    written with a row, such as a piece's defects, is no name of another."""
    if (prefix, field) == ("board-moves", "boards"):
        return True
    fields = VIEWSETS[prefix].queryset.model._meta.get_fields()
    names = {f.name: f for f in fields if not f.auto_created}
    related = getattr(names.get(field), "related_model", None)
    return related is not None and issubclass(related, Record)


@pytest.mark.parametrize("prefix", [p for p in taking("patch") if p != "properties"])
def test_a_row_cannot_move_to_another_house(client, house, prefix):
    row = SAMPLES[prefix].make(house)
    field = row.scope_path.partition("__")[0]
    elsewhere = SAMPLES[prefix].make(another_house_of(house.owner))

    answer = client.patch(address(prefix, row), {field: getattr(elsewhere, field).pk})

    assert is_problem(answer, 400)
