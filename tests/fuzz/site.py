"""A house that has one of everything, and its ids for requests that are drawn at random.

What the document says of a body is that `floor` is a whole number; which floors there are, it
cannot say. Here the random numbers are exchanged for real ids, so that requests come past the
first refusal.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

from django.db import models
from django.utils import timezone
from django_filters.filters import ModelChoiceFilter
from django_filters.rest_framework import DjangoFilterBackend
from factory.django import DjangoModelFactory
from rest_framework import serializers

from apps.planning.demo import load_demo
from renovation.tokens import make_token
from tests import factories
from tests.api.documented import ASKED
from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import API, RESOURCES, VIEWSETS
from tests.clients import Client, has_file
from tests.fuzz.states import TIMES

KNOWN = {
    "set-out": {"max_board_length_mm": 2400, "first_joist_mm": 50, "first_board_mm": 150},
    "agree": TIMES,
}


@dataclass
class Site:
    """The house, its owner's token, an id of each resource, and which field names which."""

    house: Any
    token: str
    client: Client
    ids: dict[str, int] = field(default_factory=dict)
    named: dict[str, dict[str, int]] = field(default_factory=dict)

    def good_body(self, method: str, path: str) -> dict[str, Any] | None:
        """A body that the address takes, as far as the samples know one."""
        address = path.removeprefix(API)
        prefix = prefix_of(path)
        if address in ACTION_BODIES:
            body = ACTION_BODIES[address](self.house)
            return {**body, "file": body["file"].read()} if has_file(body) else body
        if prefix.removeprefix("checks/") in ASKED:
            return dict(ASKED[prefix.removeprefix("checks/")])
        if (last := address.rstrip("/").rpartition("/")[2]) in KNOWN:
            return dict(KNOWN[last])
        sample = SAMPLES.get(prefix)
        if sample is None or address.count("/") > (2 if "{" in address else 1):
            return None
        if method == "PATCH" or sample.body is None:
            return dict(sample.patch or {})
        body = sample.body(self.house)
        # The demo house has this mark or name already.
        body |= {key: f"{body[key]}9" for key in ("mark", "name") if key in body}
        if not has_file(body):
            return body
        # A file is replaced by sending another; of what is there only the words are changed.
        return {**body, "file": body["file"].read()} if method == "POST" else dict(sample.patch)

    def planted(self, prefix: str, value: Any) -> Any:
        """The value with every field that names a row naming one that there is."""
        if isinstance(value, list):
            return [self.planted(prefix, item) for item in value]
        if not isinstance(value, dict):
            return value
        names = {**self.named[""], **self.named.get(prefix, {})}
        return {
            name: given
            if given is None or name not in names
            else [names[name]] * bool(given)
            if isinstance(given, list)
            else names[name]
            for name, given in ((name, self.planted(prefix, it)) for name, it in value.items())
        }


def built() -> Site:
    """The demo house, with what it does not have made by the samples."""
    for made in vars(factories).values():
        if isinstance(made, type) and issubclass(made, DjangoModelFactory):
            made.reset_sequence(700, force=True)  # clear of the demo house's marks
    owner = factories.UserFactory()
    house = load_demo(owner=owner, today=timezone.localdate())
    house.owner = owner
    _, secret = make_token(user=owner, name="fuzz", days=1)
    site = Site(house, secret, Client())
    site.client.force_authenticate(owner)
    for prefix in (*RESOURCES, "house-arrivals"):
        site.ids[prefix] = SAMPLES[prefix].make(house).pk
    of_model = {VIEWSETS[prefix].queryset.model: pk for prefix, pk in site.ids.items()}
    context = {"request": SimpleNamespace(user=owner)}
    site.named[""] = {}
    for prefix, viewset in VIEWSETS.items():
        site.named[prefix] = {
            name: of_model[model]
            for name, model in (*written(viewset, context), *filtered(viewset))
            if model in of_model
        }
        for name, pk in site.named[prefix].items():
            site.named[""].setdefault(name, pk)
    return site


def written(viewset: Any, context: Any) -> Iterator[tuple[str, type[models.Model]]]:
    """Fields of the body that name rows."""
    if getattr(viewset, "serializer_class", None) is None:
        return
    for name, one in viewset.serializer_class(context=context).fields.items():
        related = getattr(one, "child_relation", one)
        if isinstance(related, serializers.PrimaryKeyRelatedField) and not one.read_only:
            yield name, related.queryset.model


def filtered(viewset: Any) -> Iterator[tuple[str, type[models.Model]]]:
    """Query parameters that name rows."""
    queryset = getattr(viewset, "queryset", None)
    filterset = DjangoFilterBackend().get_filterset_class(viewset, queryset)
    for name, one in (filterset.base_filters if filterset else {}).items():
        if isinstance(one, ModelChoiceFilter):
            yield name, one.queryset.model if hasattr(one.queryset, "model") else one.model


def prefix_of(path: str) -> str:
    parts = path.removeprefix(API).split("/")
    two = "/".join(parts[:2])
    return two if two in VIEWSETS else parts[0]
