"""How a house lies, in one digest, and what is kept under it (`renovation.kept`)."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from django.db import connection
from django.db.models import F, JSONField, Model, TextField, Value
from django.db.models.functions import Cast, JSONObject

from apps.floors.models import Board, Floor, Joist
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey
from renovation.kept import digest_of, recall, remember, through_json

GROUND = (
    (Storey, "property"),
    (Room, "property"),
    (Doorway, "property"),
    (HouseholdRoute, "property"),
    (Floor, "property"),
    (Joist, "floor__property"),
    (Board, "floor__property"),
)
"""Every kind of row that says where one can walk and stand, and its way to the house."""

ANY_HOUSE = -1


def lie_of(house: Property) -> str:
    """How a house lies: a digest of all its rows that say where one can walk and stand.

    Every column of them, so that no change can be missed; one statement, so that they are all
    of one moment; no objects made of them, since this is read before every answer.
    """
    sql, params = lie_statement(connection.vendor)
    with connection.cursor() as cursor:
        cursor.execute(sql, [house.pk if value == ANY_HOUSE else value for value in params])
        return digest_of(*sorted(cursor.fetchall()))


@cache
def lie_statement(vendor: str) -> tuple[str, tuple[Any, ...]]:
    """The statement for any house: making it takes ten times as long as running it."""
    first, *others = (
        model._default_manager.filter(**{path: ANY_HOUSE})
        .order_by()
        .values_list(Value(model._meta.label_lower, TextField()), "pk", whole_row(model))
        for model, path in GROUND
    )
    return first.union(*others, all=True).query.sql_with_params()


def whole_row(model: type[Model]) -> Cast:
    """A row as one text; outlines as they are stored."""
    columns = {
        column.attname: Cast(column.name, TextField())
        if isinstance(column, JSONField)
        else F(column.attname)
        for column in model._meta.concrete_fields
    }
    return Cast(JSONObject(**columns), TextField())


def of_house(
    house: Property,
    name: str,
    about: object,
    work_out: Callable[[], Any],
    *,
    lie: str | None = None,
) -> Any:
    """What `work_out` reads and makes of a house's ground, or made of the same before.

    Args:
        about: all that the answer depends on beside the lie of the house.
        lie: as read a moment ago by whoever asks for several things.
    """
    lie = lie or lie_of(house)
    key = digest_of(house.pk, lie, about)
    found = recall(name, key)
    if found is None:
        found = through_json(work_out())
        # Versions only go up: the same lie again means that no row changed while it was read.
        if lie_of(house) == lie:
            remember(name, key, found)
    return found
