"""What forms of the timber screen carry, read: lengths, numbers, rows of this house."""

from __future__ import annotations

from math import isfinite
from typing import Any

from django.http import Http404, HttpRequest

from apps.pages.typed_lengths import typed_length_mm
from apps.pages.visiting import Visiting
from apps.timber.models import CuttingPlan, Need, Piece
from renovation.errors import field_problem

LONGEST_WRITTEN = 40


def length_of(request: HttpRequest, name: str) -> int:
    """A typed length [mm].

    Raises:
        Problem: `invalid` at the field.
    """
    try:
        return typed_length_mm(request.POST.get(name, "")[:LONGEST_WRITTEN])
    except ValueError as exc:
        raise field_problem(f"/{name}", str(exc)) from exc


def number_of(request: HttpRequest, name: str, *, what: str) -> float | None:
    """A typed number, with a point or a comma; None for an empty field.

    Raises:
        Problem: `invalid` at the field.
    """
    written = request.POST.get(name, "").strip().removesuffix("%").strip().replace(",", ".")
    if not written:
        return None
    try:
        number = float(written[:LONGEST_WRITTEN])
    except ValueError:
        number = float("nan")
    if not isfinite(number):
        raise field_problem(f"/{name}", f"Write {what} as a number, like 18.5.")
    return number


def row_of(rows: Any, key: int) -> Any:
    """The row of an id among those of this house.

    Raises:
        Http404: when there is none.
    """
    found = rows.filter(pk=key).first() if key < 2**63 else None
    if found is None:
        raise Http404
    return found


def piece_of(found: Visiting, key: int) -> Piece:
    piece: Piece = row_of(
        Piece.objects.filter(property=found.house).select_related("property", "cut_from"), key
    )
    return piece


def need_of(found: Visiting, key: int) -> Need:
    need: Need = row_of(
        Need.objects.filter(property=found.house).select_related(
            "property", "task", "joist__floor__storey", "floor"
        ),
        key,
    )
    return need


def plan_of(found: Visiting, key: int) -> CuttingPlan:
    plan: CuttingPlan = row_of(CuttingPlan.objects.filter(property=found.house), key)
    return plan
