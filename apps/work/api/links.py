"""Links between tasks over HTTP."""

from __future__ import annotations

from typing import cast

from django_filters import rest_framework as filters
from rest_framework.serializers import BaseSerializer

from apps.property.models import Property
from apps.work import services
from apps.work.models import Link
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class LinkSerializer(CheckedSerializer[Link]):
    class Meta:
        model = Link
        fields = [
            "id", "version", "before", "after", "kind", "min_lag_minutes", "max_lag_minutes",
            "lag_clock", "reason",
        ]  # fmt: skip
        read_only_fields = ["version"]


class LinkFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(
        field_name="before__package__property", queryset=Property.objects.all()
    )

    class Meta:
        model = Link
        fields = {
            "before": ["exact"], "after": ["exact"], "kind": ["exact", "in"],
            "lag_clock": ["exact"], "min_lag_minutes": ["gte", "lte"],
            "before__package": ["exact"], "after__package": ["exact"],
        }  # fmt: skip


class LinkViewSet(RecordViewSet[Link]):
    """The order of two tasks: finish to start (FS), SS, FF or SF, with a shortest and perhaps
    a longest wait, in elapsed time (drying, curing) or in working time.

    A link that would have tasks wait for each other in a ring is refused with `link-circle`,
    which names them in order.
    """

    queryset = Link.objects.select_related("before__package", "after__package")
    serializer_class = LinkSerializer
    filterset_class = LinkFilter
    search_fields = ["reason", "before__title", "after__title"]
    ordering_fields = ["id", "kind", "min_lag_minutes"]

    def perform_create(self, serializer: BaseSerializer[Link]) -> None:
        wanted = serializer.validated_data
        services.refuse_circle(
            before=wanted["before"],
            after=wanted["after"],
            kind=wanted.get("kind", Link.Kind.FS),
        )
        serializer.save()

    def perform_update(self, serializer: BaseSerializer[Link]) -> None:
        wanted, link = serializer.validated_data, cast("Link", serializer.instance)
        services.refuse_circle(
            before=wanted.get("before", link.before),
            after=wanted.get("after", link.after),
            kind=wanted.get("kind", link.kind),
            link_id=link.pk,
        )
        serializer.save()
