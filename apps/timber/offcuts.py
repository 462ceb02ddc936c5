"""What is left of a piece between two places."""

from __future__ import annotations

from dataclasses import replace

from apps.timber.pieces_as_data import PieceData, Role, Source
from apps.timber.runs import RunSettings, clear_runs, longest_run


def cut_out(piece: PieceData, from_mm: int, to_mm: int) -> PieceData:
    """A piece between two places: its defects there, from the near end; both ends fresh."""
    return replace(
        piece,
        length_mm=to_mm - from_mm,
        source=Source.OFFCUT,
        defects=tuple(
            replace(
                one,
                from_mm=max(one.from_mm, from_mm) - from_mm,
                to_mm=min(one.to_mm, to_mm) - from_mm,
            )
            for one in piece.defects
            if one.from_mm < to_mm and one.to_mm > from_mm
        ),
    )


def sound_mm(piece: PieceData, from_mm: int, to_mm: int, runs: RunSettings) -> int:
    """The longest sound length between two places of a piece, as a noggin [mm].

    What is not good for a noggin over some length is not worth keeping.
    """
    if to_mm <= from_mm:
        return 0
    found = longest_run(clear_runs(cut_out(piece, from_mm, to_mm), Role.NOGGIN, runs))
    return found.length_mm if found else 0
