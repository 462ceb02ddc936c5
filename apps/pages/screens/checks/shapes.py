"""The fields of a check, read from the dataclass that it is asked with, as the API reads them."""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from apps.checks.api.answering import told
from apps.checks.api.asking import NAMED, STRETCHES, told_of
from apps.checks.api.known_settings import SENTENCES_OF

Kind = Literal["number", "whole", "length", "flag", "word", "choice", "named", "text", "part",
               "rows", "pair"]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """From a place to a place along a piece."""

    from_mm: int
    to_mm: int


@dataclass(frozen=True, slots=True)
class Shape:
    """One field of a dataclass.

    Attributes:
        inside: the dataclass of a part, of each row, or of what goes by a name.
        usual: what it is when it is left out, as JSON; None where there is no such thing.
        needed: has to be given.
        text_of: type of what a text is read into, `tuple[int, int]` say.
    """

    owner: type
    name: str
    kind: Kind
    inside: Any
    usual: Any
    needed: bool
    told: str
    words: tuple[str, ...] = ()
    text_of: Any = None


@cache
def shapes_of(asked: type) -> tuple[Shape, ...]:
    """Every field of a dataclass, in its order."""
    hints: dict[str, Any] = get_type_hints(asked)
    sentences = {**told_of(asked), **SENTENCES_OF.get(asked, {})}
    found = []
    for one in fields(asked):
        kind, inside, words = kind_of(one.name, hints[one.name])
        usual = one.default
        if usual is MISSING and one.default_factory is not MISSING:
            usual = one.default_factory()
        needed = usual is MISSING
        if kind == "named" and not needed:
            usual = next((name for name, it in NAMED[inside].items() if it == usual), None)
        usual = None if needed else told(usual)
        found.append(
            Shape(
                asked, one.name, kind, inside, usual, needed, sentences.get(one.name, ""), words,
                hints[one.name] if kind == "text" else None,
            )
        )  # fmt: skip
    return tuple(found)


def kind_of(  # noqa: PLR0911 (a table of types)
    name: str, hint: Any
) -> tuple[Kind, Any, tuple[str, ...]]:
    """How a field is filled in, what is inside it, and the words it may be."""
    hint = bare(hint)
    origin, inside = get_origin(hint), get_args(hint)
    if name in STRETCHES:
        return "rows", Stretch, ()
    if origin is Literal:
        return "choice", None, inside
    if origin is tuple:
        first = bare(inside[0])
        if not is_dataclass(first):
            return "text", None, ()
        return ("rows" if Ellipsis in inside else "pair"), first, ()
    if hint in NAMED:
        return "named", hint, tuple(NAMED[hint])
    if is_dataclass(hint):
        return "part", hint, ()
    if hint in {int, float} and name.endswith("_mm"):
        return "length", hint, ()
    plain: dict[Any, Kind] = {int: "whole", float: "number", bool: "flag", str: "word"}
    return plain[hint], hint, ()


def bare(hint: Any) -> Any:
    """A type without its None."""
    if get_origin(hint) in {Union, types.UnionType}:
        (hint,) = [part for part in get_args(hint) if part is not type(None)]
    return hint


def leaves_of(asked: type) -> Iterator[Shape]:
    """Every field that somebody fills in, whatever it is within; each dataclass once a place."""
    for one in shapes_of(asked):
        if one.kind in {"part", "rows", "pair"}:
            yield from leaves_of(one.inside)
        else:
            yield one
