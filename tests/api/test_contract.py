"""What holds for every endpoint: who may see, who may change. Each test walks all that the router
knows, so that a new resource cannot be forgotten."""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import (
    API,
    RESOURCES,
    VIEWSETS,
    address,
    addresses,
    is_problem,
    resources,
    stranger,
    taking,
    viewer_of,
)


def test_every_resource_has_a_sample_to_be_tried_with():
    assert [prefix for prefix in RESOURCES if prefix not in SAMPLES] == []


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
