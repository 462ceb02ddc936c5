"""Nails, screws and bolts loaded sideways between two pieces of timber (EN 1995-1-1 section 8).

The yield theory of Johansen: the joint gives way by crushing the wood, by bending the fastener, or
by both; the weakest way counts. N and mm. Equations from memory, high confidence, unless marked;
the same six ways are in the US NDS, whose nail values they reproduce.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from apps.checks.asked import between, one_of
from apps.checks.strength import StrengthClass
from apps.checks.yielding import double_shear_modes, single_shear_modes

KINDS = ("nail", "screw", "bolt")
SHANKS = ("round", "square")
# Strength of the steel where none is given [N/mm²]: wire nails at least 600 (EN 1995-1-1 8.3.1.1),
# bolts of grade 4.6, screws as the reference case: from memory.
USUAL_F_U = {"nail": 600.0, "screw": 540.0, "bolt": 400.0}
SMALL_MM = 6.0  # up to this effective diameter a screw goes by the rules for nails: 8.7.1, read
# Share of the yield part that the rope effect may add: EN 1995-1-1 8.2.2(2).
ROPE_CAP = {"nail": 0.15, "square_nail": 0.25, "other_nail": 0.50, "screw": 1.0, "bolt": 0.25}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """One kind of fastener.

    Attributes:
        kind: "nail", "screw" or "bolt".
        diameter_mm: of a nail's or bolt's shank; of a screw over its thread.
        length_mm: under the head; of no matter for a bolt, which goes right through.
        predrilled: holes drilled first (bolts always are).
        f_u_n_mm2: strength of its steel; None: the usual one of its kind.
        root_mm: of a screw, under its thread; None: by the setting.
        shank: "round" or "square" (nails).
        smooth: a plain nail; others are ringed or twisted and want less penetration.
    """

    kind: str
    diameter_mm: float
    length_mm: float = 0.0
    predrilled: bool = False
    f_u_n_mm2: float | None = None
    root_mm: float | None = None
    shank: str = "round"
    smooth: bool = True

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a fastener."""
        one_of("A fastener", self.kind, KINDS)
        one_of("A shank", self.shank, SHANKS)
        between("The diameter of a fastener", self.diameter_mm, 1.5, 30)
        if self.kind != "bolt":
            between("The length of a nail or screw", self.length_mm, 10, 600)
        if self.kind == "nail":
            between("The diameter of a nail", self.diameter_mm, 1.5, 8)
        if self.f_u_n_mm2 is not None:
            between("The strength of its steel", self.f_u_n_mm2, 200, 1600, "N/mm²")
        if self.root_mm is not None:
            between("The root of a screw", self.root_mm, 1, self.diameter_mm)

    @property
    def steel_n_mm2(self) -> float:
        """Strength of its steel, the usual one where none was given."""
        return USUAL_F_U[self.kind] if self.f_u_n_mm2 is None else self.f_u_n_mm2

    @property
    def holed(self) -> bool:
        """Whether it stands in a drilled hole."""
        return self.predrilled or self.kind == "bolt"

    def __str__(self) -> str:
        if self.kind == "bolt":
            return f"M{self.diameter_mm:g} bolt"
        return f"{self.diameter_mm:g} × {self.length_mm:g} mm {self.kind}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ply:
    """One piece in a joint: how thick, of what class, and the angle of force to its grain."""

    thickness_mm: float
    grade: StrengthClass
    angle_deg: float = 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lateral:
    """What one fastener carries in one shear plane, characteristic [N], and how it gives way."""

    f_v_rk_n: float
    mode: str
    modes: dict[str, float]


# Sizes usual at a counter: common practice, no source. The root of the screws is an example, two
# thirds of the thread (from memory); a maker's own figures stand in its assessment.
COMMON: Mapping[str, Fastener] = MappingProxyType(
    {
        **{f"bolt_m{d}": Fastener(kind="bolt", diameter_mm=d) for d in (8, 10, 12, 16)},
        "nail_3.35x75": Fastener(kind="nail", diameter_mm=3.35, length_mm=75),
        "nail_4x100": Fastener(kind="nail", diameter_mm=4, length_mm=100),
        "screw_5x80": Fastener(kind="screw", diameter_mm=5, length_mm=80, root_mm=3.3),
        "screw_6x100": Fastener(kind="screw", diameter_mm=6, length_mm=100, root_mm=4),
    }
)


