"""Strength classes of EN 338:2016 and the factors of EN 1995-1-1 that go with solid timber.

One edition only. The shear strengths of 2016 (and 2009) go with the crack factor k_cr = 0.67; those
of 2003 were used without it. Mixing the two is wrong by half, so the older rows are not kept here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

STRENGTH_EDITION = "EN 338:2016"


@dataclass(frozen=True, slots=True)
class StrengthClass:
    """Characteristic values of one class: N/mm² and kg/m³."""

    name: str
    f_m_k: float
    f_t_0_k: float
    f_c_0_k: float
    f_c_90_k: float
    f_v_k: float
    e_0_mean: float
    e_0_05: float
    e_90_mean: float
    g_mean: float
    rho_k: float
    rho_mean: float

    @property
    def softwood(self) -> bool:
        """Whether it is a C class: the bearing and slot rules of the code differ for hardwood."""
        return self.name.startswith("C")


# C14 to C30: read in github egilmonsas/materialclasses, materialclasses/solidtimber.py (0b9309d),
# a copy of EN 338:2016 table 1; E, G and density agree with a second table
# (github xcfem/xc, EC5_wood_classes.py). D30: from memory, medium confidence.
CLASSES: Mapping[str, StrengthClass] = MappingProxyType(
    {
        row.name: row
        for row in (
            StrengthClass("C14", 14, 7.2, 16, 2.0, 3.0, 7000, 4700, 230, 440, 290, 350),
            StrengthClass("C16", 16, 8.5, 17, 2.2, 3.2, 8000, 5400, 270, 500, 310, 370),
            StrengthClass("C18", 18, 10.0, 18, 2.2, 3.4, 9000, 6000, 300, 560, 320, 380),
            StrengthClass("C22", 22, 13.0, 20, 2.4, 3.8, 10000, 6700, 330, 630, 340, 410),
            StrengthClass("C24", 24, 14.5, 21, 2.5, 4.0, 11000, 7400, 370, 690, 350, 420),
            StrengthClass("C27", 27, 16.5, 22, 2.5, 4.0, 11500, 7700, 380, 720, 360, 430),
            StrengthClass("C30", 30, 19.0, 24, 2.7, 4.0, 12000, 8000, 400, 750, 380, 460),
            StrengthClass("D30", 30, 18.0, 24, 5.3, 3.9, 11000, 9200, 730, 690, 530, 640),
        )
    }
)
# Names a stamp of the permissible-stress code may carry, from memory, high confidence.
OLD_NAMES: Mapping[str, str] = MappingProxyType({"SC3": "C16", "SC4": "C24"})

GAMMA_M = 1.3  # solid timber, EN 1995-1-1 table 2.3: read in xcfem/xc and eurocodepy

SERVICE_CLASSES = (1, 2, 3)
LOAD_DURATIONS = ("permanent", "long_term", "medium_term", "short_term", "instantaneous")

# EN 1995-1-1 tables 3.1 and 3.2, solid timber: read in xcfem/xc EC5_materials.py and, the same, in
# the data of eurocodepy 2026.1.1.
K_MOD: Mapping[int, Mapping[str, float]] = MappingProxyType(
    {
        1: dict(zip(LOAD_DURATIONS, (0.60, 0.70, 0.80, 0.90, 1.10), strict=True)),
        2: dict(zip(LOAD_DURATIONS, (0.60, 0.70, 0.80, 0.90, 1.10), strict=True)),
        3: dict(zip(LOAD_DURATIONS, (0.50, 0.55, 0.65, 0.70, 0.90), strict=True)),
    }
)
K_DEF: Mapping[int, float] = MappingProxyType({1: 0.60, 2: 0.80, 3: 2.00})
K_DEF_DRYING_UNDER_LOAD = 1.0  # added: EN 1995-1-1 3.2(4), from memory, high confidence


def strength_class(name: str) -> StrengthClass:
    """The values of a class by its name ("C24", "c24").

    Raises ValueError, with a sentence, for a name that is none. An old name is not translated by
    itself: the sentence says which class it roughly is.
    """
    tidy = name.strip().upper()
    if tidy in CLASSES:
        return CLASSES[tidy]
    if tidy in OLD_NAMES:
        raise ValueError(
            f"{tidy} is a class of the old permissible-stress code, roughly {OLD_NAMES[tidy]}: "
            "say which class of EN 338 is meant."
        )
    raise ValueError(f"{name!r} is no strength class: one of {', '.join(CLASSES)}.")


def k_mod(service_class: int, load_duration: str) -> float:
    """How strength depends on moisture and on how long the load stays (EN 1995-1-1 table 3.1).

    Raises ValueError for a service class or load duration that is none.
    """
    if service_class not in K_MOD:
        raise ValueError("The service class is 1, 2 or 3.")
    if load_duration not in K_MOD[service_class]:
        raise ValueError(f"The load duration is one of {', '.join(LOAD_DURATIONS)}.")
    return K_MOD[service_class][load_duration]


def k_def(service_class: int, *, drying_under_load: bool = False) -> float:
    """How much solid timber creeps (EN 1995-1-1 table 3.2; 1.0 more where it dries loaded)."""
    if service_class not in K_DEF:
        raise ValueError("The service class is 1, 2 or 3.")
    return K_DEF[service_class] + (K_DEF_DRYING_UNDER_LOAD if drying_under_load else 0.0)


def k_h(depth_mm: float, rho_k: float) -> float:
    """The depth factor in bending: pieces under 150 mm deep are stronger (EN 1995-1-1 3.2(3)).

    Solid timber with rho_k up to 700 kg/m³ only; read in xcfem/xc EC5_materials.py.
    """
    if depth_mm <= 0:
        raise ValueError("A depth is more than 0 mm.")
    if depth_mm >= 150 or rho_k > 700:
        return 1.0
    return min(float((150 / depth_mm) ** 0.2), 1.3)
