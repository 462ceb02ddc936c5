"""One fixing between two pieces, in words and figures: what it carries, how far it keeps away.

EN 1995-1-1 section 8: see `fasteners` for the equations and their sources.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from apps.checks.asked import between, one_of
from apps.checks.fastener_settings import FixingSettings
from apps.checks.fasteners import (
    Fastener,
    Ply,
    counted,
    double_shear,
    effective_diameter_mm,
    single_shear,
    slip_n_mm,
)
from apps.checks.fixing_patterns import Pattern, rounded_up, two_groups
from apps.checks.results import CAUTIONS, EDITION, Check, against
from apps.checks.sister_input import SisterFixings
from apps.checks.spacings import Distances, least_distances
from apps.checks.strength import StrengthClass, k_mod, strength_class

MODES = {
    "a": "the wood under the head crushes",
    "b": "the wood at the point crushes",
    "c": "the fixing tilts and crushes both pieces",
    "d": "the fixing bends once, in the piece under its head",
    "e": "the fixing bends once, in the piece at its point",
    "f": "the fixing bends twice",
    "g": "the wood of the side pieces crushes",
    "h": "the wood of the middle piece crushes",
    "j": "the fixing bends once in each side piece",
    "k": "the fixing bends twice in each side piece",
}
"""How each mode of EN 1995-1-1 8.2.2 gives way."""
MAKER = (
    "A screw made for structural joints goes by its European Technical Assessment, not by this.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timber:
    """A piece in a joint: across the fixing, up its depth, and how the force meets its grain."""

    thickness_mm: float
    strength_class: str
    depth_mm: float
    angle_deg: float = 90.0

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a piece."""
        between("The thickness of a piece", self.thickness_mm, 10, 400)
        between("The depth of a piece", self.depth_mm, 20, 800)
        between("The angle of the force to the grain", self.angle_deg, 0, 90, "degrees")
        strength_class(self.strength_class)

    @property
    def ply(self) -> Ply:
        """The piece as the yield theory sees it."""
        return Ply(thickness_mm=self.thickness_mm, grade=self.grade, angle_deg=self.angle_deg)

    @property
    def grade(self) -> StrengthClass:
        return strength_class(self.strength_class)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingInput:
    """One kind of fixing between two pieces.

    Attributes:
        head: the piece under its head; with two sides, each of the outer ones.
        point: the piece its point goes into; with two sides, the middle one.
        sides: 1, or 2: a piece on both faces, bolts only.
        withdrawal_n: what one holds against being pulled out, as its maker declares it,
            characteristic; 0 leaves the rope effect out, which is safe.
        force_n: design force on one, to be compared; left out: nothing is compared.
        overlap_mm: how long the pieces lie side by side; left out: no pattern is drawn.
        columns: of fixings near each end of the overlap.
        rows: up the depth; left out: as usual for their kind.
    """

    fastener: Fastener
    head: Timber
    point: Timber
    sides: int = 1
    withdrawal_n: float = 0.0
    force_n: float | None = None
    service_class: int = 2
    load_duration: str = "medium_term"
    overlap_mm: int | None = None
    columns: int = 1
    rows: int | None = None
    settings: FixingSettings = field(default_factory=FixingSettings)

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be asked."""
        one_of("On how many sides the outer pieces lie", self.sides, (1, 2))
        between("What a fixing holds against being pulled out", self.withdrawal_n, 0, 200_000, "N")
        if self.force_n is not None:
            between("The force on a fixing", self.force_n, 0, 1_000_000, "N")
        if self.overlap_mm is not None:
            between("The overlap", self.overlap_mm, 1, 20_000)
        between("The columns of fixings", self.columns, 1, 20, "")
        if self.rows is not None:
            between("The fixings in a column", self.rows, 1, 20, "")
        k_mod(self.service_class, self.load_duration)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingOutcome:
    """What one fixing carries in one shear plane.

    Attributes:
        modes: each way it gives way [N, characteristic], by the letters of EN 1995-1-1 8.2.2.
        mode: the weakest of them; `mode_in_words` says what happens.
        characteristic_n, design_n: of one in one plane; one in two planes carries twice that.
        slip_n_mm: force for a millimetre of slip in use, K_ser; two thirds of it at failure.
        distances_across, distances_along: least ones, force across and along the grain.
        counted_along: of the fixings in a row of `pattern`, how many count for a force along it.
        check: of `force_n`; null where none was given.
        pattern: two groups in the overlap; null where none was asked for.
    """

    edition: str
    given: FixingInput
    name: str
    effective_diameter_mm: float
    modes: dict[str, float]
    mode: str
    mode_in_words: str
    characteristic_n: float
    design_n: float
    k_mod: float
    gamma_m: float
    planes: int
    slip_n_mm: float
    distances_across: Distances
    distances_along: Distances
    counted_along: float | None
    check: Check | None
    pattern: Pattern | None
    cautions: tuple[str, ...]
    sentence: str


def check_fixing(given: FixingInput) -> FixingOutcome:
    """What a fixing carries between two pieces, its least distances, and a pattern of it.

    Raises:
        ValueError: it does not reach, would split a piece, or finds no room, with a sentence.
    """
    fastener, share = given.fastener, given.settings.screw_root_share
    head, point = given.head.ply, given.point.ply
    if given.sides == 2:
        found = double_shear(fastener, head, point)
    else:
        found = single_shear(fastener, head, point, root_share=share, axial_n=given.withdrawal_n)
    d = effective_diameter_mm(fastener, share)
    mode = k_mod(given.service_class, given.load_duration)
    design = mode * found.f_v_rk_n / given.settings.gamma_m_joint
    pattern = None
    if given.overlap_mm is not None:
        pattern = two_groups(
            fastener,
            length_mm=given.overlap_mm,
            depth_mm=min(given.head.depth_mm, given.point.depth_mm),
            columns=given.columns,
            root_share=share,
            rows=given.rows,
        )
    return FixingOutcome(
        edition=EDITION,
        given=given,
        name=str(fastener),
        effective_diameter_mm=d,
        modes=found.modes,
        mode=found.mode,
        mode_in_words=MODES[found.mode],
        characteristic_n=found.f_v_rk_n,
        design_n=design,
        k_mod=mode,
        gamma_m=given.settings.gamma_m_joint,
        planes=given.sides,
        slip_n_mm=slip_n_mm(fastener, given.head.grade, given.point.grade, d),
        distances_across=least_distances(fastener, angle_deg=90, root_share=share),
        distances_along=least_distances(fastener, angle_deg=0, root_share=share),
        counted_along=_counted_along(given, d),
        check=_compared(given, design),
        pattern=pattern,
        cautions=(*CAUTIONS, *MAKER),
        sentence=_in_words(given, found.f_v_rk_n, design, found.mode),
    )


def _counted_along(given: FixingInput, d: float) -> float | None:
    if given.overlap_mm is None:
        return None
    least = least_distances(given.fastener, angle_deg=0, root_share=given.settings.screw_root_share)
    return counted(given.fastener, d, given.columns, rounded_up(least.along_mm))


def _compared(given: FixingInput, design: float) -> Check | None:
    if given.force_n is None:
        return None
    return against(
        "fixing",
        f"The force on one {given.fastener}",
        demand=given.force_n,
        capacity=design * given.sides,
        unit="N",
        clause="EN 1995-1-1 8.2.2",
    )


def _in_words(given: FixingInput, characteristic: float, design: float, mode: str) -> str:
    planes = " in each of its two planes" if given.sides == 2 else ""
    return (
        f"One {given.fastener} carries {design:.0f} N{planes} in design ({characteristic:.0f} N "
        f"characteristic): {MODES[mode]} first."
    )


def sister_fixings(
    fastener: Fastener,
    *,
    new_breadth_mm: float,
    new_class: str,
    old_breadth_mm: float,
    old_class: str,
    spacing_mm: int,
    per_place: int = 1,
    end_per_place: int = 2,
    settings: FixingSettings | None = None,
) -> SisterFixings:
    """What joins a joist and its sister, force across the grain of both, head in the new one.

    Raises:
        ValueError: the fastener does not reach, or would split a piece, with a sentence.
    """
    share = (settings or FixingSettings()).screw_root_share
    new, old = strength_class(new_class), strength_class(old_class)
    found = single_shear(
        fastener,
        Ply(thickness_mm=new_breadth_mm, grade=new),
        Ply(thickness_mm=old_breadth_mm, grade=old),
        root_share=share,
    )
    d = effective_diameter_mm(fastener, share)
    slip = slip_n_mm(fastener, new, old, d)
    return SisterFixings(
        name=str(fastener),
        characteristic_n=found.f_v_rk_n,
        slip_n_mm=slip,
        spacing_mm=spacing_mm,
        per_place=per_place,
        end_per_place=end_per_place,
        bolts=fastener.kind == "bolt",
    )
