"""Serializers made from the dataclasses of the pure modules, so that the description of the API
and the answers cannot part from them."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date
from functools import cache
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from rest_framework import serializers

from apps.checks.api.asking import STRETCHES, NamedStretchSerializer, called
from renovation.errors import field_problem

Made = TypeVar("Made")
AnyField = serializers.Field[Any, Any, Any, Any]
Maker = Callable[..., AnyField]


class ListWithGapsField(serializers.ListField):
    """A list of objects, some of which may be missing."""


class GapsDescribed(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """The generator would say that each is there."""

    target_class = ListWithGapsField

    def map_serializer_field(self, auto_schema: Any, direction: Any) -> dict[str, Any]:
        component = auto_schema.resolve_serializer(self.target.child, direction)
        return {"type": "array", "items": {"oneOf": [component.ref, {"type": "null"}]}}


PLAIN: Mapping[Any, Maker] = {
    str: serializers.CharField,
    bool: serializers.BooleanField,
    int: serializers.IntegerField,
    float: serializers.FloatField,
    date: serializers.DateField,
}


@cache
def answer_of(made_from: type) -> type[serializers.Serializer[Any]]:
    """A serializer that answers a dataclass, its lists and what is nested in it."""
    hints = get_type_hints(made_from)
    members: dict[str, Any] = {
        one.name: NamedStretchSerializer(many=True)
        if one.name in STRETCHES
        else field_for(hints[one.name], {})
        for one in fields(cast("Any", made_from))
    }
    members["__doc__"] = (made_from.__doc__ or "").partition("\n")[0]
    return type(f"{called(made_from)}AnswerSerializer", (serializers.Serializer,), members)


@cache
def settings_of(
    made_from: type, sentences: tuple[tuple[str, str], ...]
) -> type[serializers.Serializer[Any]]:
    """A body that takes any of a settings dataclass's fields, each with its sentence."""
    hints = get_type_hints(made_from)
    told = dict(sentences)
    members: dict[str, Any] = {
        one.name: field_for(
            hints[one.name],
            {"required": False, "help_text": told.get(one.name, ""), **given(one)},
        )
        for one in fields(cast("Any", made_from))
    }
    members["__doc__"] = (made_from.__doc__ or "").partition("\n")[0]
    return type(f"{called(made_from)}SettingsSerializer", (serializers.Serializer,), members)


def given(one: Field[Any]) -> dict[str, Any]:
    """What a setting is when it is left out."""
    return {} if one.default is MISSING else {"default": one.default}


def field_for(hint: Any, options: dict[str, Any]) -> AnyField:
    """The serializer field of a type."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in {Union, types.UnionType}:
        (kept,) = [part for part in inside if part is not type(None)]
        return field_for(kept, {**options, "allow_null": True})
    if origin is Literal:
        return word_for(inside, options)
    if origin is tuple:
        if inside and is_dataclass(inside[0]) and Ellipsis in inside:
            return answer_of(cast("type", inside[0]))(many=True, **options)
        gaps = is_dataclass(next(iter(get_args(inside[0])), None)) if inside else False
        kind = ListWithGapsField if gaps else serializers.ListField
        return kind(child=field_for(inside[0], {}), **options)
    if origin in {dict, Mapping}:
        return table_of(inside[1], options)
    if is_dataclass(hint):
        return answer_of(cast("type", hint))(**options)
    return PLAIN[hint](**options)


def table_of(held: Any, options: dict[str, Any]) -> AnyField:
    """Names with what they hold."""
    if held is Any:
        return serializers.DictField(**options)
    return serializers.DictField(child=field_for(held, {}), **options)


def word_for(known: tuple[str, ...], options: dict[str, Any]) -> AnyField:
    """One of some words: asked for by a choice, answered as it is."""
    if "required" in options:
        return serializers.ChoiceField(choices=known, **options)
    # Every choice that is answered would want a name of its own in the description.
    return serializers.CharField(help_text=f"One of {', '.join(known)}.", **options)


def settings_from(made_from: type[Made], values: Mapping[str, Any], pointer: str) -> Made:
    """The settings of a body.

    Raises:
        Problem: `invalid`, at the pointer, for settings that contradict themselves.
    """
    try:
        return made_from(**values)
    except ValueError as exc:
        raise field_problem(pointer, str(exc)) from exc
