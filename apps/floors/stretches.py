"""Validators for what is noted along a joist: bearings, decay, notches and holes."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError

LONGEST_MM = 20_000
BEARING_KINDS = ("wall_plate", "masonry_pocket", "sleeper_wall", "hanger", "trimmer", "other")
CUT_KINDS = ("notch", "hole")
EDGES = ("top", "bottom", "centre")


def items(value: Any, numbers: tuple[str, ...], words: dict[str, tuple[str, ...]]) -> None:
    """Each item has exactly these keys: whole millimetres, or one of some words."""
    if not isinstance(value, list) or len(value) > 100:
        raise ValidationError("Give a list of at most 100 items.")
    for item in value:
        if not isinstance(item, dict) or set(item) != {*numbers, *words}:
            raise ValidationError(f"Each item has {', '.join([*numbers, *words])}.")
        for name in numbers:
            if type(item[name]) is not int or not 0 <= item[name] <= LONGEST_MM:
                raise ValidationError(f"{name} is a whole number of millimetres, 0 to 20 m.")
        for name, known in words.items():
            if item[name] not in known:
                raise ValidationError(f"{name} is one of {', '.join(known)}.")


def bearings(value: Any) -> None:
    items(value, ("at_mm", "length_mm"), {"kind": BEARING_KINDS})


def stretches(value: Any) -> None:
    items(value, ("from_mm", "to_mm"), {})
    for item in value:
        if item["from_mm"] >= item["to_mm"]:
            raise ValidationError("A decayed stretch ends after it begins.")


def cuts(value: Any) -> None:
    items(value, ("at_mm", "size_mm", "depth_mm"), {"kind": CUT_KINDS, "edge": EDGES})
