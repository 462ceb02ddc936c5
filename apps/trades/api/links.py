"""Links for visits and what trades answered under them, over HTTP."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from apps.trades.models import VisitLink, VisitReply
from apps.trades.visit_links import services
from apps.work.api.bodies import answer, read_body
from renovation.serializers import AwareDateTimeField, CheckedSerializer
from renovation.viewsets import CreateMixin, ReadViewSet


class VisitLinkSerializer(CheckedSerializer[VisitLink]):
    """A link without its address: that is told once, by `address/`."""

    class Meta:
        model = VisitLink
        fields = ["id", "version", "visit", "expires_at", "address_made_at", "revoked_at"]
        read_only_fields = ["version", "expires_at", "address_made_at", "revoked_at"]


class LinkAddressBody(serializers.Serializer[Any]):
    expires_at = AwareDateTimeField(
        required=False, help_text="Its end; three days after the visit when left out."
    )


class LinkAddressSerializer(serializers.Serializer[Any]):
    """The address, told once."""

    address = serializers.URLField()
    expires_at = AwareDateTimeField()


class VisitLinkViewSet(CreateMixin[VisitLink], ReadViewSet[VisitLink]):
    """An address for one visit: whoever has it reads what is open for that visit and answers,
    without signing in. It ends by itself, or by `revoke/`.
    """

    queryset = VisitLink.objects.select_related("visit__trade")
    serializer_class = VisitLinkSerializer
    filterset_fields = {
        "visit": ["exact"], "visit__property": ["exact"],
        "expires_at": ["gte", "lte", "isnull"], "address_made_at": ["gte", "lte", "isnull"],
        "revoked_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    ordering_fields = ["id", "expires_at", "address_made_at"]

    def perform_create(self, serializer: Any) -> None:
        serializer.save(made_by=self.request.user)

    @extend_schema(request=LinkAddressBody, responses=LinkAddressSerializer)
    @action(detail=True, methods=["post"])
    def address(self, request: Request, pk: str) -> Response:
        """Make its address, told once; the one before stops. Never kept for an
        `Idempotency-Key`: asked again, it makes another."""
        link, body = self.get_object(), read_body(LinkAddressBody, request)
        part = services.make_link_address(
            link=link, made_by=request.user, at=timezone.now(), **body
        )
        self.keep_no_answer()
        told = {
            "address": request.build_absolute_uri(reverse("visit-link", args=[part])),
            "expires_at": link.expires_at,
        }
        headers = {"ETag": self.etag_of(link), "Cache-Control": "no-store"}
        return Response(LinkAddressSerializer(told).data, headers=headers)

    @extend_schema(request=None, responses=VisitLinkSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> Response:
        """Stop its address. Not undone: make a new one."""
        link = services.revoke_link(link=self.get_object(), at=timezone.now())
        return answer(self, link)


class VisitReplySerializer(CheckedSerializer[VisitReply]):
    decided_by = serializers.SlugRelatedField[Any](
        slug_field="username", read_only=True, allow_null=True
    )

    class Meta:
        model = VisitReply
        fields = [
            "id", "version", "visit", "answer", "note", "starts", "ends", "said_at", "state",
            "decided_at", "decided_by",
        ]  # fmt: skip
        read_only_fields = fields


class VisitReplyViewSet(ReadViewSet[VisitReply]):
    """What trades answered under a visit's link. Each proposes a change and makes none; somebody
    of the house accepts it or puts it aside.
    """

    queryset = VisitReply.objects.select_related("visit__trade", "decided_by")
    serializer_class = VisitReplySerializer
    filterset_fields = {
        "visit": ["exact"], "visit__property": ["exact"], "answer": ["exact", "in"],
        "state": ["exact", "in"], "starts": ["gte", "lte", "isnull"],
        "ends": ["gte", "lte", "isnull"], "said_at": ["gte", "lte"],
        "decided_at": ["gte", "lte", "isnull"],
    }  # fmt: skip
    search_fields = ["note"]
    ordering_fields = ["id", "said_at", "state"]

    @extend_schema(request=None, responses=VisitReplySerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: str) -> Response:
        """Do what it proposes: agree the visit, take it back or mark it missed, or mark it done.
        Undone by `undo/`."""
        reply = self.get_object()
        services.accept_reply(reply=reply, by=request.user, at=timezone.now())
        return answer(self, reply)

    @extend_schema(request=None, responses=VisitReplySerializer)
    @action(detail=True, methods=["post"])
    def dismiss(self, request: Request, pk: str) -> Response:
        """Put it aside; the visit stays as it is. Undone by `undo/`."""
        reply = self.get_object()
        services.dismiss_reply(reply=reply, by=request.user, at=timezone.now())
        return answer(self, reply)

    @extend_schema(request=None, responses=VisitReplySerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: str) -> Response:
        """Undo the decision: open again, and the visit as it was."""
        return answer(self, services.undo_reply(reply=self.get_object()))
