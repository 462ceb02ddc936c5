"""Is a piece dry enough, or when will it be: a drying forecast as a reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from apps.timber.outlook import Forecast, Outlook
from apps.timber.verdicts import Reason, Verdict, refused


@dataclass(frozen=True, slots=True)
class Wet:
    """What is to be said of how wet a piece is, and the likely day that it is dry."""

    reasons: tuple[Reason, ...]
    until: date | None

    @property
    def refused(self) -> bool:
        """Whether it is too wet."""
        return refused(self.reasons)


DRY = Wet((), None)


def wet_of(found: Forecast, needed_by: date | None, today: date) -> Wet:
    """What a forecast means for a need.

    Args:
        found: for the need's limit.
        needed_by: dry by then is dry enough; None: dry now.
        today: the day it is asked.
    """
    if found.outlook == Outlook.DRY:
        return DRY
    curve, dry_on = found.curve, found.dry_on
    if curve is None:
        return Wet((Reason(Verdict.NO_READING),), None)
    figures = {
        "limit_pct": found.limit_pct,
        "dry_on": dry_on,
        "early_on": found.early_on,
        "late_on": found.late_on,
        "latest_pct": round(curve.latest_pct, 1),
        "latest_on": curve.latest_on,
        "settles_pct": round(curve.settles_pct, 1),
        "needed_by": needed_by,
    }
    if dry_on is None:
        never = found.outlook == Outlook.NEVER
        code = Verdict.NEVER_DRY if never else Verdict.TOO_WET_TO_SAY
        return Wet((Reason(code, figures),), None)
    if dry_on <= today:
        return Wet((Reason(Verdict.READ_AGAIN, figures),), dry_on)
    in_time = needed_by is not None and dry_on <= needed_by
    code = Verdict.DRY_IN_TIME if in_time else Verdict.TOO_WET
    return Wet((Reason(code, figures),), dry_on)
