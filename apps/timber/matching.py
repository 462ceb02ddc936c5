"""Whether a piece will do for a need, and if not, why: every reason, the governing one first.

The order of the questions is fixed: is it free, is it sound over the length, is the section right
(or can it be made so), is it strong enough, treated, dry. See `verdicts.Verdict`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from apps.timber.lengths import Lengths, lengths_of, too_short
from apps.timber.outlook import Forecast
from apps.timber.pieces_as_data import NeedData, PieceData, PieceState
from apps.timber.runs import SETTINGS, ClearRun, RunSettings
from apps.timber.sections import PACKERS_MM
from apps.timber.uses import JoistCheck, Use, use_of
from apps.timber.verdicts import ORDER, Reason, Verdict
from apps.timber.wetness import DRY, Wet, wet_of

Key = tuple[object, ...]
Columns = tuple[list[Use], list[Lengths], list[Wet]]

ForecastOf = Callable[[PieceData, float], Forecast]
"""The drying forecast of a piece for a limit [%]."""


@dataclass(frozen=True, slots=True)
class DeviationOffer:
    """What would be written as a deviation: specified, built instead, and why."""

    specified: str
    built: str
    why: str


class Match(NamedTuple):
    """A need and a piece. What is said of them is put together when it is asked for: most of
    the many pairs are only asked whether they fit.

    Attributes:
        need, piece: the two.
        use: section, strength, check.
        lengths: how long the piece is sound for the role.
        wet: how wet it is.
    """

    need: NeedData
    piece: PieceData
    use: Use
    lengths: Lengths
    wet: Wet

    @property
    def fits(self) -> bool:
        """Whether the piece will do, as it is or after what the verdict says."""
        return (
            self.lengths.longest_mm >= self.need.length_mm
            and self.piece.state == PieceState.IN_STOCK
            and not self.use.refused
            and not self.wet.refused
        )

    @property
    def run(self) -> ClearRun | None:
        """The longest sound length for the role; None: none at all."""
        return self.lengths.run

    @property
    def wet_until(self) -> date | None:
        """Likely day it is dry enough; None: dry already, not asked, or never."""
        return self.wet.until

    @property
    def verdict(self) -> Verdict:
        """The governing reason's code."""
        return self.reasons[0].code

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """All of them, the governing one first."""
        found = [*self.use.reasons, *too_short(self.need, self.piece, self.lengths)]
        found += self.wet.reasons
        if self.piece.state != PieceState.IN_STOCK:
            words = self.piece.state.replace("_", " ")
            found.append(Reason(Verdict.TAKEN, {"state": words}))
        if self.use.check and self.use.check.passes and self.lengths.cut_into:
            found.append(Reason(Verdict.UNMEASURED))
        if self.run and all(ORDER[one.code] > ORDER[Verdict.FITS] for one in found):
            figures = {
                "run_mm": self.run.length_mm,
                "wanted_mm": self.need.length_mm,
                "between": self.run.between,
            }
            found.append(Reason(Verdict.FITS, figures))
        return tuple(sorted(found, key=lambda reason: ORDER[reason.code]))

    @property
    def sentence(self) -> str:
        """All reasons in one sentence, the governing one first."""
        first, *others = self.reasons
        said = [first.phrase, *(reason.following for reason in others)]
        return f"{self.piece.mark} {'; it '.join(said)}."

    @property
    def figures(self) -> dict[str, Any]:
        """The figures of the governing reason."""
        return dict(self.reasons[0].figures)

    @property
    def deviation(self) -> DeviationOffer | None:
        """The deviation that would have to go with it; None where none is needed."""
        codes = {reason.code for reason in self.reasons}
        if not self.fits or not codes & {Verdict.FITS_BY_CHECK, Verdict.ASSUMED}:
            return None
        section, need = self.use.section, self.need
        wanted = f" {need.strength_class}" if need.strength_class else ""
        counts = f" {self.use.counts_as}, not graded" if Verdict.ASSUMED in codes else ""
        return DeviationOffer(
            specified=f"{need.title}: {need.breadth_mm} × {need.depth_mm} mm{wanted}",
            built=f"{self.piece.mark}: {section.breadth_mm} × {section.depth_mm} mm{counts}",
            why=self.sentence,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Matcher:
    """Asks the same of many pieces and needs, and nothing twice.

    Pieces are known by their ids: a matcher serves one reading of the pile.

    Attributes:
        today: the day it is asked.
        forecast_of: drying forecasts; None: nobody asks how wet it is.
        settings: for sound lengths.
        packers_mm: thicknesses of packers on hand [mm].
    """

    today: date
    forecast_of: ForecastOf | None = None
    settings: RunSettings = SETTINGS
    packers_mm: tuple[int, ...] = PACKERS_MM
    _lengths: dict[Key, Lengths] = field(default_factory=dict)
    _uses: dict[Key, Use] = field(default_factory=dict)
    _wets: dict[Key, Wet] = field(default_factory=dict)

    def match(
        self, need: NeedData, piece: PieceData, joist_check: JoistCheck | None = None
    ) -> Match:
        """Whether a piece will do for a need, and why.

        Args:
            need, piece: the two.
            joist_check: asked where the piece is smaller than wanted and the role allows it.
        """
        return Match(
            need,
            piece,
            self._use(need, piece, joist_check),
            self._lengths_of(need, piece),
            self._wet_of(need, piece),
        )

    def match_all(
        self,
        needs: Iterable[NeedData],
        pieces: Sequence[PieceData],
        joist_checks: Mapping[int, JoistCheck] | None = None,
    ) -> dict[int, dict[int, Match]]:
        """Every piece for every need, by their ids.

        What does not depend on the need's length is asked once for all needs alike.

        Args:
            needs, pieces: any number.
            joist_checks: by the id of the need, where there is one.
        """
        checks = joist_checks or {}
        columns: dict[Key, Columns] = {}
        found: dict[int, dict[int, Match]] = {}
        for need in needs:
            check = checks.get(need.id)
            key = (*_of_need(need), need.moisture_limit_pct, need.needed_by, check)
            if key not in columns:
                columns[key] = (
                    [self._use(need, piece, check) for piece in pieces],
                    [self._lengths_of(need, piece) for piece in pieces],
                    [self._wet_of(need, piece) for piece in pieces],
                )
            found[need.id] = {
                piece.id: Match(need, piece, use, lengths, wet)
                for piece, use, lengths, wet in zip(pieces, *columns[key], strict=True)
            }
        return found

    def _use(self, need: NeedData, piece: PieceData, joist_check: JoistCheck | None) -> Use:
        key = (*_of_need(need), joist_check, *_of_piece(piece))
        if key not in self._uses:
            self._uses[key] = use_of(need, piece, joist_check, self.packers_mm)
        return self._uses[key]

    def _lengths_of(self, need: NeedData, piece: PieceData) -> Lengths:
        key = (piece.id, need.role)
        if key not in self._lengths:
            self._lengths[key] = lengths_of(piece, need.role, self.settings)
        return self._lengths[key]

    def _wet_of(self, need: NeedData, piece: PieceData) -> Wet:
        limit = need.moisture_limit_pct
        if limit is None or self.forecast_of is None:
            return DRY
        key = (piece.id, limit, need.needed_by)
        if key not in self._wets:
            self._wets[key] = wet_of(self.forecast_of(piece, limit), need.needed_by, self.today)
        return self._wets[key]


def _of_need(need: NeedData) -> Key:
    """What of a need its uses depend on."""
    return need.role, need.breadth_mm, need.depth_mm, need.strength_class, need.treated


def _of_piece(piece: PieceData) -> Key:
    """What of a piece its uses depend on."""
    return (
        piece.breadth_mm,
        piece.depth_mm,
        piece.strength_class,
        piece.grade_basis,
        piece.treated,
    )
