"""The table of calculators: what is asked, what is answered, what works it out."""

from __future__ import annotations

from typing import Any

from apps.checks.api import questions, repair_questions
from apps.checks.api.calculator import Calculator
from apps.checks.bearing import BearingInput, BearingOutcome, check_bearing
from apps.checks.between_pieces import FixingInput
from apps.checks.build_ups import Doorway
from apps.checks.decay import JoistEvidence
from apps.checks.decks import DeckInput, DeckOutcome, check_deck
from apps.checks.joist import JoistInput, JoistOutcome, check_joist
from apps.checks.lap_input import LapInput
from apps.checks.level_results import Levelled
from apps.checks.level_task import LevelTask
from apps.checks.membranes import Sheet
from apps.checks.sister_input import SisterOutcome
from apps.checks.trimming_input import TrimmerOutcome
from apps.checks.ventilation import VoidAir


def levels(asked: LevelTask) -> Any:
    """The best packers; the search loads ortools, half a second."""
    from apps.checks.levelling import levelled  # noqa: PLC0415

    return levelled(asked)


CALCULATORS: tuple[Calculator, ...] = (
    Calculator("joist", "Is this joist good enough?", JoistInput, JoistOutcome, check_joist),
    Calculator(
        "cuts",
        "Are these notches and holes all right, and where may another go?",
        questions.CutsAsked,
        questions.CutsAnswered,
        questions.cuts,
    ),
    Calculator(
        "lap",
        "Does a new end hold on this lap, and with which fixings?",
        LapInput,
        repair_questions.LapAnswered,
        repair_questions.lap,
    ),
    Calculator(
        "sister",
        "Is this joist good enough with another beside it?",
        repair_questions.SisterAsked,
        SisterOutcome,
        repair_questions.sister,
    ),
    Calculator(
        "trimmer",
        "Is this trimmer, or trimming joist, good enough?",
        repair_questions.TrimmerAsked,
        TrimmerOutcome,
        repair_questions.trimmer,
    ),
    Calculator(
        "fixing",
        "What does one nail, screw or bolt carry, and where does it go?",
        FixingInput,
        repair_questions.FixingAnswered,
        repair_questions.fixing,
    ),
    Calculator(
        "bearing",
        "Is this bearing long, hard and dry enough?",
        BearingInput,
        BearingOutcome,
        check_bearing,
    ),
    Calculator(
        "deck",
        "Does this deck span from joist to joist?",
        DeckInput,
        DeckOutcome,
        check_deck,
    ),
    Calculator(
        "decay",
        "How far does the rot go, and where may the joist be cut?",
        questions.DecayAsked,
        JoistEvidence,
        questions.decay,
    ),
    Calculator(
        "subfloor-ventilation",
        "Is there air enough under the floor?",
        questions.VentilationAsked,
        VoidAir,
        questions.ventilation,
    ),
    Calculator("levels", "Which packers make the floor level?", LevelTask, Levelled, levels),
    Calculator(
        "doorway",
        "What step is there at the doorway?",
        questions.DoorwayAsked,
        Doorway,
        questions.at_doorway,
    ),
    Calculator(
        "membrane",
        "How many rolls cover the ground?",
        questions.MembraneAsked,
        Sheet,
        questions.membrane,
    ),
)
