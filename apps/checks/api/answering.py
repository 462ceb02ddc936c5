"""Answers of the checks as JSON: figures short enough to read, stretches with names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any

from apps.checks.api.asking import STRETCHES

DIGITS = 6
AS_IT_IS = frozenset({str, int, bool, type(None)})


def told(value: Any) -> Any:
    """Plain JSON of a dataclass and all that is in it, numbers to six significant digits."""
    kind: Any = type(value)
    if kind in AS_IT_IS:
        return value
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if members := members_of(kind):
        return {
            name: stretches(getattr(value, name)) if named else told(getattr(value, name))
            for name, named in members
        }
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {str(name): told(one) for name, one in value.items()}
    if isinstance(value, tuple | list):
        return [told(one) for one in value]
    return value


@cache
def members_of(kind: type) -> tuple[tuple[str, bool], ...]:
    """Names of a dataclass's fields, and whether each holds stretches; none of another type."""
    if not is_dataclass(kind):
        return ()
    return tuple((one.name, one.name in STRETCHES) for one in fields(kind))


def stretches(value: Any) -> list[dict[str, int]]:
    """Stretches as a body has them, so that what was given can be asked again."""
    return [{"from_mm": low, "to_mm": high} for low, high in value]
