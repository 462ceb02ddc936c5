"""Bodies made from the dataclasses that the pure modules are asked with, and back into them.

A body is as strict as the dataclass is exact: no field that it does not have, no text where a
number belongs, whole millimetres where it counts in whole millimetres. What the dataclass itself
refuses is a 400 at the part of the body that it was made from.
"""

from __future__ import annotations

import math
import re
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from typing import Any, Literal, Union, cast, get_args, get_origin, get_type_hints

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from rest_framework import serializers

from apps.checks.api.known_settings import SENTENCES_OF
from apps.checks.fasteners import COMMON, Fastener
from renovation.errors import field_problem

AnyField = serializers.Field[Any, Any, Any, Any]
# Pairs of these names are stretches, {"from_mm": 0, "to_mm": 340} as a joist's row has them; other
# pairs are points, [0, 340].
STRETCHES = frozenset({"decayed"})
# What can be asked for by name instead of by all its figures.
NAMED: Mapping[type, Mapping[str, Any]] = types.MappingProxyType({Fastener: COMMON})
LARGEST = 1_000_000_000
MOST_ITEMS = 500


class WholeField(serializers.IntegerField):
    """A whole number: neither text nor a number with a point, for 2.4 is metres by mistake."""

    default_error_messages = {"invalid": "A whole number (lengths in millimetres: 2400, not 2.4)."}

    def to_internal_value(self, data: Any) -> int:
        if type(data) is not int or abs(data) > LARGEST:
            self.fail("invalid")
        return data


class NumberField(serializers.FloatField):
    """A number that is one: not text, not true, not beyond reckoning."""

    def to_internal_value(self, data: Any) -> float:
        if type(data) not in {int, float} or not math.isfinite(data) or abs(data) > LARGEST:
            self.fail("invalid")
        return float(data)


class FlagField(serializers.BooleanField):
    """true or false, and nothing that might be meant for it."""

    def to_internal_value(self, data: Any) -> Any:
        if type(data) is not bool:
            self.fail("invalid", input=data)
        return data


class WordField(serializers.CharField):
    """A text of at most a line or two."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=200, allow_blank=True, **options)

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class KnownWordField(WordField):
    """One of some words."""

    def __init__(self, *, known: tuple[str, ...], **options: Any) -> None:
        self.known = known
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> str:
        word = super().to_internal_value(data)
        if word not in self.known:
            raise serializers.ValidationError(f"It is one of {', '.join(self.known)}.")
        return word


class Body(serializers.Serializer[Any]):
    """A body that says which of its fields nobody knows."""

    def to_internal_value(self, data: Any) -> Any:
        unknown = sorted(set(data) - set(self.fields)) if isinstance(data, Mapping) else []
        if unknown:
            known = ", ".join(self.fields)
            raise serializers.ValidationError(
                {str(name): [f"There is no such field; there are {known}."] for name in unknown}
            )
        return super().to_internal_value(data)


class NamedStretchSerializer(Body):
    """From a place to a place along a piece [mm]."""

    from_mm = WholeField()
    to_mm = WholeField()


class NamedField(AnyField):
    """A dataclass by all its figures, or a usual one by its name."""

    def __init__(self, *, asked: type, **options: Any) -> None:
        self.asked = asked
        self.named = NAMED[asked]
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, str):
            return body_of(self.asked)().run_validation(data)
        if data not in self.named:
            raise serializers.ValidationError(
                f"Known by name are {', '.join(self.named)}; or give its figures."
            )
        return self.named[data]

    def to_representation(self, value: Any) -> Any:
        return body_of(self.asked)(value).data


class NamedFieldInWords(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """The description of a `NamedField`: a name or an object."""

    target_class = NamedField

    def map_serializer_field(self, auto_schema: Any, direction: Any) -> Any:
        body = auto_schema.resolve_serializer(body_of(self.target.asked), direction)
        names = ", ".join(self.target.named)
        return {"oneOf": [{"type": "string", "description": f"One of {names}."}, body.ref]}


PLAIN: Mapping[Any, type[AnyField]] = types.MappingProxyType(
    {str: WordField, bool: FlagField, int: WholeField, float: NumberField}
)


@cache
def body_of(asked: type) -> type[serializers.Serializer[Any]]:
    """The serializer that takes a dataclass as a body, with what is nested in it."""
    hints, told = get_type_hints(asked), {**told_of(asked), **SENTENCES_OF.get(asked, {})}
    members: dict[str, Any] = {}
    for one in fields(cast("Any", asked)):
        options: dict[str, Any] = {"help_text": told.get(one.name, "")}
        if one.default is not MISSING or one.default_factory is not MISSING:
            options["required"] = False
        if one.name in STRETCHES:
            members[one.name] = rows_of(NamedStretchSerializer, options)
        else:
            members[one.name] = field_for(hints[one.name], options)
    members["__doc__"] = (asked.__doc__ or "").partition("\n")[0]
    return type(f"{called(asked)}BodySerializer", (Body,), members)


def called(asked: type) -> str:
    """A name of its own in the description of the API: two modules may have a `Layer`."""
    module = asked.__module__.rpartition(".")[2]
    return f"{module.title().replace('_', '')}{asked.__name__}"


def field_for(hint: Any, options: dict[str, Any]) -> AnyField:
    """The serializer field that takes a type."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in {Union, types.UnionType}:
        (kept,) = [part for part in inside if part is not type(None)]
        return field_for(kept, {**options, "allow_null": True})
    if origin is Literal:
        said = f"One of {', '.join(inside)}. {options.pop('help_text', '')}"
        return KnownWordField(known=inside, help_text=said.strip(), **options)
    if origin is tuple:
        return list_for(inside, options)
    if hint in NAMED:
        return NamedField(asked=hint, **options)
    if is_dataclass(hint):
        return body_of(cast("type", hint))(**options)
    return PLAIN[hint](**options)


