"""What holds for every endpoint. Each test walks all that the router knows, so that a new
resource cannot be forgotten."""

from __future__ import annotations

import pytest
from django.contrib.auth import get_user_model
from django.db import connection, models
from django.test.utils import CaptureQueriesContext
from django_filters import filters as kinds
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.test import APIClient

from apps.property.models import Storey
from renovation.models import Record
from tests import factories
from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import (
    API,
    RESOURCES,
    VIEWSETS,
    address,
    addresses,
    signed_in,
    stranger,
    taking,
    viewer_of,
)

PROBLEM = "application/problem+json"
NO_ID = 987_654_321

resources = pytest.mark.parametrize("prefix", RESOURCES)
posted = pytest.mark.parametrize("prefix", taking("post"))
changed = pytest.mark.parametrize("prefix", taking("patch"))
removed = pytest.mark.parametrize("prefix", taking("delete"))


def another_house_of(user):
    """A second house that the same person owns."""
    house = factories.MemberFactory(user=user, role="owner").property
    house.owner = user
    return house


def strangers_house():
    house = factories.PropertyFactory()
    house.owner = factories.MemberFactory(property=house, role="owner").user
    return house


def is_problem(answer, status):
    return (
        answer.status_code == status
        and answer["Content-Type"] == PROBLEM
        and answer.json()["status"] == status
    )


def pointers(answer):
    return [error["pointer"] for error in answer.json()["errors"]]


def test_every_resource_has_a_sample_to_be_tried_with():
    assert [prefix for prefix in RESOURCES if prefix not in SAMPLES] == []


# Who may see, who may change


@pytest.mark.parametrize("where", addresses(), ids=lambda where: where.template)
def test_nobody_gets_in_without_signing_in(db, where):
    for method in where.methods:
        answer = getattr(APIClient(), method)(where.at(1))

        assert is_problem(answer, 401)
        assert answer["WWW-Authenticate"] == "Token"


@resources
def test_a_stranger_finds_an_empty_list_and_nothing_under_an_id(house, prefix):
    row = SAMPLES[prefix].make(house)
    outside = stranger()

    listed = outside.get(address(prefix)).json()["results"]
    found = [outside.get(a.at(row.pk)) for a in objects_of(prefix) if "get" in a.methods]

    assert row.pk not in [item["id"] for item in listed]
    assert all(is_problem(answer, 404) for answer in found)


@resources
def test_a_stranger_changes_nothing_and_does_not_learn_that_it_is_there(house, prefix):
    row = SAMPLES[prefix].make(house)
    outside = stranger()

    answers = [
        getattr(outside, method)(where.at(row.pk), {})
        for where in objects_of(prefix)
        for method in where.methods
        if method != "get"
    ]

    assert all(is_problem(answer, 404) for answer in answers)


@resources
def test_a_viewer_may_look(house, prefix):
    row = SAMPLES[prefix].make(house)

    answer = viewer_of(house).get(address(prefix, row))

    assert answer.status_code == 200
    assert answer.json()["id"] == row.pk


@resources
def test_a_viewer_changes_nothing(house, prefix):
    row = SAMPLES[prefix].make(house)
    viewer = viewer_of(house)

    answers = {
        f"{method} {where.template}": getattr(viewer, method)(where.at(row.pk), {})
        for where in objects_of(prefix)
        for method in where.methods
        if method != "get"
    }

    assert {at: answer.status_code for at, answer in answers.items()} == dict.fromkeys(answers, 403)
    assert all(is_problem(answer, 403) for answer in answers.values())
    assert type(row).objects.filter(pk=row.pk).exists()


@pytest.mark.parametrize("prefix", [prefix for prefix in taking("post") if prefix != "properties"])
def test_a_viewer_adds_nothing(house, prefix):
    before = VIEWSETS[prefix].queryset.model.objects.count()
    body = SAMPLES[prefix].body(house)
    already = VIEWSETS[prefix].queryset.model.objects.count()

    answer = viewer_of(house).post(address(prefix), body)

    assert is_problem(answer, 403)
    assert VIEWSETS[prefix].queryset.model.objects.count() == already + (prefix == "members")
    assert already >= before


def test_a_viewer_starts_no_action_on_a_list(house):
    lists = {address(prefix) for prefix in RESOURCES}
    actions = [
        where.template
        for where in addresses()
        if where.prefix in RESOURCES
        and "{pk}" not in where.template
        and where.template not in lists
        and "post" in where.methods
    ]

    bodies = {at: ACTION_BODIES[at.removeprefix(API)](house) for at in actions}
    answers = [viewer_of(house).post(at, body) for at, body in bodies.items()]

    assert all(is_problem(answer, 403) for answer in answers)


def objects_of(prefix):
    """The addresses below one object of a resource, its actions included."""
    return [where for where in addresses() if where.template.startswith(f"{API}{prefix}/{{pk}}/")]


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
    """Whether a field of the body leads to records of a house (for a move: its boards)."""
    if (prefix, field) == ("board-moves", "boards"):
        return True
    names = {f.name: f for f in VIEWSETS[prefix].queryset.model._meta.get_fields()}
    related = getattr(names.get(field), "related_model", None)
    return related is not None and issubclass(related, Record)


@pytest.mark.parametrize("prefix", [p for p in taking("patch") if p != "properties"])
def test_a_row_cannot_move_to_another_house(client, house, prefix):
    row = SAMPLES[prefix].make(house)
    field = row.scope_path.partition("__")[0]
    elsewhere = SAMPLES[prefix].make(another_house_of(house.owner))

    answer = client.patch(address(prefix, row), {field: getattr(elsewhere, field).pk})

    assert is_problem(answer, 400)


