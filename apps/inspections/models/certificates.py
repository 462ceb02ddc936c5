"""Papers that trades owe for what they did."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from apps.property.models import Property
from apps.work.models import Trade
from renovation.models import Record


class Certificate(Record):
    """A certificate or test sheet that is owed, and when it came.

    It is due with the visit that produces it (the visit names it) or on `due_on`. Its file is
    the evidence that names it.
    """

    property = models.ForeignKey(Property, models.CASCADE, related_name="certificates")
    craft = models.CharField(max_length=11, choices=Trade.Craft)
    title = models.CharField(max_length=120)
    trade = models.ForeignKey(
        Trade, models.PROTECT, related_name="certificates", null=True, blank=True
    )
    due_on = models.DateField(null=True, blank=True)
    received_on = models.DateField(null=True, blank=True, editable=False)
    note = models.TextField(blank=True)
    usual = models.CharField(
        max_length=40, blank=True, editable=False,
        help_text="Which of the usual certificates this is; empty: one of your own.",
    )  # fmt: skip
    source = models.TextField(blank=True, help_text="Where it is written that this is owed.")

    class Meta:
        ordering = ["property", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(title=""),
                name="certificate_has_title",
                violation_error_message="Say what the certificate is for.",
            ),
            models.UniqueConstraint(
                fields=["property", "usual"],
                condition=~Q(usual=""),
                name="certificate_usual_once_per_property",
                violation_error_message="This usual certificate is there already.",
            ),
        ]

    def __str__(self) -> str:
        return self.title
