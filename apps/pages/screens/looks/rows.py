"""Rows that an address of this screen names, all of one house."""

from __future__ import annotations

from typing import TypeVar

from django.db.models import Model, QuerySet
from django.http import Http404

from apps.inspections.models import Condition, Inspection
from apps.pages.visiting import Visiting, id_of

Row = TypeVar("Row", bound=Model)


def row_of(rows: QuerySet[Row], key: int) -> Row:
    """The row of an id.

    Raises:
        Http404: when it is none of these.
    """
    found = rows.filter(pk=key).first() if key < 2**63 else None
    if found is None:
        raise Http404
    return found


def named(rows: QuerySet[Row], written: str) -> Row | None:
    """The row that a form names; None for an empty field.

    Raises:
        Http404: when it is none of these.
    """
    return row_of(rows, id_of(written) or 0) if written else None


def inspection_of(found: Visiting, key: int) -> Inspection:
    return row_of(found.house.inspections.select_related("property", "floor"), key)


def condition_of(found: Visiting, key: int) -> Condition:
    rows = Condition.objects.filter(sign_off__property=found.house, sign_off__superseded_by=None)
    return row_of(rows.select_related("sign_off__inspection"), key)
