"""Photos and documents that show what cannot be seen any more."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length, Now
from django.db.models.lookups import Exact

from apps.inspections.models.certificates import Certificate
from apps.inspections.models.deviations import Deviation
from apps.inspections.models.inspections import Inspection
from apps.inspections.models.sign_offs import Condition
from apps.property.models import Property
from apps.work.models import Finding
from renovation.models import Record

LARGEST_FILE_BYTES = 25 * 1024 * 1024
SHA256_LENGTH = 64


class Evidence(Record):
    """One file as it was kept, with its SHA-256, and what it is evidence of.

    The file lies in the data folder as `evidence/<first two of sha256>/<sha256>`.
    `requirement` is the key of the inspection's required evidence that it satisfies.
    """

    class Kind(models.TextChoices):
        PHOTO = "photo"
        DOCUMENT = "document"

    property = models.ForeignKey(Property, models.CASCADE, related_name="evidence")
    title = models.CharField(max_length=200)
    kind = models.CharField(max_length=8, choices=Kind, editable=False)
    content_type = models.CharField(max_length=60, editable=False)
    byte_size = models.PositiveIntegerField(editable=False)
    sha256 = models.CharField(max_length=SHA256_LENGTH, editable=False)
    file_name = models.CharField(max_length=120, editable=False)
    original_name = models.CharField(max_length=255, blank=True, editable=False)
    taken_at = models.DateTimeField(null=True, blank=True)
    width_px = models.PositiveIntegerField(null=True, blank=True, editable=False)
    height_px = models.PositiveIntegerField(null=True, blank=True, editable=False)
    uploaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", editable=False
    )
    uploaded_at = models.DateTimeField(db_default=Now(), editable=False)
    requirement = models.CharField(max_length=40, blank=True)
    inspection = models.ForeignKey(
        Inspection, models.PROTECT, related_name="evidence", null=True, blank=True
    )
    condition = models.ForeignKey(
        Condition, models.PROTECT, related_name="evidence", null=True, blank=True
    )
    deviation = models.ForeignKey(
        Deviation, models.PROTECT, related_name="evidence", null=True, blank=True
    )
    certificate = models.ForeignKey(
        Certificate, models.PROTECT, related_name="evidence", null=True, blank=True
    )
    finding = models.ForeignKey(
        Finding, models.PROTECT, related_name="evidence", null=True, blank=True
    )

    class Meta:
        ordering = ["property", "pk"]
        verbose_name_plural = "evidence"
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="evidence_has_title",
                violation_error_message="Say what it shows.",
            ),
            models.CheckConstraint(
                condition=Q(Exact(Length("sha256"), SHA256_LENGTH)),
                name="evidence_has_a_digest",
                violation_error_message="Evidence carries its SHA-256.",
            ),
            models.CheckConstraint(
                condition=Q(byte_size__range=(1, LARGEST_FILE_BYTES)),
                name="evidence_size_is_possible",
                violation_error_message="A file has 1 byte to 25 MiB.",
            ),
            models.CheckConstraint(
                condition=Q(kind="document") | Q(kind="photo", content_type__startswith="image/"),
                name="evidence_photo_is_an_image",
                violation_error_message="A photo is an image.",
            ),
            models.CheckConstraint(
                condition=Q(width_px__isnull=True, height_px__isnull=True)
                | Q(width_px__gt=0, height_px__gt=0),
                name="evidence_sides_are_both_known",
                violation_error_message="An image has a width and a height.",
            ),
            models.CheckConstraint(
                condition=Q(requirement="") | Q(inspection__isnull=False),
                name="evidence_requirement_is_an_inspections",
                violation_error_message="Say which inspection asked for it.",
            ),
        ]

    def __str__(self) -> str:
        return self.title
