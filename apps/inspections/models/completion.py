"""The completion file: the whole record of a house, as sheets and for machines, in one ZIP."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length, Now
from django.db.models.lookups import Exact

from apps.property.models import Property
from renovation.jobs import Job

UNFINISHED_STATES = ("queued", "building")


class CompletionFile(Job):
    """One completion file of a house, asked for and then built.

    The file lies in the data folder as `completion/<id>.zip`; old ones are pruned.
    """

    WORKING: ClassVar[str] = "building"
    ENDED_AT: ClassVar[str] = "finished_at"

    class State(models.TextChoices):
        QUEUED = "queued"
        BUILDING = "building"
        READY = "ready"
        FAILED = "failed"
        CANCELLED = "cancelled"

    property = models.ForeignKey(Property, models.CASCADE, related_name="completion_files")
    state = models.CharField(max_length=9, choices=State, default=State.QUEUED)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    requested_at = models.DateTimeField(db_default=Now())
    finished_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    byte_size = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["property"],
                condition=Q(state__in=UNFINISHED_STATES),
                name="completion_file_one_at_work",
                violation_error_message="A completion file of this house is being made already.",
            ),
            models.CheckConstraint(
                condition=Q(progress_pct__lte=100), name="completion_file_progress_is_a_part"
            ),
            models.CheckConstraint(
                condition=(
                    Q(Exact(Length("sha256"), 64), state="ready", byte_size__gt=0)
                    & Q(progress_pct=100)
                )
                | (~Q(state="ready") & Q(sha256="", byte_size__isnull=True)),
                name="completion_file_ready_has_a_file",
            ),
            models.CheckConstraint(
                condition=Q(state="failed") & ~Q(failure="") | ~Q(state="failed") & Q(failure=""),
                name="completion_file_failed_says_why",
            ),
            models.CheckConstraint(
                condition=Q(state__in=UNFINISHED_STATES, finished_at__isnull=True)
                | Q(state__in=("ready", "failed", "cancelled"), finished_at__isnull=False),
                name="completion_file_finished_says_when",
            ),
        ]

    def __str__(self) -> str:
        return f"completion file {self.pk} ({self.state})"
