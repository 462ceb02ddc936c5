"""Who may see and who may change: one rule for every endpoint.

Whatever changes something asks here first. A write of the API that was answered without having
asked is taken back (`ContractView.finalize_response`), so an endpoint cannot forget to.
"""

from __future__ import annotations

from contextvars import ContextVar
from typing import Any, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)

WRITERS = ("owner", "helper")
_leave: ContextVar[bool] = ContextVar("leave", default=False)


def members_path(model: type[Model]) -> str:
    """The query path from a record to its house's members."""
    scope_path = str(getattr(model, "scope_path", "property"))
    return f"{scope_path}__members" if scope_path else "members"


def person_path(model: type[Model]) -> str:
    """The field that says whose a row is, for what belongs to one person; else empty."""
    return str(getattr(model, "person_path", ""))


def visible(queryset: QuerySet[Row], user: Any) -> QuerySet[Row]:
    """The rows of houses that the user is a member of, or the user's own."""
    if not user.is_authenticated:
        return queryset.none()
    if own := person_path(queryset.model):
        return queryset.filter(**{own: user})
    return queryset.filter(**{f"{members_path(queryset.model)}__user": user})


def may_write(row: Model, user: Any) -> bool:
    """Whether the user may change this row, as the database knows it now."""
    model = type(row)
    if own := person_path(model):
        whose = {own: user}
    else:
        path = members_path(model)
        whose = {f"{path}__user": user, f"{path}__role__in": WRITERS}
    return given(model._default_manager.filter(pk=row.pk, **whose).exists())


def may_change(user: Any, house_id: int) -> bool:
    """Whether the user may change the house of this id."""
    return given(bool(user.houses.filter(property=house_id, role__in=WRITERS).exists()))


def given(leave: bool) -> bool:
    """Remember that leave was asked for and given."""
    if leave:
        _leave.set(True)
    return leave


def ask_anew() -> None:
    """A request begins: nobody has given leave yet."""
    _leave.set(False)


def was_given() -> bool:
    """Whether this request asked for leave to change something, and got it."""
    return _leave.get()