# Lists


@resources
def test_a_list_comes_in_pages(client, house, prefix):
    made = {SAMPLES[prefix].make(house).pk, SAMPLES[prefix].make(house).pk}

    page = client.get(address(prefix), {"page_size": 1}).json()

    assert set(page) == {"count", "next", "previous", "results"}
    assert page["count"] >= len(made)
    assert len(page["results"]) == 1
    assert (page["next"] is None) == (page["count"] == 1)
    assert page["previous"] is None


def test_a_page_holds_at_most_200_rows(client, house):
    Storey.objects.bulk_create(
        Storey(property=house, name=f"Level {level}", level=level) for level in range(201)
    )

    page = client.get("/api/v1/storeys/", {"page_size": 1000}).json()

    assert (len(page["results"]), page["count"]) == (200, 201)


def test_pages_never_repeat_or_skip_a_row_of_equal_order(client, house):
    for _ in range(5):
        factories.RoomFactory(property=house, use="other")

    pages = [
        client.get("/api/v1/rooms/", {"ordering": "use", "page_size": 2, "page": page}).json()
        for page in (1, 2, 3)
    ]

    ids = [room["id"] for page in pages for room in page["results"]]
    assert sorted(ids) == ids
    assert len(set(ids)) == 5


@pytest.mark.parametrize("size", ["0", "-1", "many", "1.5", "²", ""])
def test_a_page_size_that_is_no_count_is_refused(client, size):
    answer = client.get("/api/v1/rooms/", {"page_size": size})

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/page_size"]


def test_a_page_past_the_end_is_not_found(client):
    assert is_problem(client.get("/api/v1/rooms/", {"page": 2}), 404)


@resources
def test_a_list_can_be_ordered_by_what_it_offers(client, house, prefix):
    SAMPLES[prefix].make(house)

    for field in VIEWSETS[prefix].ordering_fields:
        for sign in ("", "-"):
            assert client.get(address(prefix), {"ordering": sign + field}).status_code == 200


@resources
def test_an_unknown_order_is_refused(client, prefix):
    answer = client.get(address(prefix), {"ordering": "colour"})

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/ordering"]


@resources
def test_a_misspelt_query_parameter_is_refused_not_passed_over(client, prefix):
    answer = client.get(address(prefix), {"propertty": 1})

    assert is_problem(answer, 400)
    assert pointers(answer) == ["/propertty"]


def filters_of(prefix):
    viewset = VIEWSETS[prefix]
    filterset = DjangoFilterBackend().get_filterset_class(viewset, viewset.queryset)
    return filterset.base_filters if filterset else {}


@resources
def test_a_wrong_filter_value_is_refused_with_its_name(client, prefix):
    for name in checked_filters(prefix):
        answer = client.get(address(prefix), {name: "no such value"})

        assert is_problem(answer, 400), name
        assert pointers(answer) == [f"/{name}"]


def checked_filters(prefix):
    """All filters but those by free text."""
    columns = {f.name: f for f in VIEWSETS[prefix].queryset.model._meta.get_fields()}
    return [
        name
        for name, kind in filters_of(prefix).items()
        if not isinstance(kind, kinds.CharFilter)
        or getattr(columns.get(kind.field_name), "choices", None)
    ]


@resources
def test_a_strangers_row_as_a_filter_is_as_unknown_as_none_at_all(client, house, prefix):
    theirs = SAMPLES[prefix].make(strangers_house())

    for name, kind in filters_of(prefix).items():
        named = getattr(theirs, kind.field_name, None) if "__" not in kind.field_name else None
        if isinstance(kind, kinds.ModelChoiceFilter) and isinstance(named, Record):
            answer = client.get(address(prefix), {name: named.pk})
            none = client.get(address(prefix), {name: NO_ID})

            assert is_problem(answer, 400)
            assert answer.json()["errors"] == none.json()["errors"]


@resources
def test_a_list_can_be_filtered_by_every_relation_state_and_date(prefix):
    filtered = {(kind.field_name, kind.lookup_expr) for kind in filters_of(prefix).values()}
    shown = set(VIEWSETS[prefix].serializer_class.Meta.fields)
    asked = set()
    for field in VIEWSETS[prefix].queryset.model._meta.concrete_fields:
        if field.name not in shown:
            continue
        if (field.is_relation and issubclass(field.related_model, Record)) or field.choices:
            asked.add((field.name, "exact"))
        elif isinstance(field, models.DateField):
            asked |= {(field.name, "gte"), (field.name, "lte")}

    assert asked - filtered == set()


@resources
def test_a_longer_list_takes_no_more_queries(client, house, prefix):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert client.get(address(prefix)).status_code == 200
        return len(caught)

    for _ in range(2):
        SAMPLES[prefix].make(house)
    few = queries()
    for _ in range(5):
        SAMPLES[prefix].make(house)

    assert queries() == few
    assert few <= SAMPLES[prefix].queries


# Versions


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


# Posting


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


@resources
def test_a_search_looks_through_the_text_where_there_is_text(client, house, prefix):
    SAMPLES[prefix].make(house)
    searched = bool(getattr(VIEWSETS[prefix], "search_fields", None))

    answer = client.get(address(prefix), {"search": "zzzz-nowhere"})

    assert answer.status_code == (200 if searched else 400)
    if searched:
        assert answer.json()["results"] == []
