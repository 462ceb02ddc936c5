"""Bodies of actions, and how an action answers. Shared by the apps above."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from apps.work.models import LONGEST_TASK_MINUTES
from renovation.models import Record
from renovation.serializers import AwareDateTimeField
from renovation.viewsets import ContractView

# A phone's clock runs a little ahead; it must not be refused for it.
CLOCK_SLIP = timedelta(minutes=5)


def not_in_the_future(value: datetime) -> None:
    """Refuse to record what has not happened."""
    if value > timezone.now() + CLOCK_SLIP:
        raise serializers.ValidationError("That is still to come; say when it happened.")


class AtBody(serializers.Serializer[Any]):
    """When it happened; now when left out."""

    at = AwareDateTimeField(default=timezone.now, validators=[not_in_the_future])


class AtAndMinutesBody(AtBody):
    minutes = serializers.IntegerField(
        required=False, min_value=1, max_value=1440,
        help_text="Time it took, noted as a time entry that ends then.",
    )  # fmt: skip


class LeftBody(AtBody):
    """How much is left; null takes back what was said."""

    minutes_left = serializers.IntegerField(
        allow_null=True, min_value=1, max_value=LONGEST_TASK_MINUTES
    )
    note = serializers.CharField(max_length=200, allow_blank=True, default="")


class TimesBody(serializers.Serializer[Any]):
    """From when to when."""

    starts = AwareDateTimeField()
    ends = AwareDateTimeField()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["ends"] <= attrs["starts"]:
            raise serializers.ValidationError({"ends": ["It ends after it starts."]})
        return attrs


class NoteBody(serializers.Serializer[Any]):
    note = serializers.CharField(max_length=1000)


def read_body(body: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    """The body of an action, checked."""
    wanted = body(data=request.data)
    wanted.is_valid(raise_exception=True)
    return dict(wanted.validated_data)


def answer(view: ContractView[Any], row: Record) -> Response:
    """The row as it is after the action, with its new ETag."""
    return Response(view.get_serializer(row).data, headers={"ETag": view.etag_of(row)})
