"""The base of every serializer: the database's rules answer as 400 with a pointer, and a
body can only name rows of one house, which its sender may change."""

from __future__ import annotations

from typing import Any, TypeVar

from django.core.exceptions import ValidationError as DjangoValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import connection, models, router
from django.utils import timezone
from rest_framework import serializers

from renovation.errors import Problem
from renovation.models import Record
from renovation.problems import database_away
from renovation.related import RowField
from renovation.scope import may_change, visible

Row = TypeVar("Row", bound=models.Model)

# The widest integers that both databases keep; anything wider is refused with its pointer.
WIDEST_INTEGER = 2_147_483_647
LARGEST = (
    ((models.SmallIntegerField, models.PositiveSmallIntegerField), 32_767),
    ((models.BigIntegerField, models.PositiveBigIntegerField), 9_223_372_036_854_775_807),
)


class AwareDateTimeField(serializers.DateTimeField):
    """An instant: refused when it does not say which zone it is in, answered in UTC."""

    default_error_messages = {
        "naive": "Say the time zone too, e.g. 2026-01-31T18:30:00+00:00 or …Z.",
        "overflow": "That instant is outside the calendar.",
    }

    def enforce_timezone(self, value: Any) -> Any:
        if timezone.is_naive(value):
            self.fail("naive")
        try:
            return value.astimezone(timezone.get_default_timezone())
        except (OverflowError, ValueError):
            self.fail("overflow")


class CheckedSerializer(serializers.ModelSerializer[Row]):
    """A ModelSerializer that asks the model before writing.

    `validate` builds the row as it would be, runs its `clean()` and every database
    constraint, and refuses foreign keys that lead to another house. A `PATCH` is therefore
    judged as a whole.

    Raises:
        Problem: `not-allowed`, 403, when the sender may look at the house but not change it.
    """

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.DateTimeField: AwareDateTimeField,
    }
    serializer_related_field = RowField

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        for name, field in fields.items():
            related: Any = getattr(field, "child_relation", field)
            queryset = getattr(related, "queryset", None)
            if queryset is not None and issubclass(queryset.model, Record):
                related.queryset = visible(queryset, self.context["request"].user)
            limit_integer(field, self.Meta.model, name)
        return fields

    def run_validation(self, data: Any = serializers.empty) -> Any:
        """Every rule that this asks of the database; of one that is away it says so."""
        try:
            return super().run_validation(data)
        except serializers.ValidationError as exc:
            if connection.errors_occurred:
                # Django takes a rule that it could not ask for one that is broken.
                raise database_away() from exc
            raise

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        candidate = self.candidate()
        columns = {field.name: field for field in candidate._meta.concrete_fields}
        errors: dict[str, list[str]] = {}
        for name, value in attrs.items():
            column = columns.get(name)
            if isinstance(column, models.JSONField) and value is not None:
                # Brought to its normal form here, so that the answer shows what is kept.
                try:
                    attrs[name] = column.clean(value, candidate)
                except DjangoValidationError as exc:
                    errors[name] = list(exc.messages)
            if column is not None:
                setattr(candidate, name, attrs[name])
        if errors:
            raise serializers.ValidationError(errors)
        self.refuse_other_houses(candidate, attrs)
        self.refuse_looking_only(candidate)
        try:
            candidate.clean()
            candidate.validate_constraints()
        except DjangoValidationError as exc:
            raise serializers.ValidationError(serializers.as_serializer_error(exc)) from exc
        return attrs

    def candidate(self) -> Any:
        """A copy of the row as it is now, or an empty one."""
        model: Any = self.Meta.model
        if self.instance is None:
            return model()
        names = [column.attname for column in model._meta.concrete_fields]
        # As if read, not new: a row is no clash with itself.
        return model.from_db(
            router.db_for_read(model), names, [getattr(self.instance, name) for name in names]
        )

    def refuse_other_houses(self, candidate: Any, attrs: dict[str, Any]) -> None:
        """Every row that the candidate names must belong to one house."""
        named: list[tuple[str, Record]] = []
        for field in candidate._meta.concrete_fields:
            if field.is_relation and getattr(candidate, field.attname, None) is not None:
                row = getattr(candidate, field.name)
                named += [(field.name, row)] if isinstance(row, Record) else []
        for name, value in attrs.items():
            if isinstance(value, list):
                named += [(name, row) for row in value if isinstance(row, Record)]
        houses = [(name, row.house_id()) for name, row in named]
        wrong = {name for name, house in houses if house != houses[0][1]}
        if wrong:
            raise serializers.ValidationError(
                {name: ["This belongs to another house."] for name in sorted(wrong)}
            )

        kept: Any = self.instance
        if kept is not None and candidate.house_id() != kept.house_id():
            # What hangs on this row would be left behind in the old house.
            field = candidate.scope_path.partition("__")[0]
            raise serializers.ValidationError({field: ["It cannot move to another house."]})

    def refuse_looking_only(self, candidate: models.Model) -> None:
        """A viewer of the house may not write there. Who opens a new house needs no leave."""
        if not isinstance(candidate, Record) or not candidate.scope_path:
            return
        if not may_change(self.context["request"].user, candidate.house_id()):
            raise Problem(
                "not-allowed", "You may look at this house but not change it.", status_code=403
            )

    def update(self, instance: Row, validated_data: dict[str, Any]) -> Row:
        if isinstance(instance, Record):
            instance.version += 1
        return super().update(instance, validated_data)


def limit_integer(field: Any, model: type[models.Model], name: str) -> None:
    """Give integers the narrower of both databases' limits, so that a huge one is a 400.

    SQLite keeps 64 bits in any column and Django asks only the database in use; a house that
    moves to PostgreSQL must fit.
    """
    if not isinstance(field, serializers.IntegerField):
        return
    columns = {column.name: column for column in model._meta.concrete_fields}
    column = columns.get(field.source or name, columns.get(name))
    limit = next((most for kind, most in LARGEST if isinstance(column, kind)), WIDEST_INTEGER)
    if field.max_value is None or field.max_value > limit:
        field.max_value = limit
        field.validators.append(MaxValueValidator(limit))
    if field.min_value is None or field.min_value < -limit:
        field.min_value = -limit
        field.validators.append(MinValueValidator(-limit))
