"""What each role asks of a section: how far it may stray, and what may be done about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from apps.timber.pieces_as_data import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleRule:
    """What a role asks of a section, as it will lie: breadth across, depth upright.

    Attributes:
        breadth, depth: how much under and over the wanted size is still right [mm].
        structural: it carries load: an ungraded piece needs a deviation.
        checks: a piece too small may do if the joist check passes at its real section.
        packs: a piece too shallow may be packed up to its level.
        sentence: why.
    """

    breadth: tuple[int, int]
    depth: tuple[int, int]
    structural: bool = False
    checks: bool = False
    packs: bool = False
    sentence: str = ""


# Common practice, no source.
ROLES: Mapping[str, RoleRule] = {
    Role.JOIST: RoleRule(
        breadth=(1, 40), depth=(1, 1), structural=True, checks=True, packs=True,
        sentence="The top is level with its neighbours; a broader joist is only heavier.",
    ),
    Role.SISTER: RoleRule(
        breadth=(1, 40), depth=(10, 0), structural=True, checks=True,
        sentence="It may be a little shallower than the joist it doubles, never stand above it.",
    ),
    Role.LAP_END: RoleRule(
        breadth=(1, 20), depth=(2, 1), structural=True,
        sentence="The new end meets the old joist at top and bottom.",
    ),
    Role.TRIMMER: RoleRule(
        breadth=(1, 40), depth=(1, 1), structural=True, checks=True, packs=True,
        sentence="As a joist.",
    ),
    Role.NOGGIN: RoleRule(
        breadth=(5, 40), depth=(30, 0),
        sentence="It may stop short of the ceiling below, never stand above the joists.",
    ),
    Role.PLATE: RoleRule(
        breadth=(5, 25), depth=(2, 2), structural=True, packs=True,
        sentence="The joists' level comes from its depth; its breadth carries them.",
    ),
    Role.BATTEN: RoleRule(
        breadth=(3, 25), depth=(1, 1), packs=True,
        sentence="The boards' level comes from its depth.",
    ),
    Role.PACKER: RoleRule(
        breadth=(5, 25), depth=(0, 0),
        sentence="A packer is its depth.",
    ),
    Role.STRUT: RoleRule(
        breadth=(2, 25), depth=(5, 25),
        sentence="It braces; a stouter one is only heavier.",
    ),
    Role.OTHER: RoleRule(
        breadth=(2, 10), depth=(2, 10),
        sentence="Nearly the size that was written down.",
    ),
}  # fmt: skip
