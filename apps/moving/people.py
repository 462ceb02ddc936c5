"""The people whom a house's rows name, and who they are here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from django.contrib.auth import get_user_model
from django.db import IntegrityError, transaction

from apps.moving.manifest import Refused
from apps.property.models import Member

LONGEST_NAME = 150
MOST_PEOPLE = 500
"""Each becomes an account: a file that anybody may have made must not make thousands."""


class People:
    """Everybody in the file, by the id they had: matched by name, or kept as names.

    An account that only keeps a name is not active and has no password: nobody signs in to it.
    """

    def __init__(self, house: Mapping[str, Any], *, by_name: bool) -> None:
        self.users = get_user_model()
        self.label = self.users._meta.label
        self.ids: dict[int, int] = {}
        self.matched: list[tuple[Any, str]] = []
        self.wanted_owners: list[str] = []
        names = []
        for person in read_people(house):
            found = None
            if by_name:
                found = self.users._default_manager.filter(username=person["name"]).first()
            if found is None:
                found = self.only_name(person["name"])
                names.append(person["name"])
            elif found.is_active and person["role"]:
                self.matched.append((found, person["role"]))
            if person["role"] == Member.Role.OWNER:
                self.wanted_owners.append(person["name"])
            self.ids[person["id"]] = found.pk
        self.only_names = tuple(names)

    def only_name(self, name: str) -> Any:
        taken = self.users._default_manager.filter(username__startswith=name[:140])
        known = set(taken.values_list("username", flat=True))
        number = 1
        while True:
            free = name if number == 1 else f"{name[:140]} ({number})"
            if free not in known:
                user = self.users(username=free, is_active=False)
                user.set_unusable_password()
                # Another house that comes in at the same moment may take the name.
                with suppress(IntegrityError), transaction.atomic():
                    user.save()
                    return user
            number += 1

    def members(self, owners: list[Any]) -> Iterator[tuple[Any, str]]:
        """Who may see the house here: its owners, and the others who were found by name."""
        for user in owners:
            yield user, Member.Role.OWNER
        for user, role in self.matched:
            if user not in owners:
                yield user, role


def refuse_nobody(people: People, owner: Any) -> list[Any]:
    """Who owns the house here.

    Raises:
        Refused: nobody would.
    """
    if owner is not None:
        return [owner]
    owners = [user for user, role in people.matched if role == Member.Role.OWNER]
    if not owners:
        names = ", ".join(people.wanted_owners) or "nobody"
        raise Refused(
            f"It belongs to {names}, and nobody of that name is here: say whose it is with --owner."
        )
    return owners


def read_people(house: Mapping[str, Any]) -> list[dict[str, Any]]:
    found = house.get("people")
    roles = {"", *Member.Role.values}
    if not isinstance(found, list) or not all(
        isinstance(one, dict)
        and type(one.get("id")) is int
        and isinstance(one.get("name"), str)
        and 0 < len(one["name"]) <= LONGEST_NAME
        and one["name"].isprintable()
        and one.get("role") in roles
        for one in found
    ):
        raise Refused("What it says of its people makes no sense.")
    if len(found) > MOST_PEOPLE:
        raise Refused(f"It names more than {MOST_PEOPLE} people.")
    if len({one["id"] for one in found}) != len(found):
        raise Refused("It names one person twice.")
    return found
