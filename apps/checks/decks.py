"""How far boards and sheets span from joist to joist, and how far an end may hang free.

Tables of published thicknesses, not a calculation: they hold for a home (1.5 kN/m²).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.checks.joist_input import DECK_E
from apps.checks.results import CAUTIONS, Note, Outcome, against, outcome

KINDS = tuple(DECK_E)
IMPOSED_KN_M2 = 1.5
BOARD_TABLES = ("handbook", "nhbc")
NHBC = "NHBC Standards 6.4.19, table 7, read"
HANDBOOK = "Building Construction Handbook, 8th edition, p. 666, read at second hand"

# Widest joist centres for a thickness, by kind: NHBC Standards 6.4.19 table 7 (read), for an
# imposed load of 1.5 kN/m². It prints 18/19 for plywood and OSB at 600.
DECK_ROWS: Mapping[str, tuple[tuple[float, int], ...]] = MappingProxyType(
    {
        "boards": ((16, 450), (19, 600)),
        "chipboard": ((18, 450), (22, 600)),
        "plywood": ((15, 450), (18, 600)),
        "osb": ((15, 450), (18, 600)),
    }
)
# Finished thickness and span of tongued softwood boards (to BS 1297): read at second hand in the
# Building Construction Handbook, 8th edition.
BOARD_ROWS: tuple[tuple[float, int], ...] = ((16, 505), (19, 600), (21, 635), (28, 790))


@dataclass(frozen=True, slots=True, kw_only=True)
class DeckSettings:
    """Where sources differ or are silent; every field has a sentence in `SENTENCES`."""

    boards_table: str = "handbook"
    between_rows: bool = True
    cantilever_most_mm: int = 150
    cantilever_span_share: float = 0.25
    least_spans: int = 2

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        if self.boards_table not in BOARD_TABLES:
            raise ValueError(f"The table of boards is one of {', '.join(BOARD_TABLES)}.")
        for name, (low, high) in RANGES.items():
            if not low <= getattr(self, name) <= high:
                raise ValueError(f"The setting {name} is {low:g} to {high:g}.")


RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "cantilever_most_mm": (0, 400),
        "cantilever_span_share": (0, 0.5),
        "least_spans": (1, 5),
    }
)
SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "boards_table": "Spans of softwood boards: the handbook's (16 mm 505, 19 mm 600, 21 mm "
        "635, 28 mm 790 mm, read at second hand), or those of NHBC 6.4.19 (16 mm to 450, 19 mm to "
        "600 mm centres, read).",
        "between_rows": "Whether a thickness between two rows of the handbook is read between "
        "them: 18 mm gives about 568 mm (reckoned, not published); no takes the row below.",
        "cantilever_most_mm": "How far a board's end may hang free beyond its last joist: 150 mm "
        "(common practice, no source).",
        "cantilever_span_share": "And at most this share of the span it is allowed: 0.25, as a "
        "footstep on the free end then bends the board no more than one in mid-span, PL/4 "
        "(statics).",
        "least_spans": "Over how many spans a board or sheet should run: 2, so over three joists "
        "(common practice; sheets not shorter than two spacings: a warranty provider, read).",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeckInput:
    """A deck on joists.

    Attributes:
        kind: "boards" (softwood), "chipboard" (P5), "osb" (OSB/3) or "plywood".
        thickness_mm: finished; worn or sanded boards at their thinnest.
        centres_mm: widest gap between neighbouring sound joists, centre to centre.
        spans: over how many such gaps the pieces run.
        cantilever_mm: longest free end beyond the face of the last joist.
    """

    kind: str
    thickness_mm: float
    centres_mm: int
    spans: int = 2
    cantilever_mm: int = 0
    imposed_kn_m2: float = IMPOSED_KN_M2
    settings: DeckSettings = DeckSettings()

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a deck."""
        _known(self.kind, self.thickness_mm)
        for what, value, low, high, unit in (
            ("The joist centres", self.centres_mm, 50, 3000, "mm"),
            ("The spans of a board", self.spans, 0, 100, ""),
            ("A free end", self.cantilever_mm, 0, 3000, "mm"),
            ("The imposed load", self.imposed_kn_m2, 0, 20, "kN/m²"),
        ):
            if not (math.isfinite(value) and low <= value <= high):
                raise ValueError(f"{what} is {low:g} to {high:g} {unit}".rstrip() + ".")


@dataclass(frozen=True, slots=True)
class DeckOutcome:
    """The answer about one deck.

    Attributes:
        allowed_span_mm: for this thickness; None: thinner than any in the table.
        allowed_cantilever_mm: the same for a free end.
        least_thickness_mm: that these centres want; None: the table does not reach so far.
    """

    outcome: Outcome
    given: DeckInput
    allowed_span_mm: int | None
    allowed_cantilever_mm: int | None
    least_thickness_mm: float | None


