"""Database columns for outlines and lines. No row can be written with a bad one."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from apps.property import outlines


class JsonLength(models.Func):
    """How many items a JSON array has, on both databases."""

    output_field = models.IntegerField()

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        return self.as_sql(compiler, connection, function="JSON_ARRAY_LENGTH", **extra)

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        return self.as_sql(compiler, connection, function="JSONB_ARRAY_LENGTH", **extra)


class JsonEnd(models.Func):
    """The first or last item of a JSON array as text, on both databases."""

    output_field = models.TextField()

    def __init__(self, expression: Any, which: str = "first") -> None:
        super().__init__(expression)
        self.which = which

    def deconstruct(self) -> Any:
        return (
            "apps.property.fields.JsonEnd",
            (self.source_expressions[0],),
            {"which": self.which},
        )

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        path = "'$[0]'" if self.which == "first" else "'$[#-1]'"
        template = f"JSON_EXTRACT(%(expressions)s, {path})"
        return self.as_sql(compiler, connection, template=template, **extra)

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        index = "0" if self.which == "first" else "-1"
        template = f"((%(expressions)s) ->> {index})"
        return self.as_sql(compiler, connection, template=template, **extra)


class OutlineField(models.JSONField):
    """A closed ring of whole millimetres; brought to its normal form before every write."""

    def get_prep_value(self, value: Any) -> Any:
        return value if value is None else normal(outlines.closed_ring, value)

    def to_python(self, value: Any) -> Any:
        return value if value is None else normal(outlines.closed_ring, value)


class PolylineField(models.JSONField):
    """Two or more points of whole millimetres, such as a pipe's route or a doorway."""

    def __init__(self, *args: Any, exactly: int | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.exactly = exactly

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        return name, path, args, {**kwargs, "exactly": self.exactly}

    def line(self, value: Any) -> list[list[int]]:
        """The points as lists.

        Raises:
            ValueError: too few or too many points, or all in one place.
        """
        points = outlines.as_points(value, at_least=self.exactly or 2, what="a line")
        if self.exactly and len(points) != self.exactly:
            raise ValueError(f"Give exactly {self.exactly} points.")
        if len(set(points)) < 2:
            raise ValueError("A line needs two different points.")
        return [list(point) for point in points]

    def get_prep_value(self, value: Any) -> Any:
        return value if value is None else normal(self.line, value)

    def to_python(self, value: Any) -> Any:
        return value if value is None else normal(self.line, value)


class PointField(models.JSONField):
    """One place in the plan: `[x, y]` in whole millimetres."""

    def get_prep_value(self, value: Any) -> Any:
        return value if value is None else normal(one_point, value)

    def to_python(self, value: Any) -> Any:
        return value if value is None else normal(one_point, value)


def one_point(value: Any) -> list[int]:
    return list(outlines.as_points([value], at_least=1, what="a place")[0])


def normal(read: Any, value: Any) -> Any:
    try:
        return read(value)
    except ValueError as exc:
        raise ValidationError(str(exc)) from exc


def closed_outline(field: str, name: str, *, optional: bool = False) -> models.CheckConstraint:
    """The database's own check that an outline is a ring: four points or more, first = last."""
    ring = Q(models.lookups.GreaterThanOrEqual(JsonLength(F(field)), 4)) & Q(
        models.lookups.Exact(JsonEnd(F(field)), JsonEnd(F(field), which="last"))
    )
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | ring if optional else ring,
        name=name,
        violation_error_message="An outline must close: three corners or more.",
    )
