"""What is worked out from a floor's measurements, over HTTP: air, levels, decay."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.checks.api.as_serializer import answer_of, settings_from, settings_of
from apps.checks.decay import JoistEvidence
from apps.checks.decay_settings import ALLOWANCES, DecaySettings
from apps.checks.level_results import Levelled
from apps.checks.level_settings import FLATNESS_MM, SENTENCES, LevelSettings
from apps.checks.level_task import LevelTask
from apps.checks.packers import MOST_KINDS, Packer
from apps.checks.ventilation import VoidAir
from apps.checks.ventilation_settings import READINGS, VentilationSettings
from apps.floors import ground
from apps.floors.api.ground import NumberField, SpotHeightSerializer, TenthsField
from apps.floors.models import Floor, Joist
from renovation.errors import field_problem
from renovation.filters import refuse_others
from renovation.viewsets import ContractView

ROTS = ("wet", "dry", "unknown")
READING = OpenApiParameter(
    "reading", OpenApiTypes.STR, enum=list(READINGS), description="How the rule is read."
)
INSIDE = OpenApiParameter(
    "inside", OpenApiTypes.STR,
    description="Numbers of walls that are party walls, counted from the first corner: 2,4.",
)  # fmt: skip
DATUM = OpenApiParameter("datum", OpenApiTypes.STR, description="Heights to which datum.")
ROT = OpenApiParameter("rot", OpenApiTypes.STR, enum=list(ROTS), description="Which rot it is.")
ALLOWANCE = OpenApiParameter(
    "allowance", OpenApiTypes.STR, enum=list(ALLOWANCES),
    description="How far past the last sign to cut.",
)  # fmt: skip
OWN_ALLOWANCE = OpenApiParameter(
    "own_allowance_mm", OpenApiTypes.INT, description="A distance of your own instead [mm]."
)
LevelSettingsSerializer = settings_of(LevelSettings, tuple(SENTENCES.items()))


class PackerSerializer(serializers.Serializer[Any]):
    """A thickness to hand."""

    thickness_mm = NumberField(min_value=0.1, max_value=100)
    quantity = serializers.IntegerField(
        min_value=0, max_value=10_000, allow_null=True, default=None,
        help_text="How many there are; null: as many as wanted.",
    )  # fmt: skip


class LevelsBody(serializers.Serializer[Any]):
    """How the floor is to be levelled."""

    target = serializers.ChoiceField(
        choices=["fixed", "free"], default="free",
        help_text="To a height that is given, or to the one that suits best.",
    )  # fmt: skip
    height_mm = TenthsField(
        max_digits=7, decimal_places=1, allow_null=True, default=None,
        help_text="The fixed height of the joists' tops to the datum [mm].",
    )  # fmt: skip
    packers = serializers.ListField(child=PackerSerializer(), max_length=MOST_KINDS)
    flatness = serializers.ChoiceField(choices=list(FLATNESS_MM), default="SR2")
    datum = serializers.CharField(max_length=40, allow_null=True, default=None)
    settings = LevelSettingsSerializer(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["target"] == "fixed" and attrs["height_mm"] is None:
            raise serializers.ValidationError({"height_mm": "Say to which height."})
        if attrs["target"] == "free" and attrs["height_mm"] is not None:
            raise serializers.ValidationError({"height_mm": "A free floor takes no height."})
        return attrs


class MeasuredLevelsSerializer(serializers.Serializer[Any]):
    """The heights that stand, and the joists that still lack them."""

    datum = serializers.CharField(allow_null=True)
    spots = SpotHeightSerializer(many=True)
    unmeasured = serializers.ListField(
        child=serializers.CharField(), help_text="Joists without a height over two bearings."
    )


class FloorGroundMixin(ContractView[Floor]):
    """What a floor's measurements come to."""

    @extend_schema(
        methods=["GET"], responses=MeasuredLevelsSerializer, parameters=[DATUM], filters=False
    )
    @extend_schema(methods=["POST"], request=LevelsBody, responses=answer_of(Levelled))
    @action(detail=True, methods=["get", "post"], pagination_class=None)
    def levels(self, request: Request, pk: str) -> Response:
        """`GET`: the heights that stand. `POST`: which packers where, so that it is level and flat.

        `POST` changes nothing: it works out the sheet, or says which rule stands in the way and
        by how much.
        """
        floor = self.get_object()
        if request.method == "POST":
            return self.work_out_levels(floor, request)
        refuse_others(request, {"datum"})
        datum, rows = ground.heights_of(floor, request.query_params.get("datum"))
        return Response(
            {
                "datum": datum,
                "spots": SpotHeightSerializer(
                    rows, many=True, context=self.get_serializer_context()
                ).data,
                "unmeasured": ground.unmeasured(floor, ground.spots_of(rows)),
            }
        )

    def work_out_levels(self, floor: Floor, request: Request) -> Response:
        from apps.checks.levelling import levelled  # noqa: PLC0415 (ortools, 0.5 s)

        body = LevelsBody(data=request.data)
        body.is_valid(raise_exception=True)
        wanted = body.validated_data
        settings = settings_from(LevelSettings, wanted.get("settings", {}), "/settings")
        _, rows = ground.heights_of(floor, wanted["datum"])
        height = wanted["height_mm"]
        try:
            task = LevelTask(
                spots=ground.spots_of(rows),
                packers=tuple(Packer(**packer) for packer in wanted["packers"]),
                flatness=wanted["flatness"],
                target_mm=None if height is None else float(height),
                settings=settings,
            )
            found = levelled(task)
        except ValueError as exc:
            raise field_problem("", str(exc)) from exc
        return Response(answer_of(Levelled)(found).data)

    @extend_schema(responses=answer_of(VoidAir), parameters=[READING, INSIDE])
    @action(detail=True, url_path="subfloor-ventilation")
    def subfloor_ventilation(self, request: Request, pk: str) -> Response:
        """Whether the void under the floor is aired as the rule asks, wall by wall."""
        floor = self.get_object()
        refuse_others(request, {"reading", "inside"})
        reading = word_of(request, "reading", tuple(READINGS), "both_walls_added")
        settings = VentilationSettings(reading=reading)
        found = ground.air_under(floor, settings=settings, inside=numbers_of(request, "inside"))
        return Response(answer_of(VoidAir)(found).data)


