"""What the job wants of timber, over HTTP; and all noggins of a floor in one call."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from apps.floors.api.floors import DRY_RUN, flag
from apps.floors.models import Floor
from apps.timber import matches
from apps.timber.api.answers import MatchesSerializer
from apps.timber.api.bodies import ReasonBody, refuse_looking_only, today_at
from apps.timber.api.fields import MillimetresField, TimberSerializer
from apps.timber.models import Need
from apps.timber.services import needs as services
from apps.work.api.bodies import answer, read_body
from apps.work.models import Task
from renovation.filters import refuse_others
from renovation.viewsets import RecordViewSet


class NeedSerializer(TimberSerializer[Need]):
    """`state` changes by actions and cutting plans; `planned_on` by plans of the work."""

    wanted_on = serializers.DateField(
        read_only=True, allow_null=True, help_text="`needed_by`, else `planned_on`."
    )

    class Meta:
        model = Need
        fields = [
            "id", "version", "property", "role", "title", "quantity", "length_mm", "length_rule",
            "breadth_mm", "depth_mm", "strength_class", "moisture_limit_pct", "treated",
            "priority", "needed_by", "planned_on", "wanted_on", "task", "joist", "floor", "state",
            "state_reason",
        ]  # fmt: skip
        read_only_fields = ["version", "planned_on", "state", "state_reason"]


class BetweenJoistsSerializer(TimberSerializer[Need]):
    """Rows between a floor's joists: which, of what section, and for what."""

    role = serializers.ChoiceField(choices=["noggin", "strut"], default="noggin")
    at_mm = serializers.ListField(
        child=MillimetresField(min_value=0, max_value=20_000), required=False, allow_empty=False,
        max_length=50, help_text="Where the rows are, along the joists from their lower end.",
    )  # fmt: skip
    rows = serializers.IntegerField(
        default=1, min_value=1, max_value=20, help_text="Instead of `at_mm`: evenly spread."
    )
    allowance_mm = MillimetresField(
        default=1, min_value=0, max_value=2, help_text="How much shorter than the clear gap."
    )

    class Meta:
        model = Need
        fields = [
            "floor", "role", "at_mm", "rows", "allowance_mm", "breadth_mm", "depth_mm",
            "strength_class", "moisture_limit_pct", "treated", "priority", "needed_by", "task",
        ]  # fmt: skip
        extra_kwargs = {"floor": {"required": True, "allow_null": False}}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        # The rules of a need are asked of each need that comes of it.
        task: Task | None = attrs.get("task")
        floor: Floor = attrs["floor"]
        if task is not None and task.house_id() != floor.property_id:
            raise serializers.ValidationError({"task": ["This belongs to another house."]})
        refuse_looking_only(self.context["request"], floor.property_id)
        return attrs


class BetweenJoistsAnswer(serializers.Serializer[Any]):
    """The needs, longest first; their ids are null in a preview."""

    needs = NeedSerializer(many=True)
    left_out = serializers.ListField(
        child=serializers.CharField(), help_text="What has to be measured by hand, and why."
    )


class NeedViewSet(RecordViewSet[Need]):
    """Timber that the job wants: role, size, number, and by when.

    A day said by hand in `needed_by` goes before `planned_on`, the day on which the latest plan
    begins `task`. The breadth is the smaller side, even of what lies flat: a plate is 50 × 100.
    """

    queryset = Need.objects.select_related("property", "joist")
    serializer_class = NeedSerializer
    filterset_fields = {
        "property": ["exact"], "role": ["exact", "in"], "state": ["exact", "in"],
        "task": ["exact", "isnull"], "joist": ["exact", "isnull"], "floor": ["exact", "isnull"],
        "priority": ["exact", "lte"], "needed_by": ["gte", "lte", "isnull"],
        "planned_on": ["gte", "lte", "isnull"], "strength_class": ["exact"],
        "breadth_mm": ["exact"], "depth_mm": ["exact"], "length_mm": ["gte", "lte"],
    }  # fmt: skip
    search_fields = ["title", "length_rule"]
    ordering_fields = ["id", "title", "priority", "needed_by", "planned_on", "length_mm", "state"]

    def perform_update(self, serializer: BaseSerializer[Need]) -> None:
        need: Any = serializer.instance
        services.change_need(need=need, **serializer.validated_data)

    def perform_destroy(self, instance: Need) -> None:
        services.remove_need(need=instance)

    @extend_schema(responses=MatchesSerializer)
    @action(detail=True)
    def matches(self, request: Request, pk: str) -> Response:
        """What would do for it: a verdict with its reasons for every piece of the pile, the best
        first."""
        refuse_others(request, set())
        need = self.get_object()
        found = matches.matches_of(need, today=today_at(need.property))
        return Response(MatchesSerializer(found).data)

    @extend_schema(request=ReasonBody, responses=NeedSerializer)
    @action(detail=True, methods=["post"])
    def drop(self, request: Request, pk: str) -> Response:
        """Record that it is not wanted any more, and why. Undone by `reopen/`."""
        need, body = self.get_object(), read_body(ReasonBody, request)
        return answer(self, services.drop_need(need=need, **body))

    @extend_schema(request=ReasonBody, responses=NeedSerializer)
    @action(detail=True, methods=["post"])
    def met(self, request: Request, pk: str) -> Response:
        """Record that the timber came from elsewhere than a cutting plan, and from where.
        Undone by `reopen/`."""
        need, body = self.get_object(), read_body(ReasonBody, request)
        return answer(self, services.meet_need(need=need, **body))

    @extend_schema(request=None, responses=NeedSerializer)
    @action(detail=True, methods=["post"])
    def reopen(self, request: Request, pk: str) -> Response:
        """Undo dropping or meeting by hand."""
        return answer(self, services.reopen_need(need=self.get_object()))

    @extend_schema(
        request=BetweenJoistsSerializer,
        responses={200: BetweenJoistsAnswer, 201: BetweenJoistsAnswer},
        parameters=[DRY_RUN],
    )
    @action(detail=False, methods=["post"], url_path="from-set-out")
    def from_set_out(self, request: Request) -> Response:
        """Add the needs of all noggins (or struts) of a floor from its joists' set-out: each as
        long as the clear gap less an allowance, those of equal length as one need."""
        refuse_others(request, {"dry_run"})
        dry_run = flag(request, "dry_run")
        wanted = BetweenJoistsSerializer(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        make = services.noggin_needs if dry_run else services.add_noggin_needs
        needs, left_out = make(**{"at_mm": None, **wanted.validated_data})
        return Response(
            BetweenJoistsAnswer(
                {"needs": needs, "left_out": left_out}, context=self.get_serializer_context()
            ).data,
            status=200 if dry_run else 201,
        )
