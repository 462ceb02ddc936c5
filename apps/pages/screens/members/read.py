"""Who gets into a house, and what each may do, in words."""

from __future__ import annotations

from typing import Any

from apps.pages.visiting import Visiting
from apps.property.models import Member

ROLES = {
    Member.Role.OWNER: ("owner", "changes everything, and says who gets in"),
    Member.Role.HELPER: ("helper", "changes things, but not who gets in"),
    Member.Role.VIEWER: ("may look only", "changes nothing"),
}
"""What a role is called on the page, and what it means."""
ORDER = tuple(ROLES)
CHOICES = [(role.value, word) for role, (word, _) in ROLES.items()]


def stands(name: str, role: str, *, be: str = "is") -> str:
    """ "kit is a helper", "kit may look only" """
    if role == Member.Role.VIEWER:
        return f"{name} may look only"
    return f"{name} {be} {'an owner' if role == Member.Role.OWNER else 'a helper'}"


def shown(found: Visiting) -> dict[str, Any]:
    """What the page shows, but for its form: owners first, everybody by name."""
    rows = Member.objects.filter(property=found.house).select_related("user")
    members = sorted(rows, key=lambda row: (ORDER.index(Member.Role(row.role)), str(row.user)))
    owners = [row for row in members if row.role == Member.Role.OWNER]
    mine = next((row for row in owners if row.user_id == found.user.pk), None)
    return {
        "lines": [
            {
                "member": row,
                "word": ROLES[Member.Role(row.role)][0],
                "means": ROLES[Member.Role(row.role)][1],
                "me": row.user_id == found.user.pk,
                "last_owner": owners == [row],
            }
            for row in members
        ],
        "owns": mine is not None,
        "roles": CHOICES,
    }
