"""Sound lengths of a piece for what it is wanted as: what lies between the defects that matter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from apps.timber.pieces_as_data import DefectData, DefectKind, PieceData, Role, Severity, Source

END = "end"
_SEVERITIES = tuple(Severity)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSettings:
    """What is left out beside a defect, and at the ends [mm].

    Attributes:
        end_trim_mm: off each end of a salvaged piece: old bearings are dirty, nailed and checked.
        fresh_end_trim_mm: off each end of a bought piece or an offcut.
        nail_margin_mm: each side of nails that are not drawn.
        decay_margin_mm: past the last sign of decay.
        other_margin_mm: each side of any other defect.
    """

    end_trim_mm: int = 100  # common practice, no source
    fresh_end_trim_mm: int = 0  # a clean cut needs none: our choice
    nail_margin_mm: int = 25  # common practice, no source
    decay_margin_mm: int = 300  # wet rot: guidance ranges from the decayed part only to 450 mm
    other_margin_mm: int = 0


SETTINGS = RunSettings()


@dataclass(frozen=True, slots=True)
class ClearRun:
    """A sound length [mm from the marked end], and what ends it on each side.

    `why_left` and `why_right` are a `DefectKind` or `END`.
    """

    from_mm: int
    to_mm: int
    why_left: str
    why_right: str

    @property
    def length_mm(self) -> int:
        """How long it is [mm]."""
        return self.to_mm - self.from_mm

    @property
    def between(self) -> str:
        """What ends it, in words: "between decay and split"."""
        left, right = WORDS[self.why_left], WORDS[self.why_right]
        if self.why_left == self.why_right:
            return "between the ends" if self.why_left == END else f"between two places of {left}"
        return f"between {left} and {right}"


WORDS: Mapping[str, str] = {
    END: "the end",
    DefectKind.DECAY: "decay",
    DefectKind.SPLIT: "split",
    DefectKind.KNOT: "knot",
    DefectKind.NOTCH: "notch",
    DefectKind.HOLE: "hole",
    DefectKind.INSECT: "insect holes",
    DefectKind.NAILS: "nails",
    DefectKind.BOW: "bow",
}

_ANY, _MODERATE, _SEVERE, _NEVER = Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE, None
_LOADED: Mapping[str, Severity | None] = {
    DefectKind.DECAY: _ANY,
    DefectKind.SPLIT: _MODERATE,
    DefectKind.KNOT: _MODERATE,
    DefectKind.NOTCH: _MODERATE,
    DefectKind.HOLE: _MODERATE,
    DefectKind.INSECT: _ANY,
    DefectKind.NAILS: _ANY,
    DefectKind.BOW: _SEVERE,
}
_SHORT: Mapping[str, Severity | None] = {
    **_LOADED,
    DefectKind.KNOT: _SEVERE,
    DefectKind.INSECT: _MODERATE,
    DefectKind.BOW: _NEVER,
}
_LYING: Mapping[str, Severity | None] = {
    **_LOADED,
    DefectKind.SPLIT: _SEVERE,
    DefectKind.KNOT: _NEVER,
    DefectKind.INSECT: _MODERATE,
}
_THIN: Mapping[str, Severity | None] = {
    **_LOADED,
    DefectKind.NOTCH: _ANY,
    DefectKind.HOLE: _ANY,
    DefectKind.INSECT: _MODERATE,
}
# The least severity from which a defect ends a sound length: common practice, no source.
MATTERS: Mapping[str, Mapping[str, Severity | None]] = {
    Role.JOIST: _LOADED,
    Role.SISTER: _LOADED,
    Role.LAP_END: _LOADED,
    Role.TRIMMER: _LOADED,
    Role.OTHER: _LOADED,
    Role.NOGGIN: _SHORT,
    Role.STRUT: {**_SHORT, DefectKind.BOW: _SEVERE},
    Role.PLATE: _LYING,
    Role.BATTEN: _THIN,
    Role.PACKER: {**_THIN, DefectKind.KNOT: _NEVER, DefectKind.BOW: _NEVER},
}
# Why it ends one, for whoever asks.
WHY: Mapping[str, str] = {
    DefectKind.DECAY: "Decayed wood is cut out, whatever the piece is wanted for.",
    DefectKind.SPLIT: "A split takes the strength across the grain and opens under a fixing; "
    "slight drying shakes are left in.",
    DefectKind.KNOT: "A large knot takes strength where the piece bends; lying flat or in "
    "compression it does little harm.",
    DefectKind.NOTCH: "A notch takes depth; a slight one is left in and goes into the joist check.",
    DefectKind.HOLE: "A hole takes section; a slight one is left in and goes into the joist check.",
    DefectKind.INSECT: "Beetle holes in a loaded piece are looked at by somebody who knows; "
    "elsewhere a few old ones do little harm.",
    DefectKind.NAILS: "A nail ruins a saw and throws it; draw the nails or cut clear of them.",
    DefectKind.BOW: "A severe bow cannot be packed or strutted straight; short pieces do not "
    "show it.",
}


def matters(defect: DefectData, role: str) -> bool:
    """Whether a defect ends a sound length of a piece wanted as `role`. Drawn nails never do."""
    least = MATTERS[role].get(defect.kind)
    if least is None or (defect.drawn and defect.kind == DefectKind.NAILS):
        return False
    return _SEVERITIES.index(Severity(defect.severity)) >= _SEVERITIES.index(least)


def clear_runs(
    piece: PieceData, role: str, settings: RunSettings = SETTINGS
) -> tuple[ClearRun, ...]:
    """Sound lengths of a piece for a role, from the marked end; empty if there are none.

    Defects that overlap are one. Each run says what ends it on either side.
    """
    blocks = [_block(defect, settings) for defect in piece.defects if matters(defect, role)]
    trim = settings.end_trim_mm if piece.source == Source.SALVAGED else settings.fresh_end_trim_mm
    blocks += [(-1, trim, END), (piece.length_mm - trim, piece.length_mm + 1, END)]
    blocks.sort()
    reach, why = blocks[0][1], blocks[0][2]
    found = []
    for start, stop, kind in blocks[1:]:
        if start > reach:
            found.append(ClearRun(reach, start, why, kind))
        if stop > reach:
            reach, why = stop, kind
    return tuple(run for run in found if run.from_mm >= 0 and run.to_mm <= piece.length_mm)


def longest_run(runs: tuple[ClearRun, ...]) -> ClearRun | None:
    """The longest of them, the nearest to the marked end of equals; None of none."""
    return max(runs, key=lambda run: (run.length_mm, -run.from_mm), default=None)


def _block(defect: DefectData, settings: RunSettings) -> tuple[int, int, str]:
    margin = {
        DefectKind.NAILS: settings.nail_margin_mm,
        DefectKind.DECAY: settings.decay_margin_mm,
    }.get(DefectKind(defect.kind), settings.other_margin_mm)
    return defect.from_mm - margin, defect.to_mm + margin, defect.kind
