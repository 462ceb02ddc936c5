"""From a joist's row to the question whether it is good enough: its spans, loads and bearings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist
from typing import Any

from apps.checks.joist import Bearing, Cut, Deck, JoistInput, Layer
from apps.floors.ground import latest_probes
from apps.floors.models import Joist

BOARDS = Layer(name="boards")
CEILING = Layer(name="lath_and_plaster")
ASSUMED_CLASS = "C16"
"""For softwood that nobody graded: the customary ceiling (from memory); shown as an assumption."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorLoads:
    """What is taken for granted of a floor; None: as usual there.

    Attributes:
        dead_kn_m2: boards and ceiling; None: boards, and lath and plaster below unless it is a
            ground floor, since that is the heaviest of the usual ceilings.
        ceiling: "plastered" or "none"; None: by the storey.
        strength_class: of joists whose row and floor do not say.
    """

    dead_kn_m2: float | None = None
    imposed_kn_m2: float = 1.5
    ceiling: str | None = None
    service_class: int = 2
    strutting_rows: int = 0
    strength_class: str = ASSUMED_CLASS


USUAL = FloorLoads()


@dataclass(frozen=True, slots=True)
class Span:
    """A clear span along a joist [mm], and what it ends on."""

    from_mm: int
    to_mm: int
    bearings: tuple[Bearing, ...]


def length_of(joist: Joist) -> int:
    return round(dist(*joist.line))


def spans_of(joist: Joist) -> tuple[Span, ...]:
    """The clear spans of a joist, from its first point on.

    With fewer than two bearings noted the whole line is the span, on the usual bearings: longer
    than the real one, so on the safe side.
    """
    rows: list[dict[str, Any]] = sorted(joist.bearings, key=lambda row: int(row["at_mm"]))
    if len(rows) < 2:
        return (Span(0, length_of(joist), ()),)
    return tuple(
        Span(
            left["at_mm"] + left["length_mm"],
            right["at_mm"],
            tuple(Bearing(length_mm=row["length_mm"], kind=row["kind"]) for row in (left, right)),
        )
        for left, right in pairwise(rows)
    )


def longest_span(joist: Joist) -> Span:
    return max(spans_of(joist), key=lambda span: span.to_mm - span.from_mm)


def place_of(joist: Joist, span: Span, loads: FloorLoads = USUAL) -> JoistInput:
    """Where a joist lies, for any piece that might lie there: no cut, no decay, no reading.

    Fetch `floor__storey` with it.

    Raises:
        ValueError: figures that no joist has.
    """
    floor = joist.floor
    ground = floor.storey.level <= 0
    ceiling = loads.ceiling or ("none" if ground else "plastered")
    layers = (BOARDS,) if ceiling == "none" else (BOARDS, CEILING)
    return JoistInput(
        span_mm=span.to_mm - span.from_mm,
        breadth_mm=joist.breadth_mm,
        depth_mm=joist.depth_mm,
        spacing_mm=floor.joist_centres_mm,
        strength_class=joist.strength_class or floor.strength_class or loads.strength_class,
        dead_kn_m2=loads.dead_kn_m2,
        layers=layers,
        imposed_kn_m2=loads.imposed_kn_m2,
        service_class=loads.service_class,
        strutting_rows=loads.strutting_rows,
        ceiling=ceiling,
        deck=Deck(thickness_mm=floor.board_thickness_mm),
        bearings=span.bearings,
    )


def as_it_is(joist: Joist, span: Span, loads: FloorLoads = USUAL) -> JoistInput:
    """The joist itself over one of its spans: its cuts there, its decay, its latest readings.

    A joist noted as decayed without saying where counts as decayed from end to end.

    Raises:
        ValueError: figures that no joist has.
    """
    low, high = span.from_mm, span.to_mm
    ends = [bearing.length_mm for bearing in span.bearings] or [0, 0]
    reach = low - ends[0], high + ends[1]
    rotten = [(row["from_mm"], row["to_mm"]) for row in joist.decayed]
    if joist.condition == Joist.Condition.DECAYED and not rotten:
        rotten = [(0, length_of(joist))]
    read = [
        probe.moisture_pct
        for probe in latest_probes(joist.probes.all())
        if probe.moisture_pct is not None
    ]
    return replace(
        place_of(joist, span, loads),
        cuts=tuple(
            Cut(
                at_mm=row["at_mm"] - low, size_mm=row["size_mm"], depth_mm=row["depth_mm"],
                kind=row["kind"], edge=row["edge"],
            )
            for row in joist.cuts
            if low <= row["at_mm"] <= high
        ),
        decayed=tuple(
            (start - low, end - low) for start, end in rotten if start < reach[1] and end > reach[0]
        ),
        void_moisture_pct=max(read, default=None),
    )  # fmt: skip
