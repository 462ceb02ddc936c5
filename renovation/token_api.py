"""One's own tokens over HTTP: listed, made, revoked."""

from __future__ import annotations

from typing import Any, cast

from django.contrib.auth.models import User
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response

from renovation.errors import Problem
from renovation.models import AccessToken
from renovation.serializers import CheckedSerializer
from renovation.tokens import MOST_DAYS, USUAL_DAYS, is_by_token, make_token
from renovation.viewsets import CreateMixin, RetrieveMixin


class TokenSerializer(CheckedSerializer[AccessToken]):
    days = serializers.IntegerField(
        write_only=True, default=USUAL_DAYS, min_value=1, max_value=MOST_DAYS,
        help_text="How long it opens the door.",
    )  # fmt: skip

    class Meta:
        model = AccessToken
        fields = ["id", "version", "name", "days", "created", "expiry"]
        read_only_fields = ["version", "created", "expiry"]


class MadeTokenSerializer(TokenSerializer):
    """A token as it is told once, with its secret."""

    token = serializers.CharField(read_only=True)

    class Meta(TokenSerializer.Meta):
        fields = [*TokenSerializer.Meta.fields, "token"]


class TokenViewSet(
    CreateMixin[AccessToken],
    RetrieveMixin[AccessToken],
    mixins.DestroyModelMixin,
    mixins.ListModelMixin,
):
    """Your own tokens. Their secrets are told once, when they are made.

    A token reads this list and changes nothing in it: a lost one must not outlive its days by
    making another. Sign in, or use `manage.py token`.
    """

    without_a_house = frozenset({"create"})
    queryset = AccessToken.objects.all()
    serializer_class = TokenSerializer
    filterset_fields = {"name": ["exact"], "expiry": ["gte", "lte"]}
    search_fields = ["name"]
    ordering_fields = ["id", "name", "created", "expiry"]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method not in SAFE_METHODS and is_by_token(request):
            raise Problem(
                "signed-in-only",
                "A token makes and revokes no tokens. Sign in, or use manage.py token.",
                status_code=403,
            )

    @extend_schema(request=TokenSerializer, responses={201: MadeTokenSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Make one. Its secret is in this answer only, and never kept for an `Idempotency-Key`:
        sent again, another is made."""
        wanted = self.get_serializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        self.keep_no_answer()
        made, secret = make_token(user=cast("User", request.user), **wanted.validated_data)
        told = {**self.get_serializer(made).data, "token": secret}
        headers = {
            "ETag": self.etag_of(made),
            "Location": f"{request.path.rstrip('/')}/{made.pk}/",
            "Cache-Control": "no-store",
        }
        return Response(told, status=201, headers=headers)
