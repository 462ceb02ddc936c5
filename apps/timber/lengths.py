"""Is a piece sound over the wanted length, and if not, what would help."""

from __future__ import annotations

from dataclasses import dataclass, replace

from apps.timber.pieces_as_data import DefectKind, NeedData, PieceData
from apps.timber.runs import WHY, ClearRun, RunSettings, clear_runs, longest_run, matters
from apps.timber.verdicts import Reason, Verdict

CUTS = frozenset({DefectKind.NOTCH, DefectKind.HOLE})


@dataclass(frozen=True, slots=True)
class Lengths:
    """Longest sound lengths of a piece for a role [mm]: as it is, were it not decayed, were its
    nails drawn. `cut_into`: slight notches or holes are left in it."""

    run: ClearRun | None
    without_decay_mm: int
    nails_drawn_mm: int
    cut_into: bool

    @property
    def longest_mm(self) -> int:
        """The longest as it is [mm]."""
        return self.run.length_mm if self.run else 0


def lengths_of(piece: PieceData, role: str, settings: RunSettings) -> Lengths:
    """How long a piece is sound for a role."""

    def longest_mm(kind: str) -> int:
        others = tuple(defect for defect in piece.defects if defect.kind != kind)
        if len(others) == len(piece.defects):
            return 0
        found = longest_run(clear_runs(replace(piece, defects=others), role, settings))
        return found.length_mm if found else 0

    return Lengths(
        longest_run(clear_runs(piece, role, settings)),
        longest_mm(DefectKind.DECAY),
        longest_mm(DefectKind.NAILS),
        any(one.kind in CUTS and not matters(one, role) for one in piece.defects),
    )


def too_short(need: NeedData, piece: PieceData, lengths: Lengths) -> tuple[Reason, ...]:
    """What is to be said of a sound length shorter than wanted; nothing of one long enough."""
    run, wanted = lengths.run, need.length_mm
    if run and run.length_mm >= wanted:
        return ()
    drawn = lengths.nails_drawn_mm
    figures = {
        "run_mm": run.length_mm if run else 0,
        "wanted_mm": wanted,
        "piece_mm": piece.length_mm,
        "between": run.between if run else "the defects leave none",
        "why": [WHY[end] for end in (run.why_left, run.why_right) if end in WHY] if run else [],
        "nails_drawn_mm": drawn,
        "drawn": f"; with the nails drawn it is {drawn} mm" if drawn >= wanted else "",
    }
    decayed = lengths.without_decay_mm >= wanted
    return (Reason(Verdict.DECAY if decayed else Verdict.TOO_SHORT, figures),)
