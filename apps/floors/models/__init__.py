"""A floor structure, the log of its boards, and what was measured of it and under it."""

from apps.floors.models.floors import Board, BoardMove, BoardStay, Floor, Joist
from apps.floors.models.ground import AirBrick, JoistProbe, SpotHeight

__all__ = [
    "AirBrick",
    "Board",
    "BoardMove",
    "BoardStay",
    "Floor",
    "Joist",
    "JoistProbe",
    "SpotHeight",
]
