"""A piece as it is written and answered, with its defects."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError as DjangoValidationError
from rest_framework import serializers

from apps.checks.timber_size import customary_name
from apps.timber.api.fields import MillimetresField, TimberSerializer
from apps.timber.models import Defect, Piece


class DefectSerializer(serializers.ModelSerializer[Defect]):
    """A defect along a piece. With the `id` it has it is changed; without one it is added."""

    id = serializers.IntegerField(required=False, min_value=1)
    from_mm = MillimetresField(min_value=0, max_value=20_000, help_text="From the marked end.")
    to_mm = MillimetresField(min_value=0, max_value=20_000)

    class Meta:
        model = Defect
        fields = ["id", "kind", "from_mm", "to_mm", "face", "severity", "drawn"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        # A `PATCH` of the piece does not ask for them by itself: a defect is written whole.
        if missing := [name for name in ("kind", "from_mm", "to_mm") if name not in attrs]:
            raise serializers.ValidationError(
                {name: ["This field is required."] for name in missing}
            )
        try:
            Defect(**attrs).clean()
        except DjangoValidationError as exc:
            raise serializers.ValidationError(serializers.as_serializer_error(exc)) from exc
        return attrs


class PieceSerializer(TimberSerializer[Piece]):
    """`state` changes by actions and cutting plans only. `defects` are written as a whole."""

    defects = DefectSerializer(many=True, required=False)
    customary_size = serializers.SerializerMethodField(
        help_text="Worked out from the measured section: 6x2. A label, not a measure."
    )

    class Meta:
        model = Piece
        fields = [
            "id", "version", "property", "mark", "origin", "stored", "species", "strength_class",
            "grade_basis", "graded_by", "grade_why", "breadth_mm", "depth_mm", "length_mm",
            "customary_size", "treated", "photo", "source", "cut_from", "state", "scrap_reason",
            "note", "defects",
        ]  # fmt: skip
        read_only_fields = ["version", "cut_from", "state", "scrap_reason"]

    def get_customary_size(self, piece: Piece) -> str:
        return customary_name(piece.breadth_mm, piece.depth_mm)
