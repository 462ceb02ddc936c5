"""Walking the router: every resource, every address, every method."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.urls import URLPattern, get_resolver

from renovation.scope import person_path
from renovation.urls import router
from tests import factories
from tests.clients import Client

API = "/api/v1/"
VIEWSETS = {prefix: viewset for prefix, viewset, _ in router.registry}
# Resources are records with ids of their own; what is left are computed answers (a week).
RECORDS = sorted(prefix for prefix, viewset in VIEWSETS.items() if hasattr(viewset, "retrieve"))
# What belongs to one person and to no house has other rules: tests/api/test_tokens.py.
PERSONAL = [prefix for prefix in RECORDS if person_path(VIEWSETS[prefix].queryset.model)]
RESOURCES = [prefix for prefix in RECORDS if prefix not in PERSONAL]


@dataclass(frozen=True)
class Address:
    """One address of the API with the methods it answers; `template` may hold `{pk}` and the
    name of another id."""

    template: str
    methods: tuple[str, ...]

    def at(self, pk: Any) -> str:
        return re.sub(r"\{\w+\}", str(pk), self.template)

    @property
    def prefix(self) -> str:
        path = self.template.removeprefix(API)
        two = "/".join(path.split("/")[:2])
        return two if two in VIEWSETS else path.partition("/")[0]


def addresses() -> list[Address]:
    """Everything under the API, whether a router registered it or not."""
    found = [Address(*pair) for pair in sorted(set(walked(get_resolver().url_patterns, "/")))]
    return [address for address in found if address.template.startswith(API)]


def walked(patterns: Any, before: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    for entry in patterns:
        route = getattr(entry.pattern, "_route", None) or entry.pattern.regex.pattern
        here = before + route.removeprefix("^").removesuffix(r"\Z").removesuffix("$")
        if isinstance(entry, URLPattern):
            view: Any = entry.callback
            methods = getattr(view, "actions", None) or [
                method
                for method in ("get", "post", "put", "patch", "delete")
                if hasattr(getattr(view, "view_class", None), method)
            ]
            yield (
                re.sub(r"\(\?P<(\w+)>[^)]*\)", r"{\1}", here),
                tuple(sorted({*methods} - {"head"})),
            )
        else:
            yield from walked(entry.url_patterns, here)


def taking(method: str) -> list[str]:
    """The resources whose list (`post`) or objects (`patch`, `delete`) take a method."""
    action = {"post": "create", "patch": "update", "delete": "destroy"}[method]
    return [prefix for prefix in RESOURCES if hasattr(VIEWSETS[prefix], action)]


def address(prefix: str, row: Any = None) -> str:
    return f"{API}{prefix}/" if row is None else f"{API}{prefix}/{row.pk}/"


def signed_in(user: Any) -> Client:
    """A client whose errors come back as answers, as they do outside of tests."""
    client = Client(raise_request_exception=False)
    client.force_authenticate(user)
    return client


def viewer_of(house: Any) -> Client:
    """Someone who may look at the house but not change it."""
    return signed_in(factories.MemberFactory(property=house, role="viewer").user)


def stranger() -> Client:
    """Someone with a house of their own and no business in ours."""
    return signed_in(factories.MemberFactory(role="owner").user)


def another_house_of(user: Any) -> Any:
    """A second house that the same person owns."""
    house = factories.MemberFactory(user=user, role="owner").property
    house.owner = user
    return house


def strangers_house() -> Any:
    """A house of somebody else, who is its `owner`."""
    house = factories.PropertyFactory()
    house.owner = factories.MemberFactory(property=house, role="owner").user
    return house


def is_problem(answer: Any, status: int) -> bool:
    """Whether an answer refuses in the contract's shape."""
    return (
        answer.status_code == status
        and answer["Content-Type"] == "application/problem+json"
        and answer.json()["status"] == status
    )


def pointers(answer: Any) -> list[str]:
    return [error["pointer"] for error in answer.json()["errors"]]


resources = pytest.mark.parametrize("prefix", RESOURCES)
posted = pytest.mark.parametrize("prefix", taking("post"))
changed = pytest.mark.parametrize("prefix", taking("patch"))
removed = pytest.mark.parametrize("prefix", taking("delete"))
