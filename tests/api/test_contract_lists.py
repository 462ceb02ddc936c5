"""What holds for every list: pages, order, filters, search, and what it costs."""

from __future__ import annotations

import pytest
from django.db import connection, models
from django.test.utils import CaptureQueriesContext
from django_filters import filters as kinds
from django_filters.rest_framework import DjangoFilterBackend

from apps.property.models import Storey
from renovation.models import Record
from tests import factories
from tests.api.samples import SAMPLES
from tests.api.walk import (
    VIEWSETS,
    address,
    is_problem,
    pointers,
    resources,
    strangers_house,
)

NO_ID = 987_654_321


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


@resources
def test_a_search_looks_through_the_text_where_there_is_text(client, house, prefix):
    SAMPLES[prefix].make(house)
    searched = bool(getattr(VIEWSETS[prefix], "search_fields", None))

    answer = client.get(address(prefix), {"search": "zzzz-nowhere"})

    assert answer.status_code == (200 if searched else 400)
    if searched:
        assert answer.json()["results"] == []
