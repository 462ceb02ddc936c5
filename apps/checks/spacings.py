"""How near fixings may come to each other and to the ends and edges (EN 1995-1-1, section 8).

Tables 8.2 (nails, small screws) and 8.4 (bolts, larger screws), from memory, high confidence.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from apps.checks.fasteners import Fastener, effective_diameter_mm, like_a_nail

LOADED_END_LEAST_MM = 80.0  # table 8.4
THICK_MM = 5.0  # from here on nails keep farther apart: table 8.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Distances:
    """Least distances [mm], centre to centre or to an end or edge; `clause` says by which table.

    Attributes:
        along_mm: between fixings along the grain; across_mm: across it.
        end_mm: to an end that the force may point to or not, the greater one.
        loaded_edge_mm: to the edge the force points to; edge_mm: to the other one.
    """

    along_mm: float
    across_mm: float
    end_mm: float
    loaded_edge_mm: float
    edge_mm: float
    clause: str


def least_distances(fastener: Fastener, *, angle_deg: float, root_share: float) -> Distances:
    """The least distances for a force at an angle to the grain, timber up to 420 kg/m³ (rho_k).

    A screw's distances go by its outer diameter, which is safe. Denser timber has to be drilled,
    and drilled timber has one row in the table whatever it weighs.
    """
    d = fastener.diameter_mm
    along, across = abs(cos(radians(angle_deg))), abs(sin(radians(angle_deg)))
    if not like_a_nail(fastener, effective_diameter_mm(fastener, root_share)):
        return Distances(
            along_mm=(4 + along) * d,
            across_mm=4 * d,
            end_mm=max(7 * d, LOADED_END_LEAST_MM),
            loaded_edge_mm=max((2 + 2 * across) * d, 3 * d),
            edge_mm=3 * d,
            clause="EN 1995-1-1 table 8.4",
        )
    thick = d >= THICK_MM
    if fastener.holed:
        return Distances(
            along_mm=(4 + along) * d,
            across_mm=(3 + across) * d,
            end_mm=(7 + 5 * along) * d,
            loaded_edge_mm=(3 + (4 if thick else 2) * across) * d,
            edge_mm=3 * d,
            clause="EN 1995-1-1 table 8.2, drilled",
        )
    return Distances(
        along_mm=(5 + (7 if thick else 5) * along) * d,
        across_mm=5 * d,
        end_mm=(10 + 5 * along) * d,
        loaded_edge_mm=(5 + (5 if thick else 2) * across) * d,
        edge_mm=5 * d,
        clause="EN 1995-1-1 table 8.2, not drilled",
    )


def either_way(fastener: Fastener, *, root_share: float) -> Distances:
    """The least distances for a force along or across the grain: each the greater of the two."""
    one, two = (
        least_distances(fastener, angle_deg=angle, root_share=root_share) for angle in (0, 90)
    )
    return Distances(
        along_mm=max(one.along_mm, two.along_mm),
        across_mm=max(one.across_mm, two.across_mm),
        end_mm=max(one.end_mm, two.end_mm),
        loaded_edge_mm=max(one.loaded_edge_mm, two.loaded_edge_mm),
        edge_mm=max(one.edge_mm, two.edge_mm),
        clause=one.clause,
    )
