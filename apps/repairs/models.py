"""Repairs of joists that were accepted, with everything that accepting one made."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from apps.floors.models import Joist
from apps.inspections.models import Deviation, Inspection
from apps.timber.models import Need
from apps.trades.models import TemporaryMeasure
from apps.work.models import Finding, Task, WorkPackage
from renovation.models import Record


class Repair(Record):
    """One proposal that was accepted: a snapshot of it, and the rows it made.

    `proposal` is the option as it was answered then, with its checks; it is not worked out again.
    Rows that are removed elsewhere leave the repair by themselves.
    """

    scope_path: ClassVar[str] = "joist__floor__property"

    class Option(models.TextChoices):
        LAP_END = "lap_end"
        SISTER = "sister"
        SISTER_HANGER = "sister_hanger"
        REPLACE = "replace"

    joist = models.ForeignKey(Joist, models.PROTECT, related_name="repairs")
    finding = models.ForeignKey(
        Finding, models.PROTECT, related_name="repairs", null=True, blank=True
    )
    option = models.CharField(max_length=13, choices=Option)
    title = models.CharField(max_length=120)
    evidence = models.CharField(max_length=64)
    proposal = models.JSONField()
    reason = models.TextField(blank=True)
    decision = models.TextField(blank=True, editable=False)
    package = models.ForeignKey(
        WorkPackage, models.SET_NULL, related_name="repairs", null=True, blank=True
    )
    package_is_own = models.BooleanField(default=False)
    tasks = models.ManyToManyField(Task, related_name="repairs", blank=True)
    needs = models.ManyToManyField(Need, related_name="repairs", blank=True)
    inspection = models.ForeignKey(
        Inspection, models.SET_NULL, related_name="repairs", null=True, blank=True
    )
    inspection_is_own = models.BooleanField(default=False)
    deviation = models.ForeignKey(
        Deviation, models.SET_NULL, related_name="repairs", null=True, blank=True
    )
    measure = models.ForeignKey(
        TemporaryMeasure, models.SET_NULL, related_name="repairs", null=True, blank=True
    )
    accepted_at = models.DateTimeField()
    accepted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True)
    kept = models.JSONField(
        default=list, help_text="[{kind, id, name, why}]: what stayed when it was undone."
    )

    class Meta:
        ordering = ["joist", "-accepted_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="repair_has_title",
                violation_error_message="Say what the repair is.",
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=models.F("accepted_at")),
                name="repair_undone_after_it_was_accepted",
                violation_error_message="A repair is undone after it was accepted.",
            ),
        ]

    def __str__(self) -> str:
        return self.title
