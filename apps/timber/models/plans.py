"""How the timber is to be cut: plans, the bars they cut from, and the cuts along each bar."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from apps.property.models import Property
from apps.timber.models.needs import Need, StockLength
from apps.timber.models.pieces import LONGEST_MM, Piece, possible_section
from apps.timber.runs import SETTINGS
from apps.work.models import Supply
from renovation.jobs import Job
from renovation.models import Record


class CuttingPlan(Job):
    """One answer of the cutter, and with which settings. `state` changes by services only.

    Several plans may be applied at
    once: no two of them have a piece, or a length of a need, in common (services see to it). A
    plan that `replans` another takes its place when it is applied.
    """

    class State(models.TextChoices):
        QUEUED = "queued"
        SOLVING = "solving"
        READY = "ready"
        FAILED = "failed"
        APPLIED = "applied"
        DONE = "done"
        REPLACED = "replaced"
        CANCELLED = "cancelled"
        SUPERSEDED = "superseded"

    property = models.ForeignKey(Property, models.CASCADE, related_name="cutting_plans")
    state = models.CharField(max_length=10, choices=State, default=State.QUEUED, editable=False)
    as_of = models.DateField(
        null=True, blank=True,
        help_text="The day it is worked out for, which is when drying is forecast from.",
    )  # fmt: skip
    seconds = models.FloatField(default=2.0)
    kerf_mm = models.PositiveSmallIntegerField(default=3)
    end_trim_mm = models.PositiveSmallIntegerField(default=SETTINGS.end_trim_mm)
    nail_margin_mm = models.PositiveSmallIntegerField(default=SETTINGS.nail_margin_mm)
    decay_margin_mm = models.PositiveSmallIntegerField(default=SETTINGS.decay_margin_mm)
    least_offcut_mm = models.PositiveSmallIntegerField(default=300)
    short_by_mm = models.PositiveSmallIntegerField(default=2)
    ripping_pence_per_m = models.PositiveIntegerField(default=100)
    needs = models.ManyToManyField(Need, related_name="+", blank=True)
    pieces = models.ManyToManyField(Piece, related_name="+", blank=True)
    replans = models.ForeignKey(
        "self", models.SET_NULL, related_name="replanned_by", null=True, blank=True
    )
    superseded_by = models.ForeignKey(
        "self", models.SET_NULL, related_name="+", null=True, blank=True
    )
    objective = models.JSONField(default=list)
    proven = models.BooleanField(default=False)
    notes = models.JSONField(default=list)
    unmet = models.JSONField(default=list)
    solve_seconds = models.FloatField(null=True, blank=True)
    failure = models.TextField(blank=True)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    requested_at = models.DateTimeField(db_default=Now())
    solved_at = models.DateTimeField(null=True, blank=True)
    applied_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(
                fields=["property"],
                condition=Q(state__in=("queued", "solving")),
                name="cutting_plan_unfinished",
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["property"], condition=Q(state="solving"), name="cutting_plan_one_at_work"
            ),
            models.CheckConstraint(
                condition=Q(seconds__gt=0, seconds__lte=60),
                name="cutting_plan_seconds_possible",
                violation_error_message="Give the cutter more than 0 and at most 60 seconds.",
            ),
            models.CheckConstraint(
                condition=Q(kerf_mm__lte=20),
                name="cutting_plan_kerf_possible",
                violation_error_message="A saw takes 0 to 20 mm.",
            ),
            models.CheckConstraint(
                condition=Q(
                    end_trim_mm__lte=1000,
                    nail_margin_mm__lte=1000,
                    decay_margin_mm__lte=1000,
                    short_by_mm__lte=20,
                ),
                name="cutting_plan_margins_possible",
                violation_error_message=(
                    "Trims and margins are at most 1000 mm; a part is at most 20 mm short."
                ),
            ),
            models.CheckConstraint(
                condition=Q(least_offcut_mm__range=(50, 5000)),
                name="cutting_plan_least_offcut_possible",
                violation_error_message="The least offcut worth keeping is 50 to 5000 mm.",
            ),
            models.CheckConstraint(
                condition=Q(ripping_pence_per_m__lte=100_000),
                name="cutting_plan_ripping_possible",
                violation_error_message="Ripping costs at most 100,000 pence (or cents) a metre.",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["applied", "done"], applied_at__isnull=False)
                | Q(state="replaced")
                | (~Q(state__in=["applied", "done"]) & Q(applied_at__isnull=True)),
                name="cutting_plan_applied_says_when",
            ),
        ]

    def __str__(self) -> str:
        return f"cutting plan {self.pk}"


class CuttingBar(Record):
    """One length that a plan cuts from: a piece of the pile, or one to be bought.

    Its length is parts, saw kerfs, trims, offcuts and waste to the millimetre, as planned and,
    once it is sawn, as it was sawn. A bought bar becomes a piece with its first cut.
    """

    scope_path: ClassVar[str] = "plan__property"

    plan = models.ForeignKey(CuttingPlan, models.CASCADE, related_name="bars")
    place = models.PositiveIntegerField()
    mark = models.CharField(max_length=20)
    bought = models.BooleanField(default=False)
    piece = models.ForeignKey(
        Piece, models.SET_NULL, related_name="cutting_bars", null=True, blank=True
    )
    stock = models.ForeignKey(
        StockLength, models.SET_NULL, related_name="cutting_bars", null=True, blank=True
    )
    supply = models.ForeignKey(
        Supply, models.SET_NULL, related_name="cutting_bars", null=True, blank=True
    )
    breadth_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    cost_pence = models.PositiveIntegerField(default=0)
    parts_mm = models.PositiveIntegerField()
    kerfs_mm = models.PositiveIntegerField()
    trims_mm = models.PositiveIntegerField()
    offcuts_mm = models.PositiveIntegerField()
    waste_mm = models.PositiveIntegerField()
    sawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["plan", "place"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "place"], name="cutting_bar_place_once"),
            possible_section("cutting_bar_section_is_possible"),
            models.CheckConstraint(
                condition=Q(length_mm__range=(50, LONGEST_MM)),
                name="cutting_bar_length_is_possible",
            ),
            models.CheckConstraint(
                condition=Q(
                    length_mm=F("parts_mm")
                    + F("kerfs_mm")
                    + F("trims_mm")
                    + F("offcuts_mm")
                    + F("waste_mm")
                ),
                name="cutting_bar_keeps_its_length",
                violation_error_message="Parts, kerfs, trims, offcuts and waste are its length.",
            ),
        ]

    def __str__(self) -> str:
        return self.mark


class Cut(Record):
    """One part sawn from a bar, in sawing order; positions from the bar's marked end.

    It lies in a sound length of the bar for what it is wanted as. One that found no room any
    more, when a part before it came out longer, is `pushed_off_by` that part and counts no more.
    """

    scope_path: ClassVar[str] = "bar__plan__property"

    bar = models.ForeignKey(CuttingBar, models.CASCADE, related_name="cuts")
    place = models.PositiveIntegerField()
    need = models.ForeignKey(Need, models.SET_NULL, related_name="cuts", null=True, blank=True)
    title = models.CharField(max_length=120)
    length_mm = models.PositiveIntegerField()
    from_mm = models.PositiveIntegerField()
    to_mm = models.PositiveIntegerField()
    sound_from_mm = models.PositiveIntegerField()
    sound_to_mm = models.PositiveIntegerField()
    rip_breadth_mm = models.PositiveIntegerField(null=True, blank=True)
    rip_depth_mm = models.PositiveIntegerField(null=True, blank=True)
    sentence = models.CharField(max_length=500, blank=True)
    pinned = models.BooleanField(default=False)
    made_at = models.DateTimeField(null=True, blank=True)
    actual_mm = models.PositiveIntegerField(null=True, blank=True)
    spoilt = models.BooleanField(default=False)
    told = models.CharField(max_length=500, blank=True)
    pushed_off_by = models.ForeignKey(
        "self", models.SET_NULL, related_name="pushed_off", null=True, blank=True
    )

    class Meta:
        ordering = ["bar", "place"]
        constraints = [
            models.UniqueConstraint(fields=["bar", "place"], name="cut_place_once"),
            models.CheckConstraint(condition=Q(from_mm__lt=F("to_mm")), name="cut_has_length"),
            models.CheckConstraint(
                condition=Q(made_at__isnull=False)
                | Q(from_mm__gte=F("sound_from_mm"), to_mm__lte=F("sound_to_mm")),
                name="cut_lies_in_its_sound_length",
                violation_error_message="A planned part lies between the defects that matter.",
            ),
            models.CheckConstraint(
                condition=Q(made_at__isnull=True, actual_mm__isnull=True, spoilt=False)
                | Q(made_at__isnull=False, actual_mm__isnull=False),
                name="cut_made_says_how_long",
                violation_error_message="A cut that is made says how long the part is.",
            ),
            models.CheckConstraint(
                condition=Q(pushed_off_by__isnull=True) | Q(made_at__isnull=True),
                name="cut_pushed_off_is_not_made",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, {self.length_mm} mm of {self.bar}"
