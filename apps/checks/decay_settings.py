"""What a reading along a joist means and how far past the last sign to cut: settings, with
their sources. No published document seen fixes any of them, so each is the owner's to change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Rot = Literal["wet", "dry", "unknown"]


@dataclass(frozen=True, slots=True)
class Allowance:
    """How far past the last sign of rot to cut [mm], for wet and for dry rot."""

    name: str
    wet_mm: int
    dry_mm: int
    sentence: str
    source: str


ALLOWANCES: Mapping[str, Allowance] = MappingProxyType(
    {
        row.name: row
        for row in (
            Allowance(
                "customary", 300, 600, "300 mm past wet rot, 600 mm past dry rot",
                "common practice, no source; within the published spread",
            ),
            Allowance(
                "back_to_sound", 0, 0, "back to sound timber and no further",
                "conservation view for both kinds: maintainyourbuilding.org.uk (SPAB), read; wet "
                "rot, decayed part only: isse.org.uk, poultonremedialservices.co.uk, second hand",
            ),
            Allowance(
                "older_leaflets", 0, 450, "450 mm past dry rot, back to sound timber for wet rot",
                "300 to 450 mm: BRE Digest 299 and before, from memory; 450 mm: a home manual at "
                "megahowto.com, second hand",
            ),
            Allowance(
                "treatment_firm", 0, 500, "500 mm past dry rot, back to sound timber for wet rot",
                "tieright.co.uk, second hand",
            ),
            Allowance(
                "cautious", 300, 1000, "1 m past dry rot, 300 mm past wet rot",
                "1 m: georgehill-timber.co.uk, second hand; 300 mm: common practice, no source",
            ),
        )
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class DecaySettings:
    """How readings are taken; every field has its sentence in `SENTENCES`."""

    allowance: str = "customary"
    own_allowance_mm: int | None = None
    firm_to_mm: float = 5.0
    soft_from_mm: float = 10.0
    damp_from_pct: float = 20.0
    speaks_for_mm: int = 150
    longest_gap_mm: int = 1000
    fine_mm: int = 100

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for settings that contradict themselves."""
        if self.allowance not in ALLOWANCES:
            raise ValueError(f"The allowance is one of {', '.join(ALLOWANCES)}.")
        if self.own_allowance_mm is not None and not 0 <= self.own_allowance_mm <= 5000:
            raise ValueError("An allowance of your own is 0 to 5000 mm.")
        if not 0 <= self.firm_to_mm < self.soft_from_mm <= 200:
            raise ValueError("Firm ends below where soft begins, both within 0 to 200 mm.")
        if not 0 < self.damp_from_pct <= 100:
            raise ValueError("Damp begins above 0 and at most at 100 %.")
        if not (
            0 <= self.speaks_for_mm <= 5000
            and 1 <= self.longest_gap_mm <= 20_000
            and 1 <= self.fine_mm <= 5000
        ):
            raise ValueError("A distance of the settings is out of range: 1 mm to a few metres.")


SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "allowance": "How far past the last sign of rot to cut. Sources differ from nothing (wet "
        "rot, and the conservation view of both) to 1 m (dry rot, cautious firms); no current "
        "official distance was found, so the owner picks.",
        "own_allowance_mm": "A distance of your own [mm] in place of the named one.",
        "firm_to_mm": "Up to this depth [mm] a bradawl pushed by hand meets firm wood (common "
        "practice, no source).",
        "soft_from_mm": "From this depth [mm] on the wood counts as decayed (common practice, no "
        "source); between the two it is in doubt.",
        "damp_from_pct": "From this moisture content [%] on wood counts as damp: below about 20 % "
        "no risk of decay is usually assumed (specifierreview.com 2012 on a TRADA sheet, second "
        "hand; building.co.uk 3050803, read). BRE Digest 364 is reported with about 22 %, a "
        "conservation text with 17 %.",
        "speaks_for_mm": "How far [mm] along the joist a firm, dry reading speaks for the wood "
        "beside it (common practice, no source).",
        "longest_gap_mm": "Farther apart than this [mm], the wood between two readings is unknown "
        "(common practice, no source).",
        "fine_mm": "How close [mm] the last sign and the first sound reading should be (common "
        "practice, no source).",
    }
)


def allowance_mm(settings: DecaySettings, rot: Rot) -> int:
    """How far past the last sign to cut [mm]; rot of an unknown kind takes the greater."""
    if settings.own_allowance_mm is not None:
        return settings.own_allowance_mm
    row = ALLOWANCES[settings.allowance]
    return {"wet": row.wet_mm, "dry": row.dry_mm, "unknown": max(row.wet_mm, row.dry_mm)}[rot]


def allowance_in_words(settings: DecaySettings, rot: Rot) -> str:
    """The chosen distance in a sentence, with where it comes from."""
    distance = allowance_mm(settings, rot)
    kind = {
        "wet": "wet rot",
        "dry": "dry rot",
        "unknown": "rot of a kind not yet told, so the greater distance",
    }[rot]
    if settings.own_allowance_mm is not None:
        return f"{distance} mm past the last sign, your own choice ({kind})."
    row = ALLOWANCES[settings.allowance]
    return f"{distance} mm past the last sign ({kind}): {row.sentence}; {row.source}."
