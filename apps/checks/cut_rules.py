"""Rules of thumb for notches and holes in joists, edition by edition. Lengths as shares of depth h
and clear span L, measured from the nearer bearing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRules:
    """One edition.

    Attributes:
        notch_share, notch_most_mm: depth of a notch at most, of h and in mm.
        notch_zone: where it may be, of L.
        notch_edges: from which edges.
        notch_length_share: length at most, of h; None: not said.
        end_notch_share: depth over the bearing, of h; None: not allowed there.
        hole_share, hole_most_mm: diameter at most.
        hole_zone: of L; None: anywhere along the joist.
        hole_cover_mm: wood above and below a hole; None: on the centre line.
        diameters_apart: centre to centre of two holes, in diameters; 0: not said.
        clear_apart_mm: between any two cuts.
        deepest_mm: deeper joists are not covered; None: not said.
        counted_depth_mm: deeper joists count as this deep; None: as they are.
    """

    name: str
    title: str
    source: str
    notch_share: float = 0.125
    notch_most_mm: float | None = None
    notch_zone: tuple[float, float] = (0.07, 0.25)
    notch_edges: tuple[str, ...] = ("top", "bottom")
    notch_length_share: float | None = None
    end_notch_share: float | None = None
    hole_share: float = 0.25
    hole_most_mm: float | None = None
    hole_zone: tuple[float, float] | None = (0.25, 0.4)
    hole_cover_mm: float | None = None
    diameters_apart: float = 0.0
    clear_apart_mm: float = 0.0
    deepest_mm: float | None = None
    counted_depth_mm: float | None = None

    def notch_limit_mm(self, depth_mm: float) -> float:
        """The deepest notch in a joist of this depth."""
        limit = self.notch_share * self._counted(depth_mm)
        return min(limit, self.notch_most_mm) if self.notch_most_mm is not None else limit

    def hole_limit_mm(self, depth_mm: float) -> float:
        """The greatest hole in a joist of this depth."""
        limit = self.hole_share * self._counted(depth_mm)
        return min(limit, self.hole_most_mm) if self.hole_most_mm is not None else limit

    def covers(self, depth_mm: float) -> bool:
        """Whether the edition speaks of joists this deep."""
        return self.deepest_mm is None or depth_mm <= self.deepest_mm

    def _counted(self, depth_mm: float) -> float:
        return min(depth_mm, self.counted_depth_mm or depth_mm)


CUT_RULES: Mapping[str, CutRules] = MappingProxyType(
    {
        row.name: row
        for row in (
            CutRules(
                name="labc",
                title="LABC, as TRADA and the former BS 5268-2",
                source="labc.co.uk, notches and holes in solid timber joists, read",
                notch_most_mm=35,
                hole_most_mm=65,
                diameters_apart=3,
            ),
            CutRules(
                name="nhbc_2020",
                title="NHBC 6.4.18 (2020)",
                source="NHBC Standards 2020, 6.4.18, read",
                notch_share=0.15,
                notch_zone=(0.1, 0.2),
                notch_edges=("top",),
                clear_apart_mm=100,
                deepest_mm=250,
            ),
            CutRules(
                name="ireland_1997",
                title="Ireland, Technical Guidance Document A (1997)",
                source="as quoted on mcgovernsurveyors.ie, read",
                clear_apart_mm=100,
                deepest_mm=250,
            ),
            CutRules(
                name="specification",
                title="an architect's specification clause",
                source="flipbuilder huiy/fsyp p. 467, read",
                notch_edges=("top",),
                clear_apart_mm=100,
            ),
            CutRules(
                name="pd_6693",
                title="PD 6693-1",
                source="as noted in github paulevalentine/Python_Development Timber_Notes.md, read",
                clear_apart_mm=200,
                counted_depth_mm=250,
            ),
            CutRules(
                name="irc_2018",
                title="US IRC R502.8.1 (2018)",
                source="summaries in two public repositories, read",
                notch_share=1 / 6,
                notch_zone=(0.0, 1 / 3),
                notch_length_share=1 / 3,
                end_notch_share=0.25,
                hole_share=1 / 3,
                hole_zone=None,
                hole_cover_mm=50.8,
                clear_apart_mm=50.8,
            ),
        )
    }
)


def cut_rules(name: str) -> CutRules:
    """The edition of this name; ValueError with a sentence for a name that is none."""
    if name not in CUT_RULES:
        raise ValueError(f"The notch rules are one of {', '.join(CUT_RULES)}.")
    return CUT_RULES[name]
