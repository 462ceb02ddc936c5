"""Repairs over HTTP: proposed, accepted, propped, undone."""

from __future__ import annotations

from hashlib import sha256
from typing import Any, cast

from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.floors.models import Floor
from apps.property.models import Property
from apps.repairs import services
from apps.repairs.answers import proposal_answer
from apps.repairs.api.answers import ProposalSerializer
from apps.repairs.api.bodies import AcceptBody, ProposeBody
from apps.repairs.models import Repair
from apps.work.api.bodies import AtBody, answer, read_body
from renovation.etags import etag
from renovation.models import Record
from renovation.serializers import CheckedSerializer
from renovation.viewsets import LogViewSet


class RepairSerializer(CheckedSerializer[Repair]):
    """A repair and the ids of what accepting it made."""

    accepted_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True)
    cautions = serializers.SerializerMethodField()

    class Meta:
        model = Repair
        fields = [
            "id", "version", "joist", "finding", "option", "title", "evidence", "reason",
            "package", "tasks", "needs", "inspection", "deviation", "measure", "proposal",
            "accepted_at", "accepted_by", "undone_at", "kept", "cautions",
        ]  # fmt: skip
        read_only_fields = fields

    def get_cautions(self, repair: Repair) -> list[str]:
        return list(services.CAUTIONS)


class RepairFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="joist__floor__property", queryset=Property.objects.all()
    )
    floor = filters.ModelChoiceFilter(field_name="joist__floor", queryset=Floor.objects.all())

    class Meta:
        model = Repair
        fields = {
            "joist": ["exact"], "finding": ["exact", "isnull"], "option": ["exact", "in"],
            "package": ["exact"], "inspection": ["exact"], "deviation": ["exact"],
            "measure": ["exact"], "accepted_at": ["gte", "lte"],
            "undone_at": ["gte", "lte", "isnull"],
        }  # fmt: skip


class RepairViewSet(LogViewSet[Repair]):
    """Repairs of joists that were accepted, each with the tasks, timber needs, inspection and
    drafted deviation it made. `propose/` works out the options and writes nothing.

    Options for the one who decides, not a design: the building control body, and where they
    ask for one a chartered engineer, say what is built. Nothing is proposed while suspected
    asbestos on that floor waits for a decision.
    """

    queryset = Repair.objects.select_related("joist__floor", "accepted_by").prefetch_related(
        "tasks", "needs"
    )
    serializer_class = RepairSerializer
    filterset_class = RepairFilter
    search_fields = ["title", "reason"]
    ordering_fields = ["id", "option", "title", "accepted_at", "undone_at"]

    def etag_of(self, record: Record) -> str:
        """What it made may go by itself, without the repair's own row being written."""
        repair = cast("Repair", record)
        rows = sorted(
            f"{row._meta.model_name}{row.pk}" for row in (*repair.tasks.all(), *repair.needs.all())
        )
        others = (repair.package_id, repair.inspection_id, repair.deviation_id, repair.measure_id)
        return etag(record, sha256(f"{rows}{others}".encode()).hexdigest()[:12])

    @extend_schema(request=AcceptBody, responses={201: RepairSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Accept one option of a proposal: everything it takes is made in one go."""
        wanted = AcceptBody(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        made = services.accept(**wanted.validated_data, accepted_by=request.user, at=timezone.now())
        found = self.get_queryset().get(pk=made.pk)
        headers = {
            "ETag": self.etag_of(found),
            "Location": f"{request.path.rstrip('/')}/{made.pk}/",
        }
        return Response(self.get_serializer(found).data, status=201, headers=headers)

    @extend_schema(request=ProposeBody, responses=ProposalSerializer)
    @action(detail=False, methods=["post"])
    def propose(self, request: Request) -> Response:
        """Every way to repair a joist, worked out, checked and ranked. Writes nothing."""
        wanted = ProposeBody(data=request.data, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        found = services.propose(**wanted.validated_data, today=timezone.localdate())
        return Response(proposal_answer(found))

    @extend_schema(request=AtBody, responses=RepairSerializer)
    @action(detail=True, methods=["post"])
    def propped(self, request: Request, pk: str) -> Response:
        """Note that the props stand: a temporary measure to look at daily, out before the
        boards close. Undone by removing that measure."""
        repair, body = self.get_object(), read_body(AtBody, request)
        return answer(self, services.note_props(repair=repair, **body))

    @extend_schema(request=None, responses=RepairSerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: str) -> Response:
        """Remove what it made and nobody began; `kept` names what stays, and why."""
        return answer(self, services.undo(repair=self.get_object(), at=timezone.now()))
