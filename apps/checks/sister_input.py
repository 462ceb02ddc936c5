"""What the check of a sistered joist is asked with, and its answer. Refusals are ValueErrors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from apps.checks.joist_input import Bearing, Cut, JoistInput
from apps.checks.results import Outcome

DECK_ON = ("old", "both", "new")
MOST_PLACES = 100
MOST_CUTS = 40  # each is a step of stiffness in both beams


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterSettings:
    """Where sources are silent or differ; every field has a sentence in `SENTENCES`."""

    most_spacing_mm: int = 600
    moisture_apart_pct: float = 5.0
    end_mm: int = 100
    farthest_share: float = 0.6

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        for name, (low, high) in RANGES.items():
            if not low <= getattr(self, name) <= high:
                raise ValueError(f"The setting {name} is {low:g} to {high:g}.")


RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "most_spacing_mm": (100, 1200),
        "moisture_apart_pct": (1, 30),
        "end_mm": (20, 400),
        "farthest_share": (0.3, 0.9),
    }
)
SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "most_spacing_mm": "Farthest apart the fixings of a sister may be, however little they "
        "carry: 600 mm, as bolts of doubled trimmers (from memory, medium confidence).",
        "moisture_apart_pct": "From this difference in moisture [%] on, a wet sister beside a dry "
        "joist shrinks away from the deck: 5 % (judgement, no source).",
        "end_mm": "From a piece's end to its last fixing: 100 mm; 7 diameters or 80 mm of a bolt, "
        "15 diameters of a nail (EN 1995-1-1 tables 8.2 and 8.4, from memory).",
        "farthest_share": "From the loaded edge to the farthest fixing as a share of the depth: "
        "0.6, a row either side of the middle (common practice, no source). It decides whether the "
        "wood splits (EN 1995-1-1 8.1.4, from memory).",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterPiece:
    """The timber put beside the joist.

    Attributes:
        breadth_mm, depth_mm: as measured at `moisture_pct` (None: 20 %).
        bearings: what its ends rest on, left and right; None at an end: it stops short of that
            bearing; None for both at once: as the old joist's.
        from_mm, to_mm: its ends from the left end of the clear span; read only where it stops
            short. `to_mm` None: at the face of the right bearing.
    """

    breadth_mm: float
    depth_mm: float
    strength_class: str
    grade_basis: str = "assumed"
    graded_by: str = ""
    moisture_pct: float | None = None
    cuts: tuple[Cut, ...] = ()
    bearings: tuple[Bearing | None, Bearing | None] | None = None
    from_mm: int = 0
    to_mm: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterFixings:
    """What joins the two.

    Attributes:
        name: as it is asked for at the counter.
        characteristic_n: strength of one in one shear plane, force across the grain: by
            EN 1995-1-1 8.2.2, or as its maker declares it.
        slip_n_mm: slip stiffness of one and plane in use, K_ser (EN 1995-1-1 table 7.1).
        spacing_mm: from place to place along the joist, at most.
        per_place: fixings at one place, above each other.
        end_per_place: at each of the two last places at both ends; they hold the couple of a
            sister that stops short.
        bolts: whether they are bolts, which slip by the play of their holes first.
    """

    name: str
    characteristic_n: float
    slip_n_mm: float
    spacing_mm: int = 400
    per_place: int = 1
    end_per_place: int = 2
    bolts: bool = False

    def __post_init__(self) -> None:
        if not 20 <= self.spacing_mm <= 2000:
            raise ValueError("Fixings are 20 to 2000 mm apart.")
        if not (1 <= self.per_place <= 20 and 1 <= self.end_per_place <= 20):
            raise ValueError("At one place there are 1 to 20 fixings.")
        if not 1 <= self.characteristic_n <= 1e6:
            raise ValueError("The strength of a fixing is 1 to 1000000 N.")
        if not 1 <= self.slip_n_mm <= 1e6:
            raise ValueError("The slip stiffness of a fixing is 1 to 1000000 N/mm.")


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterInput:
    """A joist with another beside it.

    Attributes:
        old: the joist as for `check_joist`, with its cuts, loads and decayed stretches. Decay is
            left out of what carries; a decayed stretch that reaches 0 or the clear span takes that
            bearing away.
        fixings: None: nobody chose any yet; a sister that stops short is then given no capacity.
        deck_on: which piece the boards rest on: "old", "both" or "new".
    """

    old: JoistInput
    new: SisterPiece
    fixings: SisterFixings | None = None
    deck_on: str = "old"
    settings: SisterSettings = SisterSettings()

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a sister."""
        if self.deck_on not in DECK_ON:
            raise ValueError(f"The boards rest on {', '.join(DECK_ON)}.")
        if len(self.old.cuts) + len(self.new.cuts) > MOST_CUTS:
            raise ValueError(f"At most {MOST_CUTS} notches and holes in joist and sister together.")
        self.sister_joist()
        low, high = self.reach
        if high - low < 2 * self.settings.end_mm + 50:
            raise ValueError("A sister is long enough for two places of fixings.")
        if self.fixings and (high - low) / self.fixings.spacing_mm > MOST_PLACES:
            raise ValueError(f"At most {MOST_PLACES} places of fixings.")

    @property
    def sister_bearings(self) -> tuple[Bearing | None, Bearing | None]:
        """What the sister itself rests on."""
        return self.old.ends if self.new.bearings is None else self.new.bearings

    @property
    def reach(self) -> tuple[float, float]:
        """The sister's ends from the left end of the clear span; on a bearing, its middle."""
        left, right = self.sister_bearings
        to = self.old.span_mm if self.new.to_mm is None else self.new.to_mm
        low = -self.half(left) if left else min(max(self.new.from_mm, 0), self.old.span_mm)
        high = self.old.span_mm + self.half(right) if right else min(max(to, 0), self.old.span_mm)
        return low, high

    @property
    def full_length(self) -> bool:
        """Whether the sister rests on a bearing of its own at both ends."""
        return all(self.sister_bearings)

    def half(self, bearing: Bearing) -> float:
        """From the face of a bearing to the line of its reaction, by the design-span setting."""
        return 0.0 if self.old.settings.design_span == "clear" else bearing.length_mm / 2

    def old_joist(self) -> JoistInput:
        """The old joist for its own checks: what is decayed is dealt with here."""
        return replace(self.old, decayed=(), through_split=False, load_sharing=False)

    def sister_joist(self) -> JoistInput:
        """The sister as a joist of its own over the same span."""
        new = self.new
        left, right = self.sister_bearings
        return replace(
            self.old_joist(),
            breadth_mm=new.breadth_mm,
            depth_mm=new.depth_mm,
            strength_class=new.strength_class,
            grade_basis=new.grade_basis,
            graded_by=new.graded_by,
            moisture_pct=new.moisture_pct,
            cuts=new.cuts,
            bearings=(left or self.old.ends[0], right or self.old.ends[1]),
        )


@dataclass(frozen=True, slots=True)
class FixingNeed:
    """What the fixings carry at most [N, one fixing, design], and how far apart they may be.

    Attributes:
        along_n: between the ends; 0 where there are none.
        ends_n: at the two last places of each end.
        widest_spacing_mm: widest tidy spacing at which the same fixings carry; None where none
            does.
        places: how many places there are at the spacing asked for; fixings: how many in all.
    """

    along_n: float
    ends_n: float
    widest_spacing_mm: int | None
    places: int
    fixings: int
    sentence: str


@dataclass(frozen=True, slots=True)
class SisterOutcome:
    """The answer about one sistered joist; `fixings` is None and `figures` empty when blocked."""

    outcome: Outcome
    given: SisterInput
    figures: dict[str, float] = field(default_factory=dict)
    fixings: FixingNeed | None = None
