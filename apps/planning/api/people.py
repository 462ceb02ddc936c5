"""The crew, helpers and their hours over HTTP."""

from __future__ import annotations

from apps.planning.models import Person, WorkingTime, WorkingTimeException
from renovation.serializers import CheckedSerializer
from renovation.viewsets import RecordViewSet


class PersonSerializer(CheckedSerializer[Person]):
    class Meta:
        model = Person
        fields = ["id", "version", "property", "name", "role", "phone"]
        read_only_fields = ["version"]


class PersonViewSet(RecordViewSet[Person]):
    """The crew (one person) and helpers."""

    queryset = Person.objects.all()
    serializer_class = PersonSerializer
    filterset_fields = {"property": ["exact"], "role": ["exact"]}
    search_fields = ["name"]
    ordering_fields = ["id", "name", "role"]


class WorkingTimeSerializer(CheckedSerializer[WorkingTime]):
    class Meta:
        model = WorkingTime
        fields = ["id", "version", "person", "weekday", "starts", "ends"]
        read_only_fields = ["version"]


class WorkingTimeViewSet(RecordViewSet[WorkingTime]):
    """A person's usual week, in the house's own time; Monday = 0."""

    queryset = WorkingTime.objects.select_related("person")
    serializer_class = WorkingTimeSerializer
    filterset_fields = {
        "person": ["exact"], "person__property": ["exact"], "weekday": ["exact"],
    }  # fmt: skip
    ordering_fields = ["id", "weekday", "starts"]


class WorkingTimeExceptionSerializer(CheckedSerializer[WorkingTimeException]):
    class Meta:
        model = WorkingTimeException
        fields = ["id", "version", "person", "date", "starts", "ends", "note"]
        read_only_fields = ["version"]


class WorkingTimeExceptionViewSet(RecordViewSet[WorkingTimeException]):
    """A date with other hours, or (without hours) a day off."""

    queryset = WorkingTimeException.objects.select_related("person")
    serializer_class = WorkingTimeExceptionSerializer
    filterset_fields = {
        "person": ["exact"], "person__property": ["exact"], "date": ["exact", "gte", "lte"],
    }  # fmt: skip
    ordering_fields = ["id", "date"]
