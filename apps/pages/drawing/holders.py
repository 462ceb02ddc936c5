"""A letter for everyone who needs boards open, so that a drawing says whose boards are whose."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Literal

HolderKind = Literal["trade", "task", "inspection"]

TAKEN = "FLUMTSDNX"
"""Letters that boards and joists have; nobody gets one of them while another is free."""
OWN_WORK, LOOKS = "O", "I"


@dataclass(frozen=True, slots=True)
class Holder:
    """Someone a board is kept open for: a trade, the crew's own task, or an inspection."""

    kind: HolderKind
    id: int
    name: str
    craft: str = ""


def letters(holders: Iterable[Holder]) -> dict[tuple[HolderKind, int], str]:
    """A letter by kind and id: a trade has its craft's, own work has O, whoever inspects has I."""
    found: dict[tuple[HolderKind, int], str] = {}
    used = {OWN_WORK, LOOKS}
    for one in sorted(holders, key=lambda one: (one.kind != "trade", one.craft, one.name, one.id)):
        if one.kind != "trade":
            found[one.kind, one.id] = OWN_WORK if one.kind == "task" else LOOKS
            continue
        if (one.kind, one.id) not in found:
            letter = free_letter(one.craft or one.name, used)
            used.add(letter)
            found[one.kind, one.id] = letter
    return found


def free_letter(word: str, used: set[str]) -> str:
    """The first letter of a word that nobody has; then any; a number when all are gone."""
    own = [letter for letter in word.upper() if letter in ascii_uppercase]
    wanted = [letter for letter in own if letter not in TAKEN]
    rest = [letter for letter in ascii_uppercase if letter not in TAKEN]
    for letter in [*wanted, *rest, *list(TAKEN)]:
        if letter not in used:
            return letter
    return str(len(used))
