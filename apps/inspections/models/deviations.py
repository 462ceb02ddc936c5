"""Where the house is built otherwise than it was specified."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from apps.floors.models import Floor, Joist
from apps.inspections.models.sign_offs import SignOff
from apps.property.models import Property
from renovation.models import Record


class Deviation(Record):
    """What was specified, what is built instead, why, and who decided on it.

    `check_result` is a snapshot of the calculation that supports it, as it was answered then;
    whether it is good enough is for the inspector or the engineer to decide.
    """

    class State(models.TextChoices):
        DRAFTED = "drafted"
        PUT = "put"
        ACCEPTED = "accepted"
        REFUSED = "refused"

    property = models.ForeignKey(Property, models.CASCADE, related_name="deviations")
    floor = models.ForeignKey(
        Floor, models.PROTECT, related_name="deviations", null=True, blank=True
    )
    joist = models.ForeignKey(
        Joist, models.PROTECT, related_name="deviations", null=True, blank=True
    )
    specified = models.CharField(max_length=300)
    built = models.CharField(max_length=300)
    why = models.TextField(blank=True)
    check_result = models.JSONField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.DRAFTED, editable=False)
    put_at = models.DateTimeField(null=True, blank=True, editable=False)
    decided_at = models.DateTimeField(null=True, blank=True, editable=False)
    decided_by = models.ForeignKey(
        SignOff, models.PROTECT, related_name="decided_deviations", null=True, blank=True,
        editable=False,
    )  # fmt: skip
    decided_letter = models.ForeignKey(
        "inspections.Evidence", models.PROTECT, related_name="decided_deviations",
        null=True, blank=True, editable=False,
    )  # fmt: skip

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(specified="") & ~Q(built=""),
                name="deviation_says_what",
                violation_error_message="Say what was specified and what is built instead.",
            ),
            models.CheckConstraint(
                condition=Q(state="drafted") | ~Q(why=""),
                name="deviation_put_says_why",
                violation_error_message="Say why before it is put to anyone.",
            ),
            models.CheckConstraint(
                condition=Q(state="drafted", put_at__isnull=True)
                | ~Q(state="drafted") & Q(put_at__isnull=False),
                name="deviation_put_says_when",
                violation_error_message="A deviation that was put says when.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(state__in=["drafted", "put"], decided_at__isnull=True)
                    & Q(decided_by__isnull=True, decided_letter__isnull=True)
                )
                | (
                    Q(state__in=["accepted", "refused"], decided_at__isnull=False)
                    & (Q(decided_by__isnull=False) | Q(decided_letter__isnull=False))
                ),
                name="deviation_decided_by_something",
                violation_error_message="A sign-off or a letter decides a deviation.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.built} for {self.specified}"
