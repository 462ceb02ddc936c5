"""What every calculator over HTTP shares: a question in, an answer out, and nothing is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from apps.checks.api.answering import told
from apps.checks.api.as_serializer import answer_of
from apps.checks.api.asking import body_of, made
from renovation.errors import field_problem


@dataclass(frozen=True, slots=True)
class Calculator:
    """One question that can be asked, and what works out its answer.

    Attributes:
        name: the last part of its address.
        asked, answered: the dataclasses of the body and of the answer.
        work: from one to the other; it loads what it needs when it is called.
    """

    name: str
    summary: str
    asked: type
    answered: type
    work: Callable[[Any], Any]


def viewset_of(calculator: Calculator) -> type[viewsets.ViewSet]:
    """The viewset that answers a calculator's `POST`."""

    class CalculatorViewSet(viewsets.ViewSet):
        serializer_class = None

        @extend_schema(
            operation_id=f"checks_{calculator.name.replace('-', '_')}",
            summary=calculator.summary,
            request=body_of(calculator.asked),
            responses={200: answer_of(calculator.answered)},
        )
        def create(self, request: Request) -> Response:
            body = body_of(calculator.asked)(data=request.data)
            body.is_valid(raise_exception=True)
            question = made(calculator.asked, body.validated_data)
            try:
                answer = calculator.work(question)
            except ValueError as exc:
                raise field_problem("", str(exc)) from exc
            return Response(told(answer))

    CalculatorViewSet.__doc__ = calculator.summary
    CalculatorViewSet.__name__ = f"{calculator.name.title().replace('-', '')}CheckViewSet"
    return CalculatorViewSet
