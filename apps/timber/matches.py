"""What fits what: rows into the matching, its answers with what goes with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date
from typing import Any

from django.db.models import QuerySet

from apps.checks.results import salvaged_cautions
from apps.timber.joist_places import joist_checks
from apps.timber.loading import need_data, piece_data
from apps.timber.matching import ForecastOf, Match, Matcher
from apps.timber.models import Need, Piece
from apps.timber.outlook import Curve, Forecast
from apps.timber.pieces_as_data import PieceData, PieceState
from apps.timber.roles import ROLES
from apps.timber.selectors import with_all
from apps.timber.verdicts import ORDER, Verdict

# What lies in the pile; the rest is gone.
THERE = (PieceState.IN_STOCK, PieceState.RESERVED)


def matcher(*, today: date) -> Matcher:
    """Asks of matches on a day, with drying forecasts."""
    return Matcher(today=today, forecast_of=forecaster(today))


def forecaster(today: date) -> ForecastOf:
    """Forecasts by piece and limit; the curve of a piece is worked out once."""
    from apps.timber import drying  # noqa: PLC0415 (numpy and scipy, 0.3 s)

    curves: dict[int, Curve | None] = {}

    def forecast_of(piece: PieceData, limit_pct: float) -> Forecast:
        if piece.id not in curves:
            curves[piece.id] = drying.drying_curve(piece)
        return drying.forecast(piece, curves[piece.id], limit_pct=limit_pct, today=today)

    return forecast_of


def pieces_there(house_id: int) -> QuerySet[Piece]:
    """What lies in a house's pile, with all that matching reads."""
    return with_all(Piece.objects.filter(property=house_id, state__in=THERE))


def with_joists(needs: QuerySet[Need]) -> QuerySet[Need]:
    """Needs with what `joist_places.joist_checks` reads, in one query however many."""
    return needs.select_related("joist__floor__storey")


def matches_of(need: Need, *, today: date) -> dict[str, Any]:
    """Every piece of the pile for a need: the best first."""
    ask, wanted = matcher(today=today), need_data(need)
    check = joist_checks([need]).get(need.pk)
    found = [
        (ask.match(wanted, piece_data(piece), check), need, piece)
        for piece in pieces_there(need.property_id)
    ]
    fitting = [match.piece.mark for match, _, _ in ranked(found) if match.fits]
    return {
        "sentence": in_words(f"“{need}”", fitting, len(found), "piece"),
        "matches": [told(*row) for row in ranked(found)],
    }


def uses_of(piece: Piece, *, today: date) -> dict[str, Any]:
    """Every open need for a piece: the best use first."""
    ask, data = matcher(today=today), piece_data(piece)
    needs = with_joists(Need.objects.filter(property=piece.property_id, state=Need.State.OPEN))
    checks = joist_checks(needs)
    found = [(ask.match(need_data(need), data, checks.get(need.pk)), need, piece) for need in needs]
    fitting = [f"“{need}”" for match, need, _ in ranked(found) if match.fits]
    return {
        "sentence": in_words(str(piece), fitting, len(found), "open need"),
        "matches": [told(*row) for row in ranked(found)],
    }


Row = tuple[Match, Need, Piece]


def ranked(found: Iterable[Row]) -> list[Row]:
    """Those that fit first, as they are before those that need work; those that are spoken for
    last; then by priority."""
    return sorted(found, key=place)


def place(row: Row) -> tuple[Any, ...]:
    """Where a match stands in a list."""
    match, need, _ = row
    order = ORDER[match.verdict]
    return (
        not match.fits,
        match.verdict == Verdict.TAKEN,
        -order if match.fits else order,
        need.priority,
        match.need.id,
        match.piece.length_mm,
        match.piece.id,
    )


def in_words(what: str, fitting: list[str], asked: int, kind: str) -> str:
    if not asked:
        return f"{what}: there is no {kind} to ask."
    if not fitting:
        return f"{what}: none of {asked} {kind}s fits." if asked > 1 else f"{what}: no {kind} fits."
    named = ", ".join(fitting[:5]) + (" …" if len(fitting) > 5 else "")
    return f"{what}: {len(fitting)} of {asked} {kind}{'s' * (asked > 1)} fit: {named}."


def told(match: Match, need: Need, piece: Piece) -> dict[str, Any]:
    """A match as it is answered."""
    section, run, check = match.use.section, match.run, match.use.check
    offer = match.deviation
    return {
        "need": {"id": need.pk, "title": need.title},
        "piece": {"id": piece.pk, "mark": piece.mark},
        "verdict": match.verdict.value,
        "fits": match.fits,
        "sentence": match.sentence,
        "reasons": [
            {"code": reason.code.value, "phrase": reason.phrase, "figures": dict(reason.figures)}
            for reason in match.reasons
        ],
        "run": run,
        "rip": None if section.rip is None else {**asdict(section.rip), "cuts": section.rip.cuts},
        "packers_mm": list(section.packers_mm),
        "wet_until": match.wet_until,
        "counts_as": match.use.counts_as,
        "check": None if check is None else asdict(check),
        "deviation": None if offer is None else deviation_body(offer, need, check),
        "cautions": salvaged_cautions(piece.grade_basis) if ROLES[need.role].structural else (),
    }


def deviation_body(offer: Any, need: Need, check: Any) -> dict[str, Any]:
    """What `deviations/` takes, for whoever goes along with the offer."""
    return {
        "property": need.property_id,
        "floor": need.floor_id or (need.joist.floor_id if need.joist else None),
        "joist": need.joist_id,
        "specified": offer.specified[:300],
        "built": offer.built[:300],
        "why": offer.why,
        "check_result": None if check is None else asdict(check),
    }
