"""What repairs are asked with."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from rest_framework import serializers

from apps.checks.decay_settings import ALLOWANCES
from apps.checks.fasteners import COMMON
from apps.checks.strength import CLASSES
from apps.floors.models import Joist
from apps.inspections.models import Inspection
from apps.repairs.facts import Asked
from apps.repairs.models import Repair
from apps.work.models import Finding, WorkPackage
from renovation.errors import Problem
from renovation.related import RowField
from renovation.scope import may_change, visible

ROWS = ("joist", "finding", "package", "inspection")
ASKED = tuple(field.name for field in fields(Asked))


def known_class(value: str) -> None:
    """Refuse a strength class that EN 338 does not have."""
    if value not in CLASSES:
        raise serializers.ValidationError(f"A strength class is one of {', '.join(CLASSES)}.")


class ProposeBody(serializers.Serializer[Any]):
    """A joist, and what is wanted otherwise than usual."""

    joist = RowField(queryset=Joist.objects.select_related("floor__storey", "floor__property"))
    rot = serializers.ChoiceField(choices=["wet", "dry", "unknown"], default="unknown")
    allowance = serializers.ChoiceField(
        choices=list(ALLOWANCES), default="customary",
        help_text="How far past the last sign of rot to cut; see checks/decay/.",
    )  # fmt: skip
    own_allowance_mm = serializers.IntegerField(
        required=False, allow_null=True, min_value=0, max_value=5000,
        help_text="[mm] A distance of your own instead.",
    )  # fmt: skip
    breadth_mm = serializers.IntegerField(
        required=False, allow_null=True, min_value=38, max_value=300,
        help_text="[mm] Of the new timber; left out: the joist's, or nearly that from the pile.",
    )  # fmt: skip
    depth_mm = serializers.IntegerField(
        required=False, allow_null=True, min_value=60, max_value=400,
        help_text="[mm] Of the new timber.",
    )  # fmt: skip
    strength_class = serializers.CharField(
        max_length=8, required=False, allow_null=True, validators=[known_class],
        help_text="EN 338 class of the new timber; left out: the floor's.",
    )  # fmt: skip
    old_strength_class = serializers.CharField(
        max_length=8, required=False, allow_null=True, validators=[known_class],
        help_text="Of the old joist, where its row does not say; left out: C16, assumed.",
    )  # fmt: skip
    dead_kn_m2 = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=20,
        help_text="[kN/m²] Boards and ceiling without the joists.",
    )  # fmt: skip
    imposed_kn_m2 = serializers.FloatField(default=1.5, min_value=0, max_value=20)
    service_class = serializers.ChoiceField(choices=[1, 2, 3], default=2)
    plastered = serializers.BooleanField(
        required=False, allow_null=True, default=None,
        help_text="Whether a plastered ceiling hangs below; left out: only above the ground floor.",
    )  # fmt: skip

    fixing = serializers.ChoiceField(
        choices=list(COMMON), default="bolt_m12", help_text="Of laps and sisters."
    )

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        found = super().get_fields()
        for name in ROWS:
            field: Any = found.get(name)
            if field is not None and "request" in self.context:
                field.queryset = visible(field.queryset, self.context["request"].user)
        return found

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        house = attrs["joist"].house_id()
        rows = {name: attrs[name] for name in ROWS if attrs.get(name) is not None}
        if wrong := [name for name, row in rows.items() if row.house_id() != house]:
            raise serializers.ValidationError(
                {name: ["This belongs to another house."] for name in wrong}
            )
        if not may_change(self.context["request"].user, house):
            raise Problem(
                "not-allowed", "You may look at this house but not change it.", status_code=403
            )
        asked = {name: attrs.pop(name) for name in ASKED if name in attrs}
        return {**attrs, "asked": Asked(**asked)}


class AcceptBody(ProposeBody):
    """One option of a proposal, with what was asked for it, and what it joins."""

    option = serializers.ChoiceField(choices=Repair.Option.choices)
    evidence = serializers.CharField(
        max_length=64, help_text="Of the proposal you looked at: refused when it has changed."
    )
    finding = RowField(queryset=Finding.objects.all(), required=False, allow_null=True)
    package = RowField(queryset=WorkPackage.objects.all(), required=False, allow_null=True)
    inspection = RowField(queryset=Inspection.objects.all(), required=False, allow_null=True)
    reason = serializers.CharField(
        required=False, allow_blank=True, max_length=1000,
        help_text="Who decided on it, where an option does not pass every check here.",
    )  # fmt: skip
