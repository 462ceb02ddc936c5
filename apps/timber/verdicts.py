"""What can be said of a piece and a need: codes, the governing ones first, and their words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Verdict(StrEnum):
    """One thing to say; the first of several governs. The order is that of this list."""

    TAKEN = "taken"
    DECAY = "decay"
    TOO_SHORT = "too_short"
    TOO_SMALL = "too_small"
    WRONG_CLASS = "wrong_class"
    NOT_GRADED = "not_graded"
    CHECK_FAILS = "check_fails"
    NOT_TREATED = "not_treated"
    NEVER_DRY = "never_dry"
    TOO_WET_TO_SAY = "too_wet_to_say"
    TOO_WET = "too_wet"
    FITS_BY_CHECK = "fits_by_check"
    FITS_PACKED = "fits_packed"
    FITS_RIPPED = "fits_ripped"
    FITS = "fits"
    UNMEASURED = "unmeasured"
    ASSUMED = "assumed"
    DRY_IN_TIME = "dry_in_time"
    READ_AGAIN = "read_again"
    NO_READING = "no_reading"


ORDER: Mapping[str, int] = {verdict: place for place, verdict in enumerate(Verdict)}
# These say that the piece will not do.
REFUSALS = frozenset(list(Verdict)[: ORDER[Verdict.FITS_BY_CHECK]])

# How each goes on after the piece's mark.
PHRASES: Mapping[str, str] = {
    Verdict.TAKEN: "is {state} already",
    Verdict.DECAY: "is decayed: its sound length is {run_mm} of {wanted_mm} mm, {between}",
    Verdict.TOO_SHORT: "has a sound length of {run_mm} of {wanted_mm} mm, {between}{drawn}",
    Verdict.TOO_SMALL: "is too small: {breadth_mm} × {depth_mm} mm, {missing}{remedy}",
    Verdict.WRONG_CLASS: "is {has} where {wanted} is wanted",
    Verdict.NOT_GRADED: "is not graded{lost}: it counts as {has}, and {wanted} is wanted",
    Verdict.CHECK_FAILS: "does not pass the joist check at its real section, "
    "{breadth_mm} × {depth_mm} mm: {outcome}",
    Verdict.NOT_TREATED: "is not treated, and treated timber is wanted",
    Verdict.NEVER_DRY: "will not get below {limit_pct:g} % by itself where it is stored: "
    "the equilibrium there is {settles_pct:g} %",
    Verdict.TOO_WET_TO_SAY: "is too wet ({latest_pct:g} % on {latest_on:%-d %b %Y}) to say when "
    "it is below {limit_pct:g} %",
    Verdict.TOO_WET: "is too wet until {dry_on:%-d %b %Y} ({latest_pct:g} % on "
    "{latest_on:%-d %b %Y}, {limit_pct:g} % wanted)",
    Verdict.FITS_BY_CHECK: "fits by the joist check at its real section, "
    "{breadth_mm} × {depth_mm} mm for {wanted_breadth_mm} × {wanted_depth_mm} mm "
    "(a deviation goes with it)",
    Verdict.FITS_PACKED: "fits if packed up by {pack_mm} mm ({packers})",
    Verdict.FITS_RIPPED: "fits if ripped from {from_breadth_mm} × {from_depth_mm} to "
    "{to_breadth_mm} × {to_depth_mm} mm{loses}",
    Verdict.FITS: "fits: {run_mm} mm sound {between}, {wanted_mm} mm wanted",
    Verdict.UNMEASURED: "has slight notches or holes that the joist check does not know of: "
    "measure them and check again",
    Verdict.ASSUMED: "is not graded{lost}, only assumed to be {has}: "
    "structural use needs a deviation",
    Verdict.DRY_IN_TIME: "is wet now but below {limit_pct:g} % by {dry_on:%-d %b %Y}, "
    "wanted on {needed_by:%-d %b %Y}",
    Verdict.READ_AGAIN: "should be below {limit_pct:g} % by now: read it again before it is used",
    Verdict.NO_READING: "has no moisture reading: read it before it is used",
}


# The same where another reason governs.
FOLLOWING: Mapping[str, str] = {
    Verdict.FITS_BY_CHECK: "passes the joist check at its real section, "
    "{breadth_mm} × {depth_mm} mm (a deviation goes with it)",
    Verdict.FITS_PACKED: "is to be packed up by {pack_mm} mm ({packers})",
    Verdict.FITS_RIPPED: "is to be ripped from {from_breadth_mm} × {from_depth_mm} to "
    "{to_breadth_mm} × {to_depth_mm} mm{loses}",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing said of a piece and a need, with the figures behind it."""

    code: Verdict
    figures: Mapping[str, Any] = field(default_factory=dict)

    @property
    def phrase(self) -> str:
        """How it goes on after the piece's mark."""
        return PHRASES[self.code].format_map(self.figures)

    @property
    def following(self) -> str:
        """How it goes on after another reason."""
        return FOLLOWING.get(self.code, PHRASES[self.code]).format_map(self.figures)


def refused(reasons: Iterable[Reason]) -> bool:
    """Whether one of them says that the piece will not do."""
    return any(reason.code in REFUSALS for reason in reasons)
