"""What every page has around it: the screens to go to, what was just done, and its undoing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

SCREENS: tuple[tuple[str, str], ...] = (
    ("tonight", "Tonight"),
    ("week", "Week"),
    ("floor", "Floor"),
    ("timber", "Timber"),
    ("checks", "Checks"),
    ("looks", "Looks"),
    ("house", "House"),
)
"""Url name and word of each screen, in the order of the bar at the bottom."""

SAID = "said"
MOST_SAID = 8


@dataclass(frozen=True, slots=True)
class Undo:
    """The form that takes an action back: where it goes, and its hidden fields."""

    address: str
    fields: Mapping[str, str | int | Sequence[str | int]] = field(default_factory=dict)

    def pairs(self) -> list[tuple[str, str]]:
        return [
            (name, str(value))
            for name, given in self.fields.items()
            for value in ([given] if isinstance(given, str | int) else given)
        ]


def say(
    request: HttpRequest, sentence: str, *, undo: Undo | None = None, refused: bool = False
) -> None:
    """Have a sentence shown on the next page, with a way to undo what it tells."""
    line = {
        "sentence": sentence,
        "refused": refused,
        "undo": undo.address if undo else "",
        "fields": undo.pairs() if undo else [],
    }
    request.session[SAID] = [*request.session.get(SAID, []), line][-MOST_SAID:]


def for_every_page(request: HttpRequest) -> dict[str, Any]:
    """Context processor. What was said is taken from the session only when a page shows it."""
    return {
        "said": SimpleLazyObject(lambda: request.session.pop(SAID, [])),
        "screens": screens(),
        "shown_at": timezone.now(),
    }


def screens() -> list[dict[str, str]]:
    """The screens there are: one without an address is left out."""
    found = [{"name": n, "word": word, "address": address_of(n)} for n, word in SCREENS]
    return [screen for screen in found if screen["address"]]


def address_of(*names: str) -> str:
    """The address of the first of these url names that there is; empty when there is none."""
    for name in names:
        try:
            return reverse(name)
        except NoReverseMatch:
            continue
    return ""
