"""What every endpoint shares, so that none can forget it.

Reads see the houses their user is a member of (someone else's is 404); writes need a house
they may change (a viewer gets 403) and run in one transaction; each object carries an ETag,
a stale `If-Match` gets 412 with the current object; a `POST` with a known `Idempotency-Key`
gets its first answer again.
"""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar

from django.db import connection, transaction
from django.db.models import QuerySet
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from rest_framework import mixins, viewsets
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from renovation import idempotency, scope
from renovation.errors import Problem
from renovation.etags import etag, is_stale, is_unchanged
from renovation.models import Record, RememberedAnswer
from renovation.scope import visible
from renovation.written import house_written

Row = TypeVar("Row", bound=Record)


class ContractView(viewsets.GenericViewSet[Row]):
    """The contract of the API; every viewset is one of these.

    `atomic_writes = False` is for the one kind of write that must answer after its commit
    (a plan solved in-process); such a view handles its own transactions. `without_a_house` names
    the actions that change nothing of any house there is, and so need nobody's leave.
    """

    atomic_writes: ClassVar[bool] = True
    without_a_house: ClassVar[frozenset[str]] = frozenset()
    _answer: RememberedAnswer | None = None
    _written: int | None = None

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        scope.ask_anew()
        if not self.writes_atomically(request):
            return super().dispatch(request, *args, **kwargs)
        with transaction.atomic():
            return super().dispatch(request, *args, **kwargs)

    def writes_atomically(self, request: HttpRequest | Request) -> bool:
        return self.atomic_writes and request.method not in SAFE_METHODS

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method == "POST" and self.writes_atomically(request):
            self.claim_key()

    def handle_exception(self, exc: Exception) -> Response:
        if isinstance(exc, idempotency.AlreadyAnswered):
            # Whoever did it had leave then, and only hears again what they heard.
            scope.given(True)
            return idempotency.replay(exc.answer)
        response = super().handle_exception(exc)
        if self.writes_atomically(self.request):
            # The exception ends here, so the transaction has to be told of it.
            transaction.set_rollback(True)
        self._answer = None
        return response

    def claim_key(self) -> None:
        """Claim the request's key, inside the transaction of the work. An action with a transaction
        of its own does it there, so that there is never a claim without the work."""
        self._answer = idempotency.begin(self.request)

    def keep_answer(self, response: Response) -> None:
        """Keep an answer with the work itself, for an action that answers after its commit.

        Whoever hears no more than that, since the process ended, gets this one for their key.
        """
        if self._answer is not None:
            idempotency.keep(self._answer, response)

    def keep_no_answer(self) -> None:
        """For an action whose answer holds a secret: sent again, it is done again."""
        if self._answer is not None:
            self._answer.delete()
            self._answer = None

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        final = super().finalize_response(request, response, *args, **kwargs)
        if self.wrote_without_leave(request, final):
            raise RuntimeError(f"{type(self).__name__}.{self.action} asked for no leave to write.")
        if self._answer is not None and isinstance(final, Response):
            idempotency.keep(self._answer, final)
        if self._written is not None and final.status_code < 400:
            house_written.send(type(self), house_id=self._written)
        return final

    def wrote_without_leave(self, request: Request, final: HttpResponseBase) -> bool:
        """Whether a write went through and nothing of `renovation.scope` was asked."""
        return (
            request.method not in SAFE_METHODS
            and final.status_code < 400
            and self.action not in self.without_a_house
            and not scope.was_given()
        )

    def get_queryset(self) -> QuerySet[Row]:
        return visible(super().get_queryset(), self.request.user)

    def filter_queryset(self, queryset: QuerySet[Row, Any]) -> QuerySet[Row, Any]:
        """Filters are for lists: one object's address says which it is."""
        return queryset if self.detail else super().filter_queryset(queryset)

    def etag_of(self, record: Record) -> str:
        """The ETag of a record's answer. Override where more than its columns is answered."""
        return etag(record)

    def get_object(self) -> Row:
        """The row of the address: locked and matched against `If-Match` when it will change."""
        found = super().get_object()
        if self.request.method in SAFE_METHODS:
            return found
        rows = type(found)._default_manager.all()
        if connection.features.has_select_for_update:
            rows.select_for_update(no_key=True).get(pk=found.pk)
            found.refresh_from_db()
        if not scope.may_write(found, self.request.user):
            raise Problem(
                "not-allowed", "You may look at this house but not change it.", status_code=403
            )
        self._written = house_of(found)
        if is_stale(self.request, found):
            raise Problem(
                "stale",
                f"{found} changed since you opened it.",
                status_code=412,
                current=self.get_serializer(found).data,
            )
        return found


def house_of(row: Record) -> int | None:
    """The house a row belongs to; None for what belongs to a person."""
    return None if row.person_path else row.house_id()


class CreateMixin(mixins.CreateModelMixin, ContractView[Row]):
    """`POST` on a list: 201, with the new object's ETag and Location."""

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        wanted = self.get_serializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        self.perform_create(wanted)
        made: Any = wanted.instance
        self._written = house_of(made)
        return Response(
            self.get_serializer(made).data,
            status=201,
            headers={
                "ETag": self.etag_of(made),
                "Location": f"{request.path.rstrip('/')}/{made.pk}/",
            },
        )

    def perform_create(self, serializer: BaseSerializer[Any]) -> None:
        serializer.save()


class RetrieveMixin(mixins.RetrieveModelMixin, ContractView[Row]):
    """`GET` on one object, with its ETag; 304 when the reader has it already."""

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        found = self.get_object()
        headers = {"ETag": self.etag_of(found)}
        if is_unchanged(request, headers["ETag"]):
            return Response(status=304, headers=headers)
        return Response(self.get_serializer(found).data, headers=headers)


class UpdateMixin(mixins.UpdateModelMixin, ContractView[Row]):
    """`PATCH` and `PUT`, answered with the new ETag."""

    def update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        found = self.get_object()
        wanted = self.get_serializer(found, data=request.data, partial=kwargs.get("partial", False))
        wanted.is_valid(raise_exception=True)
        self.perform_update(wanted)
        found = self.get_queryset().get(pk=found.pk)
        return Response(self.get_serializer(found).data, headers={"ETag": self.etag_of(found)})


class RecordViewSet(
    CreateMixin[Row],
    RetrieveMixin[Row],
    UpdateMixin[Row],
    mixins.DestroyModelMixin,
    mixins.ListModelMixin,
):
    """List, create, read, change and remove one kind of record."""


class LogViewSet(CreateMixin[Row], RetrieveMixin[Row], mixins.ListModelMixin):
    """A record that is only ever added to."""


class ReadViewSet(RetrieveMixin[Row], mixins.ListModelMixin):
    """A record that only the program itself writes."""
