"""Loads on one joist, and the combinations it is checked for (EN 1990, EN 1991-1-1, UK annexes)."""

from __future__ import annotations

from dataclasses import dataclass

from apps.checks.joist_input import JoistInput

G_M_S2 = 9.81
GAMMA_G, GAMMA_Q = 1.35, 1.5  # EN 1990 A1.2(B), expression 6.10: read in a lecture
XI = 0.925  # expression 6.10b, UK annex: from memory, high
PSI_0, PSI_2 = 0.7, 0.3  # homes, EN 1990 table A1.1: read in the same lecture
# Movable partitions up to so many kN/m count as so many kN/m²: EN 1991-1-1 6.3.1.2(8), from memory.
MOVABLE: tuple[tuple[float, float], ...] = ((1.0, 0.5), (2.0, 0.8), (3.0, 1.2))

Factors = tuple[float, float, float]  # on permanent, spread imposed, concentrated imposed


@dataclass(frozen=True, slots=True)
class JoistLoads:
    """On one joist, characteristic.

    Attributes:
        permanent, imposed: N per mm of joist, its own weight in the first.
        points: permanent point loads of partitions across: N, and their share of the clear span.
        mass_kg_m2: permanent mass of the floor, the joists in it.
    """

    permanent: float
    imposed: float
    points: tuple[tuple[float, float], ...]
    mass_kg_m2: float


def joist_loads(given: JoistInput, area_mm2: float, rho_mean: float) -> JoistLoads:
    """What stands on one joist of this section."""
    own = area_mm2 * rho_mean * G_M_S2 * 1e-9
    permanent = given.dead * given.spacing_mm * 1e-3 + own
    imposed = given.imposed_kn_m2
    points: list[tuple[float, float]] = []
    for wall in given.partitions:
        if wall.line == "along":
            permanent += wall.kn_m / wall.shared_by
        elif wall.line == "movable":
            imposed += next(extra for most, extra in MOVABLE if wall.kn_m <= most)
        else:
            at = given.span_mm / 2 if wall.at_mm is None else wall.at_mm
            share = min(max(at / given.span_mm, 0.0), 1.0)
            points.append((wall.kn_m * given.spacing_mm, share))
    mass = given.dead * 1000 / G_M_S2 + area_mm2 * rho_mean * 1e-6 / (given.spacing_mm * 1e-3)
    return JoistLoads(permanent, imposed * given.spacing_mm * 1e-3, tuple(points), mass)


def combinations(expression: str) -> dict[str, tuple[Factors, ...]]:
    """Factors of the spread, the permanent-only and the concentrated case; the worst one counts."""
    if expression == "6.10":
        return {
            "": ((GAMMA_G, GAMMA_Q, 0.0),),
            "_permanent": ((GAMMA_G, 0.0, 0.0),),
            "_point": ((GAMMA_G, 0.0, GAMMA_Q),),
        }
    less, lower = GAMMA_Q * PSI_0, GAMMA_G * XI
    return {
        "": ((GAMMA_G, less, 0.0), (lower, GAMMA_Q, 0.0)),
        "_permanent": ((GAMMA_G, 0.0, 0.0),),
        "_point": ((GAMMA_G, 0.0, less), (lower, 0.0, GAMMA_Q)),
    }
