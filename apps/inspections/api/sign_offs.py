"""Sign-offs over HTTP."""

from __future__ import annotations

from typing import Any, cast

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from apps.inspections import services
from apps.inspections.models import Condition, SignOff
from apps.property.models import Property
from apps.work.api.bodies import not_in_the_future
from apps.work.models import Task
from renovation.etags import etag
from renovation.models import Record
from renovation.related import RowField
from renovation.scope import visible
from renovation.serializers import CheckedSerializer
from renovation.viewsets import LogViewSet

MOST_CONDITIONS = 50
NO_DIGEST_YET = "0" * 64
LOOKS = [choice for choice in SignOff.Result.choices if choice[0] != SignOff.Result.OVERRIDDEN]


class SaidConditionSerializer(serializers.ModelSerializer[Condition]):
    """A condition as it comes with a sign-off."""

    blocks = RowField(queryset=Task.objects.all(), many=True, required=False)

    class Meta:
        model = Condition
        fields = ["id", "text", "due_on", "blocks"]

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        fields = super().get_fields()
        blocks: Any = fields["blocks"]
        if request := self.context.get("request"):
            blocks.child_relation.queryset = visible(Task.objects.all(), request.user)
        return fields


class SignOffSerializer(CheckedSerializer[SignOff]):
    """`number`, `digest` and `previous_digest` are the row's place in its house's chain."""

    result = serializers.ChoiceField(choices=LOOKS)
    conditions = SaidConditionSerializer(
        many=True, required=False,
        help_text="What was asked for; needed when accepted with conditions, refused otherwise.",
    )  # fmt: skip
    recorded_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)
    superseded_by = serializers.SerializerMethodField()

    class Meta:
        model = SignOff
        fields = [
            "id", "version", "property", "number", "inspection", "task", "result", "seen_by",
            "seen_at", "note", "conditions", "supersedes", "superseded_by", "reason",
            "recorded_by", "recorded_at", "previous_digest", "digest",
        ]  # fmt: skip
        read_only_fields = [
            "version", "property", "number", "task", "recorded_at", "previous_digest", "digest",
        ]  # fmt: skip
        extra_kwargs = {
            "seen_at": {"validators": [not_in_the_future]},
            # The service says what to do instead.
            "supersedes": {"validators": []},
        }

    def to_representation(self, instance: SignOff) -> dict[str, Any]:
        # An override is written by a task's step, not by a body, but it is read here.
        return {**super().to_representation(instance), "result": str(instance.result)}

    @extend_schema_field(serializers.IntegerField(allow_null=True))
    def get_superseded_by(self, row: SignOff) -> int | None:
        return correction_of(row)

    def validate_conditions(self, value: list[Any]) -> list[Any]:
        if len(value) > MOST_CONDITIONS:
            raise serializers.ValidationError(f"Give at most {MOST_CONDITIONS} conditions.")
        return value

    def candidate(self) -> Any:
        found = super().candidate()
        found.digest = NO_DIGEST_YET
        return found

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        house = attrs["inspection"].property
        attrs = super().validate({**attrs, "property": house})
        del attrs["property"]
        for index, wanted in enumerate(attrs.get("conditions", [])):
            if any(task.house_id() != house.pk for task in wanted.get("blocks", [])):
                problems: list[dict[str, list[str]]] = [{} for _ in attrs["conditions"]]
                problems[index] = {"blocks": ["This belongs to another house."]}
                raise serializers.ValidationError({"conditions": problems})
        return attrs


def correction_of(row: SignOff) -> int | None:
    """The id of the row that corrects this one."""
    return row.superseded_by.pk if hasattr(row, "superseded_by") else None


class SignOffFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(queryset=Property.objects.all())
    superseded = filters.BooleanFilter(
        field_name="superseded_by", lookup_expr="isnull", exclude=True, label="Corrected since."
    )

    class Meta:
        model = SignOff
        fields = {
            "inspection": ["exact"], "task": ["exact", "isnull"],
            "supersedes": ["exact", "isnull"], "result": ["exact", "in"],
            "recorded_by__username": ["exact"], "seen_at": ["gte", "lte"],
            "recorded_at": ["gte", "lte"],
        }  # fmt: skip


class SignOffViewSet(LogViewSet[SignOff]):
    """What those who looked said, and hold points that an owner overrode. Only ever added to:
    a correction is a further row that `supersedes` the wrong one with a `reason`, and the
    latest look that stands decides the inspection's state.
    """

    queryset = SignOff.objects.select_related(
        "inspection", "recorded_by", "superseded_by"
    ).prefetch_related("conditions__blocks")
    serializer_class = SignOffSerializer
    filterset_class = SignOffFilter
    search_fields = ["seen_by", "note", "reason", "inspection__title"]
    ordering_fields = ["id", "number", "seen_at", "recorded_at", "result"]

    def etag_of(self, record: Record) -> str:
        """A row is never altered, but one that corrects it may come."""
        later = correction_of(cast("SignOff", record))
        return etag(record, f"corrected-{later}" if later else "")

    def sign_off(self, **wanted: Any) -> SignOff:
        """Override where more is known of what a sign-off releases."""
        return services.sign_off(**wanted)

    def perform_create(self, serializer: BaseSerializer[SignOff]) -> None:
        serializer.instance = self.sign_off(
            recorded_by=self.request.user, **serializer.validated_data
        )