def allowed_span_mm(
    kind: str, thickness_mm: float, settings: DeckSettings = DeckSettings()
) -> int | None:
    """Widest joist centres for a deck of this thickness; None where no table goes so thin.

    Thicker than the last row counts as the last row. Raises ValueError for an unknown kind.
    """
    _known(kind, thickness_mm)
    table = _table(kind, settings)
    below = [row for row in table if row[0] <= thickness_mm]
    if not below:
        return None
    thin, span = below[-1]
    above = [row for row in table if row[0] > thickness_mm]
    if table is BOARD_ROWS and settings.between_rows and above:
        thick, wide = above[0]
        return int(span + (wide - span) * (thickness_mm - thin) / (thick - thin))
    return span


def allowed_cantilever_mm(
    kind: str, thickness_mm: float, settings: DeckSettings = DeckSettings()
) -> int | None:
    """How far an end may hang free; None where no table goes so thin."""
    span = allowed_span_mm(kind, thickness_mm, settings)
    if span is None:
        return None
    return min(settings.cantilever_most_mm, int(span * settings.cantilever_span_share))


def least_thickness_mm(
    kind: str, centres_mm: float, settings: DeckSettings = DeckSettings()
) -> float | None:
    """The thinnest row that spans these centres; None where none does."""
    _known(kind, 20)
    return next((thin for thin, span in _table(kind, settings) if span >= centres_mm), None)


def check_deck(given: DeckInput) -> DeckOutcome:
    """A deck's span and free end against the tables."""
    settings = given.settings
    source = HANDBOOK if _table(given.kind, settings) is BOARD_ROWS else NHBC
    span = allowed_span_mm(given.kind, given.thickness_mm, settings)
    free = allowed_cantilever_mm(given.kind, given.thickness_mm, settings)
    wanted = least_thickness_mm(given.kind, given.centres_mm, settings)
    blocked = []
    if span is None:
        thinnest = _table(given.kind, settings)[0][0]
        blocked.append(Note(
            "deck-too-thin",
            f"{given.kind.capitalize()} {given.thickness_mm:g} mm thick are in no table: the "
            f"thinnest is {thinnest:g} mm.",
            source,
        ))  # fmt: skip
    if given.imposed_kn_m2 > IMPOSED_KN_M2:
        blocked.append(Note(
            "deck-load-too-great",
            f"The tables hold for {IMPOSED_KN_M2} kN/m², not for {given.imposed_kn_m2:g}: have "
            "the deck calculated.",
            source,
        ))  # fmt: skip
    checks = []
    if span is not None and not blocked:
        checks.append(against(
            "deck_span", "The span of the deck, joist to joist,", demand=given.centres_mm,
            capacity=span, unit="mm", clause=source,
        ))  # fmt: skip
        if given.cantilever_mm and free:
            checks.append(against(
                "deck_cantilever", "The free end beyond the last joist", capacity=free,
                demand=given.cantilever_mm, unit="mm", clause="common practice, no source",
            ))  # fmt: skip
        elif given.cantilever_mm:
            blocked.append(Note("no-free-end", "The setting allows no free end at all."))
    answer = outcome(
        "The deck", tuple(checks), blocked=tuple(blocked), warnings=_warnings(given, wanted),
        cautions=CAUTIONS,
    )  # fmt: skip
    return DeckOutcome(answer, given, span, free, wanted)


def _table(kind: str, settings: DeckSettings) -> tuple[tuple[float, int], ...]:
    if kind == "boards" and settings.boards_table == "handbook":
        return BOARD_ROWS
    return DECK_ROWS[kind]


def _known(kind: str, thickness_mm: float) -> None:
    if kind not in DECK_ROWS:
        raise ValueError(f"The kind of deck is one of {', '.join(DECK_ROWS)}.")
    if not (math.isfinite(thickness_mm) and 6 <= thickness_mm <= 100):
        raise ValueError("The thickness of a deck is 6 to 100 mm.")


def _warnings(given: DeckInput, wanted: float | None) -> tuple[Note, ...]:
    notes = []
    if given.spans < given.settings.least_spans:
        notes.append(Note(
            "deck-over-few-joists",
            f"The pieces run over {given.spans} {'span' if given.spans == 1 else 'spans'}; over "
            f"{given.settings.least_spans} they are stiffer and cannot tip.",
            "common practice; warranty provider's floor decks, read",
        ))  # fmt: skip
    if wanted is not None and given.thickness_mm < wanted:
        notes.append(Note(
            "deck-thickness-wanted",
            f"These centres want {wanted:g} mm, or a noggin or batten half-way.",
            "",
        ))  # fmt: skip
    if given.kind == "boards":
        notes.append(Note(
            "boards-sound",
            "Sound tongued softwood boards are meant: beetle, splits and cut tongues take "
            "strength away.",
            HANDBOOK,
        ))  # fmt: skip
    return tuple(notes)
