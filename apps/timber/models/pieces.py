"""The pile: pieces, what is wrong along them, and how wet they are."""

from __future__ import annotations

from enum import StrEnum
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from apps.inspections.models import Evidence
from apps.property.models import Property
from apps.timber.pieces_as_data import (
    DefectKind,
    Face,
    GradeBasis,
    PieceState,
    Severity,
    Source,
    Stored,
)
from renovation.models import Record

LONGEST_MM = 20_000
SECTION_MM = (5, 600)
NO_PERCENTAGE = (
    "A moisture reading is 0 to 100 % of the dry mass; more is a slip, or the meter's scale for "
    "other materials."
)
NO_STRETCH = "A defect lies from `from_mm` to a greater `to_mm`, from the marked end."
NOT_NAILS = "Only nails can be drawn."


def choices(words: type[StrEnum]) -> list[tuple[str, str]]:
    """An enumeration of a pure module as choices of a column."""
    return [(word.value, word.value.replace("_", " ")) for word in words]


def possible_section(name: str) -> models.CheckConstraint:
    """The rule of every section: breadth is the smaller side, so that sections compare."""
    return models.CheckConstraint(
        condition=Q(
            breadth_mm__range=SECTION_MM, depth_mm__range=SECTION_MM, breadth_mm__lte=F("depth_mm")
        ),
        name=name,
        violation_error_message=(
            "A section is 5 to 600 mm a side, in millimetres; the breadth is the smaller side."
        ),
    )


