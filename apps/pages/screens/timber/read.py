"""The pile and what is wanted of it, as shown."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from apps.checks.timber_size import customary_name
from apps.pages.drawing import timber_bars, timber_moisture
from apps.pages.drawing.timber_parts import LETTERS, WORDS, defect_pattern, drawing
from apps.pages.safe_drawing import as_drawn
from apps.pages.visiting import Visiting
from apps.timber.joist_places import joist_checks
from apps.timber.loading import need_data, piece_data, reading_data
from apps.timber.loading_cuts import IN_FORCE
from apps.timber.matches import matcher, matches_of, pieces_there, ranked, with_joists
from apps.timber.models import Cut, Need, Piece
from apps.timber.moisture import corrected_pct
from apps.timber.pieces_as_data import PieceData, Role
from apps.timber.runs import clear_runs
from apps.timber.selectors import drying, sound_lengths, with_all

THERE = ("in_stock", "reserved")
STATE_WORDS = {
    "in_stock": "on the pile", "reserved": "spoken for", "cut": "being cut", "used": "used up",
    "scrapped": "scrapped",
}  # fmt: skip
FILTERS = {"there": "Still there", **STATE_WORDS, "all": "All"}
NEED_WORDS = {"open": "open", "planned": "planned", "met": "met", "dropped": "not wanted any more"}
SHOWN_AT_ONCE = 40
BEST = 3
USUAL_LIMIT_PCT = 20.0


def svg(drawn: str) -> str:
    """Drawn by us, its words escaped one by one."""
    return as_drawn(drawn)


def pieces_asked(found: Visiting, search: str, state: str) -> QuerySet[Piece]:
    rows = Piece.objects.filter(property=found.house)
    if state == "there":
        rows = rows.filter(state__in=THERE)
    elif state != "all":
        rows = rows.filter(state=state)
    if search:
        rows = rows.filter(
            Q(mark__icontains=search) | Q(origin__icontains=search)
            | Q(species__icontains=search) | Q(note__icontains=search)
        )  # fmt: skip
    return with_all(rows.order_by("pk"))


def drawn_piece(data: PieceData, role: str) -> timber_bars.BarPiece:
    return timber_bars.BarPiece(
        mark=data.mark,
        length_mm=data.length_mm,
        defects=tuple(
            timber_bars.BarDefect(one.kind, one.from_mm, one.to_mm, one.drawn)
            for one in sorted(data.defects, key=lambda one: one.from_mm)
        ),
        sound=tuple((run.from_mm, run.to_mm) for run in clear_runs(data, role)),
    )


def stock_rows(rows: list[Piece], role: str) -> list[dict[str, Any]]:
    """Pieces with their drawings, all to one scale, so that they compare."""
    longest = max((piece.length_mm for piece in rows), default=0)
    deepest = max((piece.depth_mm for piece in rows), default=0)
    return [
        {
            "piece": piece,
            "size": size_of(piece),
            "state": STATE_WORDS[piece.state],
            "bar": svg(
                timber_bars.piece_bar(drawn_piece(piece_data(piece), role), longest_mm=longest)
            ),
            "section": svg(
                timber_bars.section(piece.breadth_mm, piece.depth_mm, deepest_mm=deepest)
            ),
            "latest": latest(piece),
        }
        for piece in rows
    ]


def size_of(piece: Piece) -> str:
    label = customary_name(piece.breadth_mm, piece.depth_mm)
    return f"{piece.breadth_mm} × {piece.depth_mm} × {piece.length_mm} mm" + (
        f" ({label})" if label else ""
    )


def latest(piece: Piece) -> dict[str, Any] | None:
    """The last reading, put right for temperature and species."""
    reading = next(iter(piece.readings.all()), None)
    if reading is None:
        return None
    pct = round(corrected_pct(reading_data(reading)), 1)
    return {"pct": pct, "at": reading.read_at, "wet": pct > USUAL_LIMIT_PCT}


def legend() -> list[dict[str, str]]:
    """Each kind of defect with its pattern and letter."""
    return [
        {
            "letter": LETTERS[kind],
            "words": words,
            "svg": svg(drawing(words, 24, defect_pattern(kind, 1, 1, 54, 22), wide=56)),
        }
        for kind, words in WORDS.items()
    ]


def needs_with_best(found: Visiting) -> list[dict[str, Any]]:
    """Every need; of those that are open, what of the pile fits best."""
    needs = list(with_joists(Need.objects.filter(property=found.house)))
    wanted = [need for need in needs if need.state == Need.State.OPEN]
    best: dict[int, list[Any]] = defaultdict(list)
    if wanted:
        pieces = [(piece, piece_data(piece)) for piece in pieces_there(found.house.pk)]
        checks, ask = joist_checks(wanted), matcher(today=found.today)
        for need in wanted:
            data = need_data(need)
            matched = [
                (ask.match(data, about, checks.get(need.pk)), need, piece)
                for piece, about in pieces
            ]
            best[need.pk] = [row for row in ranked(matched) if row[0].fits]
    order = {"open": 0, "planned": 1, "met": 2, "dropped": 3}
    return [
        {
            "need": need,
            "state": NEED_WORDS[need.state],
            "best": [piece for _, _, piece in best[need.pk][:BEST]],
            "more": max(len(best[need.pk]) - BEST, 0),
        }
        for need in sorted(needs, key=lambda one: (order[one.state], one.priority, one.pk))
    ]


def piece_shown(piece: Piece, *, role: str, limit_pct: float, today: date) -> dict[str, Any]:
    """Everything of one piece."""
    piece = with_all(Piece.objects.filter(pk=piece.pk)).get()
    data, dry = piece_data(piece), drying(piece, limit_pct=limit_pct, today=today)
    readings = list(piece.readings.all())
    chart = timber_moisture.Chart(
        mark=piece.mark,
        readings=tuple(
            (reading.read_at.date(), corrected_pct(reading)) for reading in data.readings
        ),
        points=tuple(
            timber_moisture.Forecast(one.on, one.likely_pct, one.low_pct, one.high_pct)
            for one in dry["points"]
        ),
        limit_pct=limit_pct, today=today, dry_on=dry["dry_on"],
    )  # fmt: skip
    return {
        "piece": piece,
        "size": size_of(piece),
        "state": STATE_WORDS[piece.state],
        "bar": svg(timber_bars.piece_bar(drawn_piece(data, role))),
        "section": svg(timber_bars.section(piece.breadth_mm, piece.depth_mm, deepest_mm=0)),
        "sound": sound_lengths(piece, role),
        "roles": [(one.value, one.value.replace("_", " "), one.value == role) for one in Role],
        "defects": [
            {"row": one, "letter": LETTERS[one.kind], "words": WORDS[one.kind]}
            for one in piece.defects.all()
        ],
        "kinds": list(WORDS.items()),
        "readings": [
            (reading, round(corrected_pct(reading_data(reading)), 1)) for reading in readings
        ],
        "drying": dry,
        "limit_pct": limit_pct,
        "chart": svg(timber_moisture.moisture_chart(chart, dry["sentence"])) if readings else "",
        "curve_rows": [
            (one.on.strftime("%-d %b %Y"), *(f"{pct:.1f} %" for pct in
             (one.likely_pct, one.low_pct, one.high_pct)))
            for one in dry["points"][::4]
        ],
        "curve_columns": ["Day", "Likely", "At least", "At most"],
    }  # fmt: skip


def need_shown(need: Need, *, today: date) -> dict[str, Any]:
    """What would do for a need, and why each other piece would not."""
    found = matches_of(need, today=today)
    for row in found["matches"]:
        # Its mark stands before it, as a link.
        row["rest"] = row["sentence"].removeprefix(row["piece"]["mark"]).strip()
    cuts = Cut.objects.filter(
        need=need, bar__plan__state__in=IN_FORCE, spoilt=False, pushed_off_by=None
    ).select_related("bar")
    fits = [row for row in found["matches"] if row["fits"]]
    return {
        "need": need,
        "state": NEED_WORDS[need.state],
        "sentence": found["sentence"],
        "cuts": list(cuts),
        "fits": fits,
        "rejected": [row for row in found["matches"] if not row["fits"]],
        "cautions": list(dict.fromkeys(line for row in fits for line in row["cautions"])),
    }
