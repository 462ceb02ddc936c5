"""Bodies of a task's steps where an owner may decide that it does not wait."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from apps.work.api.bodies import AtAndMinutesBody, AtBody


def reason_field() -> Any:
    return serializers.CharField(
        required=False, max_length=1000,
        help_text="Why an owner does not wait for the hold point; goes into the record.",
    )  # fmt: skip


class StartBody(AtBody):
    override_reason = reason_field()


class FinishBody(AtAndMinutesBody):
    override_reason = reason_field()
