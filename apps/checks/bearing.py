"""What one end of a joist rests on: long enough, not crushed, hard packed, dry and fixed.

Crushing by EN 1995-1-1 6.1.5; the rest by published guidance and settings.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from apps.checks.bearing_input import (
    HARD,
    LEASTS,
    MATERIALS,
    ON_MASONRY,
    BearingInput,
    BearingPacker,
    BearingSettings,
    Hanger,
)
from apps.checks.loads import Factors, combinations
from apps.checks.results import Check, Note, Outcome, against, outcome, salvaged_cautions
from apps.checks.strength import GAMMA_M, k_mod, strength_class

__all__ = [
    "BearingInput",
    "BearingOutcome",
    "BearingPacker",
    "BearingSettings",
    "Hanger",
    "check_bearing",
]

NHBC_HANGER = "NHBC Standards 6.4.13 (2024), read"
NHBC_PACKING = "NHBC Good Craftsmanship Guide, read"


@dataclass(frozen=True, slots=True)
class BearingOutcome:
    """The answer about one bearing; `figures` empty when blocked."""

    outcome: Outcome
    given: BearingInput
    figures: dict[str, float] = field(default_factory=dict)


def check_bearing(given: BearingInput) -> BearingOutcome:
    """Length, crushing, packing and hanger of one bearing.

    No capacity is given on packing that is soft, as it goes on giving way.
    """
    basis = given.grade_basis
    if basis == "graded_by" and not given.graded_by.strip():
        basis = "assumed"
    cautions = salvaged_cautions(basis)
    blocked = tuple(_reasons_to_wait(given))
    warnings = tuple(_warnings(given))
    if blocked:
        answer = outcome("The bearing", (), blocked=blocked, warnings=warnings, cautions=cautions)
        return BearingOutcome(answer, given)
    pressures, figures = _pressures(given)
    checks = (_length(given), *pressures, *_packing(given), *_hanger(given))
    answer = outcome("The bearing", checks, warnings=warnings, cautions=cautions)
    return BearingOutcome(answer, given, figures)


def _length(given: BearingInput) -> Check:
    least, source = given.settings.least_mm(given.kind)
    return against(
        "length", f"The length borne {LEASTS[given.kind].where}", demand=given.length_mm,
        capacity=least, unit="mm", clause=source, at_least=True,
    )  # fmt: skip


def _pressures(given: BearingInput) -> tuple[list[Check], dict[str, float]]:
    """Crushing across the grain (6.1.5): the length grows by 30 mm on the inner side only."""
    settings, grade = given.settings, strength_class(given.strength_class)
    extra = min(settings.bearing_extra_mm, given.length_mm)
    area = given.breadth_mm * (given.length_mm + extra)
    k_c_90 = settings.k_c_90 if grade.softwood else 1.0
    figures = {"area_mm2": area, "k_c_90": k_c_90}
    loads = (given.permanent_n, given.imposed_n, given.point_n)
    modes = {
        "": given.load_duration,
        "_permanent": "permanent",
        "_point": given.load_duration,
    }
    checks = []
    for suffix, factors in combinations(settings.combination).items():
        push = max(_sum(one, loads) for one in factors)
        if push == 0 or (suffix == "_point" and given.point_n == 0):
            continue
        mode = k_mod(given.service_class, modes[suffix])
        checks.append(against(
            f"crushing{suffix}",
            f"The pressure on the bearing{WORDS[suffix]}",
            demand=push / area,
            capacity=mode * k_c_90 * grade.f_c_90_k / GAMMA_M,
            unit="N/mm²",
            clause="EN 1995-1-1 6.1.5",
        ))  # fmt: skip
        figures[f"push{suffix}_kn"] = push / 1000
    return checks, figures


WORDS = {"": "", "_permanent": " under the permanent load alone", "_point": " under a point load"}


def _sum(factors: Factors, loads: tuple[float, float, float]) -> float:
    return sum(factor * load for factor, load in zip(factors, loads, strict=True))


def _packing(given: BearingInput) -> list[Check]:
    if not given.packers:
        return []
    settings = given.settings
    high = sum(packer.thickness_mm for packer in given.packers)
    clause = "common practice, no source: no published limit was found"
    return [
        against(
            "packing_height", "The stack of packers", demand=high,
            capacity=settings.most_packing_mm, unit="mm", clause=clause,
        ),
        against(
            "packing_pieces", "The number of packers in the stack", demand=len(given.packers),
            capacity=settings.most_packers, unit="pieces", clause=clause,
        ),
    ]  # fmt: skip


def _reasons_to_wait(given: BearingInput) -> Iterable[Note]:
    soft = [p for p in given.packers if p.material not in HARD]
    if soft:
        names = ", ".join(sorted({MATERIALS[p.material] for p in soft}))
        yield Note(
            "packing-soft",
            f"The joist is packed with {names}: packing must be hard (slate, tile in mortar, "
            "steel, structural plastic). Take it out and pack again.",
            NHBC_PACKING,
        )
    if given.kind == "hanger" and given.hanger is None:
        yield Note(
            "hanger-not-given", "Give the hanger: its seat, height, breadth and nail holes.", ""
        )
    if given.hanger is not None and given.hanger.nailed_holes == 0:
        yield Note(
            "hanger-not-nailed", "No hole of the hanger has a nail: it holds nothing.", NHBC_HANGER
        )


def _hanger(given: BearingInput) -> list[Check]:
    hanger, settings = given.hanger, given.settings
    if hanger is None:
        return []
    checks = [
        against(
            "hanger_nails", "The count of nails in the hanger's round holes",
            demand=hanger.nailed_holes, capacity=hanger.round_holes, unit="nails",
            clause=NHBC_HANGER, at_least=True,
        ),
        against(
            "hanger_depth", "The depth of the joist, against the height of its hanger,",
            demand=given.depth_mm, capacity=hanger.height_mm, unit="mm", clause=NHBC_HANGER,
            at_least=True,
        ),
        against(
            "hanger_breadth", "The breadth of the joist, against the width of its hanger,",
            demand=given.breadth_mm, capacity=hanger.breadth_mm, unit="mm",
            clause="common practice, no source",
        ),
        against(
            "hanger_seat", "The seat of the hanger", demand=hanger.seat_mm,
            capacity=settings.least_hanger_mm, unit="mm", clause=NHBC_HANGER, at_least=True,
        ),
    ]  # fmt: skip
    if hanger.gap_mm:
        checks.append(against(
            "hanger_gap", "The gap behind the joist's end", demand=hanger.gap_mm,
            capacity=settings.most_hanger_gap_mm, unit="mm", clause="from memory, medium",
        ))  # fmt: skip
    if hanger.wall_bearing_mm is not None:
        checks.append(against(
            "hanger_on_wall", "What the hanger bears on the masonry",
            demand=hanger.wall_bearing_mm, capacity=settings.least_hanger_mm, unit="mm",
            clause=NHBC_HANGER, at_least=True,
        ))  # fmt: skip
    if hanger.masonry_above_mm is not None:
        checks.append(against(
            "hanger_masonry_above", "The masonry built above the hanger",
            demand=max(hanger.masonry_above_mm, 1), capacity=settings.least_masonry_above_mm,
            unit="mm", clause="NHBC Technical Guidance 6.4/09, read", at_least=True,
        ))  # fmt: skip
    return checks


def _warnings(given: BearingInput) -> Iterable[Note]:
    hanger, settings = given.hanger, given.settings
    if given.kind in ON_MASONRY and given.dpc is not True:
        yield Note(
            "no-dpc" if given.dpc is False else "dpc-not-known",
            "Between timber and masonry lies a damp-proof course: "
            + ("lay one." if given.dpc is False else "look whether there is one."),
            "Approved Document C as told on isurv.com 11714, read at second hand",
        )
    if given.kind == "masonry_pocket" and given.outer_wall and not given.treated:
        yield Note(
            "end-not-treated",
            "An end built into a solid outer wall is of preservative-treated timber, or hangs in a "
            "hanger clear of the wall.",
            "NHBC Standards 2006 6.4-M3, read",
        )
    if given.packers:
        yield Note(
            "packing-fixed",
            "Packing is as wide as the joist, under all of its bearing, and fixed so that it "
            "cannot walk out.",
            "second hand: anewhouse.com.au",
        )
    if hanger is not None:
        if hanger.height_mm < settings.least_hanger_share * given.depth_mm:
            yield Note(
                "hanger-low",
                f"A hanger {hanger.height_mm:g} mm high holds a joist {given.depth_mm:g} mm deep "
                f"at less than {settings.least_hanger_share:.0%} of its depth: it may twist.",
                "makers, from memory, medium",
            )
        yield Note(
            "hanger-maker",
            "What a hanger carries, and with which nails, is its maker's declaration: it is not "
            "checked here.",
            "EN 1995-1-1 8, products under their own assessment",
        )
    if given.grade_basis != "stamped":
        yield Note(
            "grade-assumed" if given.grade_basis == "assumed" else "grade-by-hand",
            f"{strength_class(given.strength_class).name} is not stamped on the piece.",
            "",
        )