def list_for(inside: tuple[Any, ...], options: dict[str, Any]) -> AnyField:
    """A list of bodies or of numbers: as long as one likes, or just so long."""
    item = inside[0]
    if Ellipsis not in inside:
        exactly: dict[str, Any] = {"min_length": len(inside), "max_length": len(inside)}
        return serializers.ListField(child=field_for(item, {}), **exactly, **options)
    if is_dataclass(item):
        return rows_of(body_of(cast("type", item)), options)
    return serializers.ListField(child=field_for(item, {}), max_length=MOST_ITEMS, **options)


def rows_of(row: Any, options: dict[str, Any]) -> AnyField:
    """A list of bodies."""
    return cast("AnyField", row(many=True, max_length=MOST_ITEMS, **options))


def told_of(asked: type) -> dict[str, str]:
    """What the docstring of a dataclass says of each field under `Attributes:`."""
    _, _, attributes = (asked.__doc__ or "").partition("Attributes:")
    said: dict[str, str] = {}
    for entry in re.split(r"\n {8}(?=\w)", attributes):
        names, _, text = entry.strip().partition(": ")
        for name in re.findall(r"\w+", names):
            said[name] = " ".join(text.split())
    return said


def made(asked: Any, values: Mapping[str, Any], pointer: str = "") -> Any:
    """A dataclass from what its body holds.

    Raises:
        Problem: `invalid`, at the part of the body that the dataclass refuses.
    """
    hints = get_type_hints(asked)
    parts = {
        name: tuple((one["from_mm"], one["to_mm"]) for one in value)
        if name in STRETCHES
        else made_part(hints[name], value, f"{pointer}/{name}")
        for name, value in values.items()
    }
    try:
        return asked(**parts)
    except ValueError as exc:
        raise field_problem(pointer, str(exc)) from exc


def made_part(hint: Any, value: Any, pointer: str) -> Any:
    origin, inside = get_origin(hint), get_args(hint)
    if value is None or (hint in NAMED and isinstance(value, hint)):
        return value
    if origin in {Union, types.UnionType}:
        (kept,) = [part for part in inside if part is not type(None)]
        return made_part(kept, value, pointer)
    if origin is tuple:
        return tuple(
            made_part(inside[0], one, f"{pointer}/{number}") for number, one in enumerate(value)
        )
    if is_dataclass(hint):
        return made(hint, value, pointer)
    return value
