"""Rows written as the API writes them: by its own serializers, with their rules and refusals."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet
from django.http import Http404, HttpRequest
from rest_framework import exceptions
from rest_framework.utils.encoders import JSONEncoder

from apps.pages.screens.house.fields import HouseForm
from apps.pages.visiting import Visiting
from renovation import problems
from renovation.errors import Problem
from renovation.models import Record
from renovation.serializers import CheckedSerializer

Rule = Callable[[Any, Mapping[str, Any]], None]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of row that these pages write.

    Attributes:
        rule: what the API's viewset asks between reading and saving, of (row or None, wanted).
        page: url name of the page on which it is listed.
        along: what goes with a row that is taken off the record; anything else keeps it there.
        stays: removing leads back to the page that it was asked on.
    """

    model: type[Record]
    serializer: type[CheckedSerializer[Any]]
    page: str
    rule: Rule | None = None
    along: tuple[type[Model], ...] = ()
    stays: bool = False

    def rows(self, house: Model) -> QuerySet[Any]:
        """The rows of one house."""
        return self.model._default_manager.filter(**{self.model.scope_path or "pk": house.pk})

    def row(self, house: Model, key: int, *, locked: bool = False) -> Any:
        """One row of the house; locked when it will change, as the API locks it.

        Raises:
            Http404: when it is none of its rows.
        """
        rows = self.rows(house)
        if locked:
            rows = rows.select_for_update(no_key=True, of=("self",))
        found = rows.filter(pk=key).order_by().first() if key < 2**63 else None
        if found is None:
            raise Http404
        return found


@dataclass(frozen=True, slots=True)
class Sender:
    """What a serializer asks of a request: whose it is."""

    user: Any


def write(kind: Kind, found: Visiting, said: Mapping[str, Any], row: Any = None) -> Any:
    """Save a new row, or change one, exactly as a POST or a PATCH would.

    Raises:
        rest_framework.exceptions.ValidationError, Problem: what the API refuses.
    """
    body = {name: plain(value) for name, value in said.items()}
    serializer = kind.serializer(
        row, data=body, partial=row is not None, context={"request": Sender(found.user)}
    )
    serializer.is_valid(raise_exception=True)
    if kind.rule:
        kind.rule(row, serializer.validated_data)
    return serializer.save()


def plain(value: Any) -> Any:
    """A cleaned field as the body of a request has it."""
    if isinstance(value, Model):
        return value.pk
    if isinstance(value, QuerySet):
        return [row.pk for row in value]
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return value


def as_it_is(kind: Kind, found: Visiting, row: Any, names: Mapping[str, Any]) -> str:
    """Some fields of a row as JSON, for putting them back."""
    now = kind.serializer(row, context={"request": Sender(found.user)}).data
    return json.dumps({name: now[name] for name in names}, cls=JSONEncoder)


def blame(form: HouseForm, exc: Exception, also: Mapping[str, str]) -> int:
    """Say at its field what was refused; answers the status.

    Args:
        also: the API's names of fields that have another name on the form.

    Raises:
        the exception itself, when it is no refusal or says that nothing may be done here.
    """
    problem = problems.as_problem(exc)
    if problem is None or problem.status_code not in {400, 409}:
        raise exc
    told = problem.errors or [{"pointer": "", "detail": problem.detail}]
    for error in told:
        name = error["pointer"].strip("/").partition("/")[0]
        name = also.get(name, name)
        form.add_error(name if name in form.fields else None, error["detail"])
    return problem.status_code


def refuse_changed(request: HttpRequest, row: Record, *, now: str, yours: str = "") -> None:
    """Refuse a step on what changed since its page was opened, with both: what the book has by
    now, and what was asked for.

    Raises:
        Problem: `stale`, 412.
    """
    seen = request.POST.get("version", "")
    if seen and seen != str(row.version):
        told = f"{row} changed since you opened it. The book has by now: {now}."
        wanted = f" You wrote: {yours}." if yours else ""
        raise Problem("stale", told + wanted, status_code=412, current={"stands": now})


REFUSALS = (ValidationError, exceptions.ValidationError, Problem)
"""What `write` and the services raise, for `blame`."""
