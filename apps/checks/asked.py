"""Refusals of what is asked: a number out of range, a word that is none."""

from __future__ import annotations

import math


def between(what: str, value: float, low: float, high: float, unit: str = "mm") -> None:
    """Raise ValueError, with a sentence, for a number out of range."""
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"{what} is {low:g} to {high:g} {unit}".rstrip() + ".")


def one_of(what: str, value: object, known: tuple[object, ...]) -> None:
    """Raise ValueError, with a sentence, for a word that is none of the known ones."""
    if value not in known:
        raise ValueError(f"{what} is one of {', '.join(str(one) for one in known)}.")
