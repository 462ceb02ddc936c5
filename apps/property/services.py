"""Changes of a house's own record."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from apps.property.models import Member, Property
from renovation.errors import Problem


@transaction.atomic
def open_property(*, owner: Any, **fields: Any) -> Property:
    """Start a house's record, with its owner as first member: nobody else sees it."""
    house = Property.objects.create(**fields)
    Member.objects.create(property=house, user=owner, role=Member.Role.OWNER)
    return house


@transaction.atomic
def remove_member(*, member: Member) -> None:
    """Take someone's access away.

    Raises:
        Problem: `last-owner`, since a house that nobody owns could never be opened again.
    """
    others = Member.objects.filter(property=member.property, role=Member.Role.OWNER).exclude(
        pk=member.pk
    )
    if member.role == Member.Role.OWNER and not others.exists():
        raise Problem("last-owner", f"{member.user} is the last owner of {member.property}.")
    member.delete()