def effective_diameter_mm(fastener: Fastener, root_share: float) -> float:
    """The diameter that crushes and bends: of a screw 1.1 times its root (8.7.1(3)).

    A long smooth shank under the head would allow its own diameter; left out, which is safe.
    """
    if fastener.kind != "screw":
        return fastener.diameter_mm
    root = fastener.diameter_mm * root_share if fastener.root_mm is None else fastener.root_mm
    return 1.1 * root


def like_a_nail(fastener: Fastener, d: float) -> bool:
    """Whether the rules for nails apply: nails, and screws up to 6 mm effective (8.7.1, read)."""
    return fastener.kind == "nail" or (fastener.kind == "screw" and d <= SMALL_MM)


def embedment_n_mm2(fastener: Fastener, d: float, ply: Ply) -> float:
    """Strength of the wood under the fastener (equations 8.15, 8.16 and 8.31 to 8.33).

    Args:
        d: effective diameter.
    """
    rho = ply.grade.rho_k
    if like_a_nail(fastener, d):
        return 0.082 * rho * ((1 - 0.01 * d) if fastener.holed else float(d**-0.3))
    along = 0.082 * (1 - 0.01 * d) * rho
    k_90 = (1.35 if ply.grade.softwood else 0.90) + 0.015 * d
    turned = math.radians(ply.angle_deg)
    return along / (k_90 * math.sin(turned) ** 2 + math.cos(turned) ** 2)


def yield_moment_nmm(fastener: Fastener, d: float) -> float:
    """The moment that bends it for good: 0.3 or, square, 0.45 f_u d^2.6 (8.14, 8.30; read)."""
    factor = 0.45 if fastener.shank == "square" and fastener.kind == "nail" else 0.3
    return float(factor * fastener.steel_n_mm2 * d**2.6)


def point_side_mm(fastener: Fastener, head: Ply, point: Ply) -> float:
    """How far it reaches into the point-side piece; a bolt goes right through."""
    if fastener.kind == "bolt":
        return point.thickness_mm
    return min(fastener.length_mm - head.thickness_mm, point.thickness_mm)


def unfit(fastener: Fastener, head: Ply, point: Ply) -> str:
    """Why it cannot join these two pieces, as a sentence; empty where it can.

    Penetration 8d, ringed nails and screws 6d (8.3.1.2, 8.7.2); thickness against splitting
    7d or (13d - 30) rho_k / 400 without drilling (8.18); dense wood is drilled (8.3.1.1(2)).
    """
    if fastener.kind == "bolt":
        return ""
    d = fastener.diameter_mm
    reach = point_side_mm(fastener, head, point)
    wanted = (8 if fastener.kind == "nail" and fastener.smooth else 6) * d
    if reach < wanted:
        return (
            f"A {fastener} reaches {max(reach, 0):.0f} mm into the second piece, and at least "
            f"{wanted:.0f} mm is wanted."
        )
    if fastener.holed:
        return ""
    for ply in (head, point):
        rho = ply.grade.rho_k
        if rho > 500:
            return (
                f"{ply.grade.name} is too dense to drive a {fastener.kind} undrilled: drill first."
            )
        least = max(7 * d, (13 * d - 30) * rho / 400)
        if ply.thickness_mm < least:
            return (
                f"A {fastener} splits a piece {ply.thickness_mm:g} mm thick: at least {least:.0f} "
                "mm is wanted, or drill first."
            )
    return ""


