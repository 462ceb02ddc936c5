"""From rows to what an archive keeps of them, and back.

Values are JSON: instants, dates and times in ISO 8601, decimals and UUIDs as text, bytes in
base64; everything else as JSON has it. A column's own field knows the way back.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.apps import apps as installed
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import QuerySet, Value

from apps.moving.carried import HOUSE_ONLY, MODELS
from apps.moving.manifest import Refused
from apps.property.models import Property

AT_ONCE = 500
ISO = (datetime, date, time)
TEXT = (UUID, Decimal)


def all_models() -> list[type[models.Model]]:
    """Every model with a table of its own, many-to-many tables among them."""
    return [
        model
        for model in installed.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    ]


def holder(model: type[models.Model]) -> type[models.Model]:
    """The model that a many-to-many table belongs to; any other is its own."""
    found: Any = model._meta.auto_created or model
    return found  # type: ignore[no-any-return]


def in_backup() -> list[type[models.Model]]:
    """Models of a backup. One that nobody has classified is kept rather than lost."""
    return [model for model in all_models() if not why_left(model, "backup")]


def in_house() -> list[type[models.Model]]:
    """Models that go with a house: the tables that name others after those they name."""
    return [
        model
        for model in all_models()
        if holder(model)._meta.label in MODELS and not why_left(model, "house")
    ]


def why_left(model: type[models.Model], kind: str) -> str:
    """The reason that a model stays behind; empty: it is carried. What only joins two models
    stays with either of them."""
    joined = foreign_keys(model) if model._meta.auto_created else []
    for one in (holder(model), *(field.related_model for field in joined)):
        fate = MODELS.get(one._meta.label)
        if fate is not None and (why := str(getattr(fate, kind))):
            return why
    return ""


def rows_of_house(model: type[models.Model], house: Property) -> QuerySet[Any]:
    """A house's rows of a model that goes with it, in the order of their ids."""
    owner: Any = holder(model)
    path = owner.scope_path
    if owner is not model:
        own = next(f for f in foreign_keys(model) if f.related_model is owner)
        path = f"{own.name}__{path}"
    rows = model._default_manager.filter(**{path or "pk": house.pk})
    return rows.filter(**HOUSE_ONLY.get(model._meta.label, {})).order_by("pk")


def foreign_keys(model: type[models.Model]) -> list[Any]:
    return [f for f in model._meta.concrete_fields if isinstance(f, models.ForeignKey)]


def columns_of(model: type[models.Model]) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


def values_of(rows: QuerySet[Any]) -> Iterator[list[Any]]:
    """The rows' columns as JSON has them."""
    columns = columns_of(rows.model)
    for row in rows.values_list(*columns).iterator(chunk_size=AT_ONCE):
        yield [plain(value) for value in row]


def plain(value: Any) -> Any:
    if isinstance(value, ISO):
        return value.isoformat()
    if isinstance(value, TEXT):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode()
    return value


def made_of(model: type[models.Model], row: dict[str, Any]) -> Any:
    """An unsaved row.

    Raises:
        Refused: a value is none of its column's.
    """
    return model(**{name: value_of(model, name, value) for name, value in row.items()})


@lru_cache(maxsize=512)
def fields_of(model: type[models.Model]) -> dict[str, Any]:
    """Its fields by their columns' names: that of a relation is "room_id"."""
    return {field.attname: field for field in model._meta.concrete_fields}


def value_of(model: type[models.Model], name: str, value: Any) -> Any:
    field = fields_of(model).get(name)
    if field is None:
        raise Refused(f"{model._meta.label} has no column {name}.")
    target = field.target_field if field.is_relation else field
    if value is None:
        if target.get_internal_type() == "JSONField" and not field.null:
            return Value(None, models.JSONField())
        return None
    if target.get_internal_type() == "BinaryField":
        return base64.b64decode(value)
    try:
        return target.to_python(value)
    except (ValidationError, TypeError, ValueError, OverflowError) as exc:
        raise Refused(f"{model._meta.label}: {str(value)[:60]!r} is no {name}.") from exc


def batches(rows: Iterator[Any], size: int = AT_ONCE) -> Iterator[list[Any]]:
    batch: list[Any] = []
    for row in rows:
        batch.append(row)
        if len(batch) >= size:
            yield batch
            batch = []
    if batch:
        yield batch
