"""Sign-offs, the chain they form, and the conditions that came with them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.db.models.lookups import Exact

from apps.inspections.models.inspections import Inspection
from apps.property.models import Property
from apps.work.models import Task
from renovation.models import Record

DIGEST_LENGTH = 64


class SignOff(Record):
    """What the one who looked said, and when; or an owner's decision not to wait for a look.

    Never altered: a correction is a new row that `supersedes` the old one with a reason, and
    both stay. A house's rows are numbered from 1, and each carries a digest over its content
    and the digest before it (see `chain.py`), so that no row can be changed, removed or slipped
    in afterwards without it showing. `stated` keeps what the row names as it stood then.

    Of a row that was signed in another installation, `as_signed` keeps the ids that it named
    there (`moved_in`: with which archive it left): the digest is made of those. Its own columns
    name the rows as they are numbered here.
    """

    class Result(models.TextChoices):
        ACCEPTED = "accepted"
        ACCEPTED_WITH_CONDITIONS = "accepted_with_conditions"
        REJECTED = "rejected"
        OVERRIDDEN = "overridden"

    property = models.ForeignKey(Property, models.PROTECT, related_name="sign_offs")
    number = models.PositiveIntegerField()
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="sign_offs")
    task = models.ForeignKey(Task, models.PROTECT, related_name="overrides", null=True, blank=True)
    result = models.CharField(max_length=24, choices=Result)
    seen_by = models.CharField(max_length=120)
    seen_at = models.DateTimeField()
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )
    reason = models.TextField(
        blank=True, help_text="Why an earlier sign-off is corrected, or a hold point overridden."
    )
    stated = models.JSONField(default=dict, blank=True)
    as_signed = models.JSONField(null=True, blank=True, editable=False)
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    previous_digest = models.CharField(max_length=DIGEST_LENGTH, blank=True)
    digest = models.CharField(max_length=DIGEST_LENGTH)

    class Meta:
        ordering = ["property", "number"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(seen_by=""),
                name="sign_off_says_who",
                violation_error_message="Say who looked.",
            ),
            models.UniqueConstraint(
                fields=["property", "number"],
                name="sign_off_number_once_per_property",
                violation_error_message="Someone else's sign-off came in at the same moment.",
            ),
            models.CheckConstraint(
                condition=Q(number=1, previous_digest="")
                | Q(Exact(Length("previous_digest"), DIGEST_LENGTH), number__gt=1),
                name="sign_off_follows_another",
                violation_error_message="All but the first carry the digest before them.",
            ),
            models.CheckConstraint(
                condition=Q(Exact(Length("digest"), DIGEST_LENGTH)),
                name="sign_off_has_a_digest",
                violation_error_message="A sign-off carries its SHA-256.",
            ),
            models.CheckConstraint(
                condition=Q(result="overridden", task__isnull=False, supersedes__isnull=True)
                | (~Q(result="overridden") & Q(task__isnull=True)),
                name="sign_off_overridden_names_the_task",
                violation_error_message="An override, and only an override, names the task.",
            ),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True, reason="") & ~Q(result="overridden")
                | (Q(supersedes__isnull=False) | Q(result="overridden")) & ~Q(reason=""),
                name="sign_off_gives_its_reason",
                violation_error_message="Say why: a correction or an override gives its reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.inspection}: {self.get_result_display()}"


class Condition(Record):
    """Something that was accepted only on a promise: open until it is cleared."""

    scope_path: ClassVar[str] = "sign_off__property"

    sign_off = models.ForeignKey(SignOff, models.PROTECT, related_name="conditions")
    text = models.CharField(max_length=500)
    due_on = models.DateField(null=True, blank=True)
    blocks = models.ManyToManyField(Task, related_name="conditions", blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_note = models.TextField(blank=True)
    cleared_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering = ["sign_off", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(text=""),
                name="condition_says_what",
                violation_error_message="Say what was asked for.",
            ),
            models.CheckConstraint(
                condition=Q(cleared_at__isnull=True, cleared_by__isnull=True, cleared_note="")
                | Q(cleared_at__isnull=False, cleared_by__isnull=False) & ~Q(cleared_note=""),
                name="condition_cleared_says_how",
                violation_error_message="Say how it was met.",
            ),
        ]

    def __str__(self) -> str:
        return self.text
