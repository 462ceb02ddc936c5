"""Reads of the pile: sound lengths, drying, and the cautions that go with them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import QuerySet

from apps.checks.results import salvaged_cautions
from apps.timber.loading import piece_data
from apps.timber.models import Piece
from apps.timber.runs import ClearRun, clear_runs

# How far beyond the forecast's late day its curve is answered.
SHOWN_BEYOND = timedelta(days=28)
SHOWN_AT_LEAST = timedelta(days=90)


def with_all(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Pieces with what `loading.piece_data` reads, in three queries however many."""
    return pieces.select_related("property").prefetch_related("defects", "readings")


def sound_lengths(piece: Piece, role: str) -> dict[str, Any]:
    """Sound lengths of a piece for a role, in a sentence and one by one."""
    runs = clear_runs(piece_data(piece), role)
    return {
        "role": role,
        "sentence": runs_in_words(piece, role, runs),
        "runs": runs,
        "cautions": salvaged_cautions(piece.grade_basis),
    }


def runs_in_words(piece: Piece, role: str, runs: tuple[ClearRun, ...]) -> str:
    wanted = f"as {'an' if role == 'other' else 'a'} {role.replace('_', ' ')}"
    if role == "other":
        wanted = "for other uses"
    if not runs:
        return f"{piece} has no sound length {wanted}."
    told = "; ".join(f"{run.length_mm} mm {run.between}, from {run.from_mm} mm" for run in runs)
    return f"Of {piece}'s {piece.length_mm} mm, sound {wanted}: {told}."


def drying(piece: Piece, *, limit_pct: float, today: date) -> dict[str, Any]:
    """When a piece is no wetter than a limit where it is stored, with the curve to draw."""
    from apps.timber import drying as dry  # noqa: PLC0415 (numpy and scipy, 0.3 s)

    data = piece_data(piece)
    curve = dry.drying_curve(data)
    found = dry.forecast(data, curve, limit_pct=limit_pct, today=today)
    answer = {
        "outlook": found.outlook.value,
        "sentence": found.sentence,
        "limit_pct": limit_pct,
        "dry_on": found.dry_on,
        "early_on": found.early_on,
        "late_on": found.late_on,
        "latest_pct": None,
        "latest_on": None,
        "settles_pct": None,
        "time_constant_days": None,
        "readings": 0,
        "points": (),
    }
    if curve is None:
        return answer
    until = max(today + SHOWN_AT_LEAST, (found.late_on or today) + SHOWN_BEYOND)
    return {
        **answer,
        "latest_pct": round(curve.latest_pct, 1),
        "latest_on": curve.latest_on,
        "settles_pct": round(curve.settles_pct, 1),
        "time_constant_days": round(curve.days, 1),
        "readings": curve.readings,
        "points": dry.points(curve, until),
    }
