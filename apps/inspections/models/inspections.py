"""Hold points: what must be seen before it is covered."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import F, Q

from apps.floors.models import Floor
from apps.inspections.validators import required_evidence
from apps.property.fields import OutlineField, closed_outline
from apps.property.models import Property, Room
from apps.work.models import Task, refuse_off_the_floor
from apps.work.validators import weekdays
from renovation.models import Record


class Inspection(Record):
    """A look at the work that some tasks have to wait for.

    `looks_at` are the tasks whose result is seen; `blocks` may not start until it is signed
    off and the `required_evidence` is on file. The local building control body decides what
    must be seen, when, and on what notice.
    """

    class By(models.TextChoices):
        BUILDING_CONTROL = "building_control"
        ENGINEER = "engineer"
        WARRANTY = "warranty"
        TRADE = "trade"
        OWN_CHECK = "own_check"

    class State(models.TextChoices):
        DUE = "due"
        NOTIFIED = "notified"
        BOOKED = "booked"
        ACCEPTED = "accepted"
        ACCEPTED_WITH_CONDITIONS = "accepted_with_conditions"
        REJECTED = "rejected"

    property = models.ForeignKey(Property, models.CASCADE, related_name="inspections")
    title = models.CharField(max_length=120)
    by = models.CharField(max_length=16, choices=By, default=By.BUILDING_CONTROL)
    state = models.CharField(max_length=24, choices=State, default=State.DUE, editable=False)
    floor = models.ForeignKey(
        Floor, models.PROTECT, related_name="inspections", null=True, blank=True
    )
    area = OutlineField(null=True, blank=True)
    rooms = models.ManyToManyField(Room, related_name="inspections", blank=True)
    looks_at = models.ManyToManyField(Task, related_name="looked_at_by", blank=True)
    blocks = models.ManyToManyField(Task, related_name="blocked_by", blank=True)
    minutes = models.PositiveIntegerField(default=30)
    notice_working_days = models.PositiveSmallIntegerField(default=1)
    visiting_from = models.TimeField(default=time(9))
    visiting_to = models.TimeField(default=time(16))
    visiting_days = models.JSONField(
        default=list, blank=True, validators=[weekdays],
        help_text="Weekdays they come, Monday = 0; empty: Monday to Friday.",
    )  # fmt: skip
    required_evidence = models.JSONField(
        default=list, blank=True, validators=[required_evidence],
        help_text="[{key, title}, …]: what must be on file before the work is covered.",
    )  # fmt: skip
    notified_at = models.DateTimeField(null=True, blank=True)
    booked_starts = models.DateTimeField(null=True, blank=True)
    booked_ends = models.DateTimeField(null=True, blank=True)
    reference = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)
    usual = models.CharField(
        max_length=40, blank=True, editable=False,
        help_text="Which of the usual inspections this is; empty: one of your own.",
    )  # fmt: skip
    source = models.TextField(
        blank=True, help_text="Where it is written that this must be seen, if anywhere."
    )

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="inspection_has_title",
                violation_error_message="Say what is looked at.",
            ),
            models.CheckConstraint(
                condition=Q(minutes__range=(15, 480)),
                name="inspection_minutes_possible",
                violation_error_message="A look takes 15 to 480 minutes.",
            ),
            models.CheckConstraint(
                condition=Q(notice_working_days__lte=60),
                name="inspection_notice_possible",
                violation_error_message="Notice is at most 60 working days.",
            ),
            models.CheckConstraint(
                condition=Q(visiting_from__lt=F("visiting_to")),
                name="inspection_visiting_hours_in_order",
                violation_error_message="Visiting hours end after they begin.",
            ),
            models.CheckConstraint(
                condition=Q(booked_starts__isnull=True, booked_ends__isnull=True)
                | Q(booked_starts__lt=F("booked_ends")),
                name="inspection_booking_in_order",
                violation_error_message="A booking has a start and an end, in that order.",
            ),
            models.CheckConstraint(
                condition=~Q(state="booked") | Q(booked_starts__isnull=False),
                name="inspection_booked_has_times",
                violation_error_message="A booked inspection has a start and an end.",
            ),
            models.CheckConstraint(
                condition=Q(area__isnull=True) | Q(floor__isnull=False),
                name="inspection_area_on_a_floor",
                violation_error_message="Say which floor the area is on.",
            ),
            models.UniqueConstraint(
                fields=["property", "usual"],
                condition=~Q(usual=""),
                name="inspection_usual_once_per_property",
                violation_error_message="This usual inspection is there already.",
            ),
            closed_outline("area", "inspection_area_is_closed", optional=True),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        refuse_off_the_floor(self.floor, area=self.area)


SIGNED_OFF = (Inspection.State.ACCEPTED, Inspection.State.ACCEPTED_WITH_CONDITIONS)
