"""What a query says of a check: texts by the path of their field, and the body made of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, get_args, get_origin

from django.http import QueryDict

from apps.checks.api.asking import body_of, made
from apps.pages.screens.checks.shapes import Shape, bare, shapes_of
from apps.pages.typed_lengths import typed_length_mm
from renovation.errors import Problem

MOST_ROWS = 60
MOST_TYPED = 4000
YES_NO: Mapping[str, bool] = {"yes": True, "no": False}
Texts = dict[str, str]


@dataclass
class Asked:
    """A question as far as it could be read.

    Attributes:
        question: the dataclass; None where something is wrong.
        errors: sentences by the path of a field; "" for what no one field is to blame for.
    """

    question: Any = None
    errors: dict[str, list[str]] = field(default_factory=dict)


def flat(asked: type, given: Mapping[str, Any] | None, path: str = "") -> Texts:
    """A body as texts by path. `given` None: a part that is left out, all empty."""
    found: Texts = {}
    for one in shapes_of(asked):
        here = f"{path}{one.name}"
        value = None if given is None else given.get(one.name, one.usual)
        if one.kind == "part":
            found |= flat(one.inside, value, f"{here}.")
        elif one.kind in {"rows", "pair"}:
            for number, row in enumerate(value or ()):
                found |= flat(one.inside, row, f"{here}.{number}.")
        else:
            found[here] = spelled(value)
    return found


def spelled(value: Any) -> str:
    """A value as it stands in its field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, list | tuple):
        deep = value and isinstance(value[0], list | tuple)
        rings = deep and value[0] and isinstance(value[0][0], list | tuple)
        if rings:
            return "; ".join(spelled(one) for one in value)
        if deep:
            closed = len(value) > 1 and tuple(value[0]) == tuple(value[-1])
            points = value[:-1] if closed else value
            return ", ".join(" ".join(str(mm) for mm in point) for point in points)
        return ", ".join(str(one) for one in value)
    return str(value)


def overlaid(texts: Texts, query: QueryDict) -> Texts:
    """What the query says over what the form began with; what it does not know is let be."""
    told = {
        key: value[:MOST_TYPED]
        for key, value in query.items()
        if isinstance(value, str) and re.fullmatch(r"[a-z_0-9.]{1,120}", key)
    }
    return {**texts, **told}


def rows_of(texts: Texts, path: str, *, least: int = 0) -> list[int]:
    """Numbers of the rows of a list that say anything."""
    start = f"{path}."
    found = {
        int(number)
        for key, value in texts.items()
        if key.startswith(start) and value.strip()
        for number in [key[len(start) :].partition(".")[0]]
        if number.isascii() and number.isdigit() and len(number) < 4
    }
    return sorted({*found, *range(least)})[:MOST_ROWS]


def body_from(asked: type, texts: Texts, path: str, at: str, places: dict[str, str]) -> Any:
    """The body that texts come to; what is left empty is left out.

    Args:
        places: filled with the path of each field by its pointer in the body.
    """
    body: dict[str, Any] = {}
    for one in shapes_of(asked):
        here, pointer = f"{path}{one.name}", f"{at}/{one.name}"
        places[pointer] = here
        if one.kind == "part":
            part = body_from(one.inside, texts, f"{here}.", pointer, places)
            if part or (one.needed or one.usual is not None):
                body[one.name] = part
        elif one.kind == "rows":
            body[one.name] = [
                body_from(one.inside, texts, f"{here}.{number}.", f"{pointer}/{place}", places)
                for place, number in enumerate(rows_of(texts, here))
            ]
        elif one.kind == "pair":
            both = [
                body_from(one.inside, texts, f"{here}.{number}.", f"{pointer}/{number}", places)
                or None
                for number in (0, 1)
            ]
            if any(both) or rows_of(texts, here):
                body[one.name] = both
        elif one.name == "id":
            continue
        elif raw := texts.get(here, "").strip():
            body[one.name] = value_of(one, raw)
    if body and any(one.name == "id" for one in shapes_of(asked)):
        body["id"] = int(at.rpartition("/")[2]) + 1
    return body


