"""Who comes to the door, each with a real token or a real session; and the whole database, to see
whether anything was changed."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client as Browser

from renovation.tokens import make_token
from tests import factories
from tests.clients import Client

NOT_OF_A_HOUSE = (Session, ContentType, Permission)


def with_token(user: Any) -> Client:
    """Somebody's script. Their own errors come back as answers."""
    _, secret = make_token(user=user, name="A test", days=1)
    return Client(
        raise_request_exception=False, headers={"Authorization": f"Token {secret}"}
    )  # fmt: skip


def with_browser(user: Any) -> Browser:
    made = Browser()
    made.force_login(user)
    return made


def member_of(house: Any, role: str) -> Any:
    return factories.MemberFactory(property=house, role=role).user


def somebody_else() -> Any:
    """With a house of their own and no business in ours."""
    return factories.MemberFactory(role="owner").user


@cache
def reading() -> dict[str, str]:
    """What reads each table as it lies in the database, in the order of its keys."""
    quoted = connection.ops.quote_name
    models = apps.get_models(include_auto_created=True)
    return {
        model._meta.label: f"SELECT * FROM {quoted(model._meta.db_table)}"
        f" ORDER BY {quoted(model._meta.pk.column)}"
        for model in models
        if model not in NOT_OF_A_HOUSE and not model._meta.swapped
    }


def everything() -> dict[str, list[Any]]:
    """Every row there is. Walks look twice in each test: asking the models took most of it."""
    with connection.cursor() as cursor:
        return {label: fetched(cursor, asked) for label, asked in reading().items()}


def fetched(cursor: Any, asked: str) -> list[Any]:
    cursor.execute(asked)
    return list(cursor.fetchall())


def changed(before: dict[str, list[Any]]) -> list[str]:
    """The tables that are not as they were."""
    now = everything()
    return [label for label, rows in before.items() if now[label] != rows]
