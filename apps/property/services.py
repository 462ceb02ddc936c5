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
def show_feet(*, house: Property, user: Any, shows_feet: bool) -> None:
    """Show a person feet and inches beside metric lengths, or no more.

    It is about what that person sees, so whoever may only look may say it too.
    """
    for member in Member.objects.select_for_update().filter(property=house, user=user):
        member.change(shows_feet=shows_feet)


@transaction.atomic
def change_member(*, member: Member, by: Any, **values: Any) -> Member:
    """Change what somebody may do. How lengths are shown to oneself, anyone may say.

    Raises:
        Problem: `owners-only`; `last-owner` for the only owner who would be none any more.
    """
    if member.user_id != by.pk or not values.keys() <= {"shows_feet"}:
        refuse_others_than_owners(house=member.property, by=by)
    if values.get("role", member.role) != Member.Role.OWNER:
        refuse_losing_the_last_owner(member=member)
    member.change(**values)
    return member


@transaction.atomic
def remove_member(*, member: Member, by: Any) -> None:
    """Take someone's access away. Anyone may leave; only an owner sends others away.

    Raises:
        Problem: `owners-only`; `last-owner`, since a house that nobody owns could never be
            opened again.
    """
    if member.user_id != by.pk:
        refuse_others_than_owners(house=member.property, by=by)
    refuse_losing_the_last_owner(member=member)
    member.delete()


def refuse_others_than_owners(*, house: Property, by: Any) -> None:
    """Refuse anyone who does not own the house: a helper could make himself its owner.

    Raises:
        Problem: `owners-only`, 403.
    """
    if not is_owner(house=house, user=by):
        raise Problem("owners-only", f"Only an owner of {house} decides this.", status_code=403)


def is_owner(*, house: Property, user: Any) -> bool:
    """Whether it is the user's house."""
    return Member.objects.filter(property=house, user=user, role=Member.Role.OWNER).exists()


def refuse_losing_the_last_owner(*, member: Member) -> None:
    """Refuse to take the only owner's ownership away.

    Raises:
        Problem: `last-owner`.
    """
    # Of two owners who send each other away at once, one waits here and then is the last.
    Property.objects.select_for_update(no_key=True).get(pk=member.property_id)
    others = Member.objects.filter(property=member.property, role=Member.Role.OWNER).exclude(
        pk=member.pk
    )
    if member.role == Member.Role.OWNER and not others.exists():
        raise Problem("last-owner", f"{member.user} is the last owner of {member.property}.")