class JoistGroundMixin(ContractView[Joist]):
    """What a joist's probes come to."""

    @extend_schema(responses=answer_of(JoistEvidence), parameters=[ROT, ALLOWANCE, OWN_ALLOWANCE])
    @action(detail=True)
    def decay(self, request: Request, pk: str) -> Response:
        """What the probes say: what is sound, where to probe next, where to cut back to."""
        joist = self.get_object()
        refuse_others(request, {"rot", "allowance", "own_allowance_mm"})
        own = numbers_of(request, "own_allowance_mm")
        if len(own) > 1:
            raise field_problem("/own_allowance_mm", "Give one distance.")
        settings = settings_from(
            DecaySettings,
            {
                "allowance": word_of(request, "allowance", tuple(ALLOWANCES), "customary"),
                "own_allowance_mm": own[0] if own else None,
            },
            "/own_allowance_mm",
        )
        rot: Any = word_of(request, "rot", ROTS, "unknown")
        found = ground.evidence_of(joist, rot=rot, settings=settings)
        return Response(answer_of(JoistEvidence)(found).data)


def word_of(request: Request, name: str, known: tuple[str, ...], usual: str) -> Any:
    """A query parameter that is one of some words.

    Raises:
        Problem: `invalid` for any other.
    """
    word = request.query_params.get(name, usual)
    if word not in known:
        raise field_problem(f"/{name}", f"{word[:40]!r} is none of {', '.join(known)}.")
    return word


def numbers_of(request: Request, name: str) -> list[int]:
    """Whole numbers of a query parameter such as `?inside=2,4`; none when it is left out.

    Raises:
        Problem: `invalid` for anything else.
    """
    if name not in request.query_params:
        return []
    words = [word.strip() for word in request.query_params[name].split(",")]
    if not all(word.isascii() and word.isdecimal() and len(word) < 10 for word in words):
        raise field_problem(f"/{name}", "Give whole numbers, parted by commas.")
    return [int(word) for word in words]