def value_of(shape: Shape, raw: str) -> Any:
    """A text as its type wants it; what cannot be that stays text, for the body to refuse."""
    if shape.kind == "flag":
        return YES_NO.get(raw, raw)
    if shape.kind == "text":
        return listed(bare(shape.text_of), raw)
    if shape.kind not in {"whole", "number", "length"}:
        return raw
    for read in (int, float, *((typed_length_mm,) if shape.kind == "length" else ())):
        try:
            return read(raw)
        except (ValueError, OverflowError):
            continue
    return raw


def listed(hint: Any, raw: str) -> Any:
    """Words, a point, points of a ring, or rings, as their type nests them."""
    inside = get_args(hint)
    first = bare(inside[0])
    if get_origin(first) is not tuple:
        if Ellipsis in inside:
            return [word.strip() for word in raw.split(",") if word.strip()]
        return [number(word) for word in re.split(r"[\s,]+", raw) if word]
    if get_origin(bare(get_args(first)[0])) is tuple:
        return [listed(first, ring) for ring in raw.split(";") if ring.strip()]
    points = [listed(first, point) for point in raw.split(",") if point.strip()]
    if len(points) > 2 and points[0] != points[-1]:
        points.append(points[0])
    return points


def number(word: str) -> Any:
    try:
        return int(word)
    except ValueError:
        return word


def read(asked: type, texts: Texts, base: Texts) -> Asked:
    """The question that texts ask, or which field is wrong with what.

    Args:
        base: texts that are known to be good, to find the one to blame by.
    """
    places: dict[str, str] = {}
    body = body_from(asked, texts, "", "", places)
    serializer = body_of(asked)(data=body)
    if not serializer.is_valid():
        found = Asked()
        for pointer, sentence in flat_errors(serializer.errors, ""):
            found.errors.setdefault(place_of(pointer, places), []).append(sentence)
        return found
    try:
        return Asked(made(asked, serializer.validated_data))
    except Problem as problem:
        pointer = problem.errors[0]["pointer"] if problem.errors else ""
        under = places.get(pointer, "") or prefix_of(pointer, places)
        return Asked(errors={to_blame(asked, texts, base, under, problem.detail): [problem.detail]})


def refusal(asked: type, texts: Texts) -> str | None:
    """Why texts are no question; None where they are one. Empty: for another reason."""
    body = body_from(asked, texts, "", "", {})
    serializer = body_of(asked)(data=body)
    if not serializer.is_valid():
        return ""
    try:
        made(asked, serializer.validated_data)
    except Problem as problem:
        return problem.detail
    return None


def to_blame(asked: type, texts: Texts, base: Texts, under: str, sentence: str) -> str:
    """The field whose text is to blame for a refusal: with its old text it is not refused so."""
    changed = [
        key for key, value in texts.items() if key.startswith(under) and value != base.get(key, "")
    ]
    for key in changed:
        first = re.sub(r"\.\d+\.", ".0.", key)
        known = base.get(key) or base.get(first)
        if known is not None and refusal(asked, {**texts, key: known}) not in {sentence, ""}:
            return key
    return changed[-1] if len(changed) == 1 else ""


def flat_errors(errors: Any, pointer: str) -> list[tuple[str, str]]:
    """Sentences of a serializer's errors with the pointer of each."""
    if isinstance(errors, Mapping):
        return [
            one
            for name, inside in errors.items()
            for one in flat_errors(
                inside, pointer if name == "non_field_errors" else f"{pointer}/{name}"
            )
        ]
    if isinstance(errors, list):
        found = []
        for number_, inside in enumerate(errors):
            deeper = isinstance(inside, Mapping | list)
            found += flat_errors(inside, f"{pointer}/{number_}" if deeper else pointer)
        return found
    return [(pointer, str(errors))]


def place_of(pointer: str, places: Mapping[str, str]) -> str:
    """The path of the nearest field about a pointer."""
    while pointer and pointer not in places:
        pointer = pointer.rpartition("/")[0]
    return places.get(pointer, "")


def prefix_of(pointer: str, places: Mapping[str, str]) -> str:
    """The beginning that paths within a pointer share."""
    inside = next((path for key, path in places.items() if key.startswith(f"{pointer}/")), "")
    return inside.rpartition(".")[0]
