"""Calendar feeds over HTTP."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.planning.feeds import services
from apps.planning.models import CalendarFeed
from apps.work.api.bodies import answer
from renovation.serializers import CheckedSerializer
from renovation.viewsets import CreateMixin, ReadViewSet


class CalendarFeedSerializer(CheckedSerializer[CalendarFeed]):
    """A feed without its address: that is told once, by `address/`."""

    class Meta:
        model = CalendarFeed
        fields = ["id", "version", "property", "person", "trade", "address_made_at"]
        read_only_fields = ["version", "address_made_at"]


class FeedAddressSerializer(serializers.Serializer[Any]):
    """The address, told once, and the same for programs that subscribe at a tap."""

    address = serializers.URLField()
    webcal = serializers.CharField()


class CalendarFeedViewSet(CreateMixin[CalendarFeed], ReadViewSet[CalendarFeed]):
    """Calendars that a phone subscribes to: one person's or one trade's stints, visits,
    inspections and notice deadlines, in the form of RFC 5545.
    """

    queryset = CalendarFeed.objects.select_related("person", "trade")
    serializer_class = CalendarFeedSerializer
    filterset_fields = {
        "property": ["exact"], "person": ["exact", "isnull"], "trade": ["exact", "isnull"],
        "address_made_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id", "address_made_at"]

    def perform_create(self, serializer: Any) -> None:
        serializer.save(made_by=self.request.user)

    @extend_schema(request=None, responses=FeedAddressSerializer)
    @action(detail=True, methods=["post"])
    def address(self, request: Request, pk: str) -> Response:
        """Make its address, told once; the one before stops. Never kept for an
        `Idempotency-Key`: asked again, it makes another."""
        feed = self.get_object()
        part = services.make_feed_address(feed=feed, made_by=request.user, at=timezone.now())
        self.keep_no_answer()
        address = request.build_absolute_uri(reverse("feed", args=[part]))
        told = {"address": address, "webcal": services.as_webcal(address)}
        headers = {"ETag": self.etag_of(feed), "Cache-Control": "no-store"}
        return Response(FeedAddressSerializer(told).data, headers=headers)

    @extend_schema(request=None, responses=CalendarFeedSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> Response:
        """Stop its address. Not undone: make a new one."""
        return answer(self, services.revoke_feed_address(feed=self.get_object()))
