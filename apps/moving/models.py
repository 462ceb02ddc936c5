"""Houses on their way: one that is put in a file, and one that comes in from a file."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length, Now
from django.db.models.lookups import Exact

from apps.property.models import Property
from renovation.jobs import Job

UNFINISHED_STATES = ("queued", "working")


class OnTheWay(Job):
    """What both have: asked for, worked on, ended."""

    WORKING: ClassVar[str] = "working"
    ENDED_AT: ClassVar[str] = "finished_at"

    class State(models.TextChoices):
        QUEUED = "queued"
        WORKING = "working"
        READY = "ready"
        FAILED = "failed"
        CANCELLED = "cancelled"

    state = models.CharField(max_length=9, choices=State, default=State.QUEUED)
    requested_at = models.DateTimeField(db_default=Now())
    finished_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)

    class Meta:
        abstract = True
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(progress_pct__lte=100), name="%(class)s_progress_is_a_part"
            ),
            models.CheckConstraint(
                condition=Q(state="failed") & ~Q(failure="") | ~Q(state="failed") & Q(failure=""),
                name="%(class)s_failed_says_why",
            ),
            models.CheckConstraint(
                condition=Q(state__in=UNFINISHED_STATES, finished_at__isnull=True)
                | Q(state__in=("ready", "failed", "cancelled"), finished_at__isnull=False),
                name="%(class)s_finished_says_when",
            ),
        ]


class HouseFile(OnTheWay):
    """One house in a file, to be taken to another installation. It is for the house's owners.

    The file lies in the data folder as `house-files/<id>.house` for some days.
    """

    property = models.ForeignKey(Property, models.CASCADE, related_name="house_files")
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    sha256 = models.CharField(max_length=64, blank=True)
    byte_size = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta(OnTheWay.Meta):
        constraints = [
            *OnTheWay.Meta.constraints,
            models.UniqueConstraint(
                fields=["property"], condition=Q(state="working"), name="house_file_one_at_work"
            ),
            models.CheckConstraint(
                condition=Q(Exact(Length("sha256"), 64), state="ready", byte_size__gt=0)
                | (~Q(state="ready") & Q(sha256="", byte_size__isnull=True)),
                name="house_file_ready_has_a_file",
            ),
        ]

    def __str__(self) -> str:
        return f"house file {self.pk} ({self.state})"


class HouseArrival(OnTheWay):
    """A house that somebody brings in from a file. It is theirs, and nobody else sees the row.

    What was sent lies in the data folder as `house-arrivals/<id>.house` until this has ended.
    """

    SERVED: ClassVar[str] = "requested_by"
    person_path: ClassVar[str] = "requested_by"
    scope_path: ClassVar[str] = ""

    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="house_arrivals"
    )
    file_name = models.CharField(max_length=255, blank=True)
    byte_size = models.PositiveBigIntegerField()
    property = models.ForeignKey(
        Property, models.SET_NULL, null=True, blank=True, related_name="+"
    )  # fmt: skip

    class Meta(OnTheWay.Meta):
        constraints = [
            *OnTheWay.Meta.constraints,
            models.UniqueConstraint(
                fields=["requested_by"],
                condition=Q(state="working"),
                name="house_arrival_one_at_work",
            ),
            models.CheckConstraint(
                # A house that came in may be removed again.
                condition=Q(state="ready") | Q(property__isnull=True),
                name="house_arrival_only_a_ready_one_has_a_house",
            ),
        ]

    def __str__(self) -> str:
        return f"house arrival {self.pk} ({self.state})"
