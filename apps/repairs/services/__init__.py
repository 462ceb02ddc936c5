"""Proposing repairs, accepting one with all it takes, and taking one back."""

from apps.repairs.services.accepting import accept
from apps.repairs.services.proposing import CAUTIONS, propose
from apps.repairs.services.propped import note_props
from apps.repairs.services.undoing import undo

__all__ = ["CAUTIONS", "accept", "note_props", "propose", "undo"]