def single_shear(
    fastener: Fastener, head: Ply, point: Ply, *, root_share: float, axial_n: float = 0.0
) -> Lateral:
    """What one fastener carries between two pieces (8.2.2(1), equation 8.6).

    Args:
        axial_n: its characteristic withdrawal resistance, for the rope effect; 0 leaves that out,
            which is safe. A quarter of it is added, up to the cap of its kind.

    Raises:
        ValueError: it does not reach or would split a piece, with a sentence.
    """
    if why := unfit(fastener, head, point):
        raise ValueError(why)
    d = effective_diameter_mm(fastener, root_share)
    modes = single_shear_modes(
        f_h_1=embedment_n_mm2(fastener, d, head),
        t_1=head.thickness_mm,
        f_h_2=embedment_n_mm2(fastener, d, point),
        t_2=point_side_mm(fastener, head, point),
        d=d,
        m_y=yield_moment_nmm(fastener, d),
    )
    cap = rope_cap(fastener)
    for mode in "cdef":
        modes[mode] += min(axial_n / 4, cap * modes[mode])
    return _weakest(modes)


def double_shear(bolt: Fastener, side: Ply, middle: Ply) -> Lateral:
    """What a bolt carries in each of its two planes, a side piece on both faces (equation 8.7).

    Raises:
        ValueError: it is no bolt.
    """
    if bolt.kind != "bolt":
        raise ValueError("New timber on both sides is fixed with bolts right through.")
    d = bolt.diameter_mm
    return _weakest(
        double_shear_modes(
            f_h_1=embedment_n_mm2(bolt, d, side),
            t_1=side.thickness_mm,
            f_h_2=embedment_n_mm2(bolt, d, middle),
            t_2=middle.thickness_mm,
            d=d,
            m_y=yield_moment_nmm(bolt, d),
        )
    )


def rope_cap(fastener: Fastener) -> float:
    """Share of the yield part that the rope effect may add (8.2.2(2))."""
    if fastener.kind != "nail":
        return ROPE_CAP[fastener.kind]
    if fastener.shank == "square":
        return ROPE_CAP["square_nail"]
    return ROPE_CAP["nail" if fastener.smooth else "other_nail"]


def _weakest(modes: dict[str, float]) -> Lateral:
    mode = min(modes, key=lambda name: modes[name])
    return Lateral(f_v_rk_n=modes[mode], mode=mode, modes=modes)


def slip_n_mm(fastener: Fastener, one: StrengthClass, two: StrengthClass, d: float) -> float:
    """Force per millimetre of slip in one plane in use, K_ser (table 7.1).

    Hole clearance of a bolt comes before it. At failure two thirds of it count, K_u (2.2.2(2)).
    """
    rho = math.sqrt(one.rho_mean * two.rho_mean)
    if fastener.kind == "nail" and not fastener.holed:
        return float(rho**1.5 * d**0.8 / 30)
    return float(rho**1.5 * d / 23)


def counted(fastener: Fastener, d: float, number: int, apart_mm: float) -> float:
    """How many of a row along the grain count for force along it: n_ef (8.3.1.1(8), 8.5.1.1).

    For force across the grain all of them count. Nails and small screws n^k_ef, k_ef 0.7 at 7d,
    0.85 at 10d and 1 from 14d on, 0.5 at 4d where drilled; bolts n^0.9 (a_1/13d)^0.25, at most n.
    """
    if number <= 1:
        return float(number)
    ratio = apart_mm / fastener.diameter_mm
    if not like_a_nail(fastener, d):
        return min(float(number), float(number**0.9 * (ratio / 13) ** 0.25))
    steps = ((4.0, 0.5 if fastener.holed else 0.0), (7.0, 0.7), (10.0, 0.85), (14.0, 1.0))
    if ratio >= steps[-1][0]:
        return float(number)
    if ratio < steps[0 if fastener.holed else 1][0]:
        raise ValueError(
            f"{apart_mm:g} mm apart along the grain is too near for a {fastener}: "
            f"at least {(4 if fastener.holed else 7) * fastener.diameter_mm:.0f} mm."
        )
    (low, k_low), (high, k_high) = next(two for two in pairwise(steps) if ratio <= two[1][0])
    return float(number ** (k_low + (k_high - k_low) * (ratio - low) / (high - low)))
