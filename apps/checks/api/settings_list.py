"""Every setting where sources disagree, for whoever wants to know before asking."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from apps.checks.api.answering import told
from apps.checks.api.known_settings import KNOWN
from renovation.filters import refuse_others


class SettingAnswerSerializer(serializers.Serializer[Any]):
    """One setting, its default, and a sentence with its sources."""

    calculators = serializers.ListField(child=serializers.CharField())
    name = serializers.CharField()
    default = serializers.JSONField()
    sentence = serializers.CharField()


class SettingsListViewSet(viewsets.ViewSet):
    """The settings of all calculators, as `settings` of their bodies."""

    serializer_class = None

    @extend_schema(
        operation_id="checks_settings", responses=SettingAnswerSerializer(many=True),
    )  # fmt: skip
    def list(self, request: Request) -> Response:
        refuse_others(request, set())
        return Response(
            [
                {
                    "calculators": list(calculators),
                    "name": one.name,
                    "default": told(getattr(settings(), one.name)),
                    "sentence": sentences[one.name],
                }
                for calculators, settings, sentences in KNOWN
                for one in fields(settings)
            ]
        )