class Piece(Record):
    """One piece of timber. `state` changes by services only.

    Its defects are written with it (`services.pieces`): a rule of many rows, such as two
    defects in one place, is the service's; what one row tells is a constraint here.
    """

    property = models.ForeignKey(Property, models.CASCADE, related_name="timber_pieces")
    mark = models.CharField(max_length=12)
    origin = models.CharField(max_length=200, blank=True)
    stored = models.CharField(max_length=7, choices=choices(Stored), default=Stored.COVERED.value)
    species = models.CharField(max_length=60, blank=True)
    strength_class = models.CharField(max_length=8, blank=True)
    grade_basis = models.CharField(
        max_length=9, choices=choices(GradeBasis), default=GradeBasis.ASSUMED.value
    )
    graded_by = models.CharField(max_length=120, blank=True)
    grade_why = models.CharField(max_length=300, blank=True)
    breadth_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    treated = models.BooleanField(default=False)
    photo = models.ForeignKey(
        Evidence, models.PROTECT, related_name="timber_pieces", null=True, blank=True
    )
    source = models.CharField(max_length=8, choices=choices(Source), default=Source.SALVAGED.value)
    cut_from = models.ForeignKey(
        "self", models.PROTECT, related_name="offcuts", null=True, blank=True, editable=False
    )
    state = models.CharField(
        max_length=8, choices=choices(PieceState), default=PieceState.IN_STOCK.value, editable=False
    )
    scrap_reason = models.CharField(max_length=200, blank=True, editable=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["property", "pk"]
        verbose_name = "piece of timber"
        verbose_name_plural = "pieces of timber"
        constraints = [
            models.UniqueConstraint(
                fields=["property", "mark"],
                name="piece_mark_once_per_property",
                violation_error_message="There is a piece of this mark in the pile already.",
            ),
            models.CheckConstraint(
                condition=~Q(mark=""),
                name="piece_has_mark",
                violation_error_message="Give the piece a mark.",
            ),
            possible_section("piece_section_is_possible"),
            models.CheckConstraint(
                condition=Q(length_mm__range=(50, LONGEST_MM)),
                name="piece_length_is_possible",
                violation_error_message="A piece is 50 to 20,000 mm long, in millimetres.",
            ),
            models.CheckConstraint(
                condition=Q(strength_class="") | Q(grade_basis="stamped") | ~Q(graded_by=""),
                name="piece_class_says_who",
                violation_error_message=(
                    "Say in `graded_by` who graded it, or who assumes its strength class."
                ),
            ),
            models.CheckConstraint(
                condition=Q(strength_class="") | ~Q(grade_basis="assumed") | ~Q(grade_why=""),
                name="piece_assumed_class_says_why",
                violation_error_message="Say in `grade_why` why this strength class is assumed.",
            ),
            models.CheckConstraint(
                condition=Q(cut_from__isnull=True) | Q(source="offcut"),
                name="piece_cut_from_another_is_an_offcut",
                violation_error_message="What was cut from another piece is an offcut.",
            ),
            models.CheckConstraint(
                condition=Q(state="scrapped") | Q(scrap_reason=""),
                name="piece_scrap_reason_is_of_scrap",
                violation_error_message="Only a scrapped piece has a reason for it.",
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    def clean(self) -> None:
        if self.photo is not None and self.photo.kind != Evidence.Kind.PHOTO:
            raise ValidationError({"photo": f"“{self.photo}” is a document, not a photo."})


class Defect(Record):
    """Something along a piece that matters to what it can be used for, from the marked end."""

    scope_path: ClassVar[str] = "piece__property"

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="defects")
    kind = models.CharField(max_length=6, choices=choices(DefectKind))
    from_mm = models.PositiveIntegerField()
    to_mm = models.PositiveIntegerField()
    face = models.CharField(max_length=6, choices=choices(Face), default=Face.ALL.value)
    severity = models.CharField(
        max_length=8, choices=choices(Severity), default=Severity.MODERATE.value
    )
    drawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["piece", "from_mm", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(from_mm__gte=0, from_mm__lt=F("to_mm"), to_mm__lte=LONGEST_MM),
                name="defect_ends_after_it_begins",
                violation_error_message=NO_STRETCH,
            ),
            models.CheckConstraint(
                condition=Q(drawn=False) | Q(kind="nails"),
                name="defect_drawn_is_nails",
                violation_error_message=NOT_NAILS,
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.from_mm}–{self.to_mm} mm of {self.piece}"

    def clean(self) -> None:
        # The constraints again, without a query each: a sheet may bring a thousand defects.
        if not self.from_mm < self.to_mm:
            raise ValidationError(NO_STRETCH)
        if self.drawn and self.kind != DefectKind.NAILS:
            raise ValidationError(NOT_NAILS)


class MoistureReading(Record):
    """What a moisture meter said. Never altered: a slip is removed and read again."""

    scope_path: ClassVar[str] = "piece__property"

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="readings")
    at_mm = models.PositiveIntegerField(default=0)
    measured_pct = models.FloatField()
    wood_temperature_c = models.FloatField(null=True, blank=True)
    species_correction_pct = models.FloatField(default=0)
    instrument = models.CharField(max_length=120, blank=True)
    read_at = models.DateTimeField()

    class Meta:
        ordering = ["piece", "-read_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(measured_pct__range=(0, 100)),
                name="reading_is_a_percentage",
                violation_error_message=NO_PERCENTAGE.replace("%", "%%"),
            ),
            models.CheckConstraint(
                condition=Q(wood_temperature_c__isnull=True)
                | Q(wood_temperature_c__range=(-30, 60)),
                name="reading_temperature_is_possible",
                violation_error_message="The wood is −30 to 60 °C.",
            ),
            models.CheckConstraint(
                condition=Q(species_correction_pct__range=(-10, 10)),
                name="reading_correction_is_small",
                violation_error_message="A correction for the species is −10 to 10 points.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measured_pct:g} % in {self.piece}"

    def clean(self) -> None:
        # The constraint again, for a sentence that points at the field of one in a list.
        if not 0 <= self.measured_pct <= 100:
            raise ValidationError({"measured_pct": NO_PERCENTAGE})
        if self.at_mm > self.piece.length_mm:
            raise ValidationError(
                {"at_mm": f"{self.piece} is {self.piece.length_mm} mm long; this is beyond it."}
            )
