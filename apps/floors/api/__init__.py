"""Floors over HTTP. Board moves get their address above, where it is known who holds boards."""

from apps.floors.api.boards import BoardViewSet, JoistViewSet
from apps.floors.api.floors import FloorViewSet
from apps.floors.api.ground import AirBrickViewSet, JoistProbeViewSet, SpotHeightViewSet
from apps.floors.api.moves import BoardMoveSerializer, BoardMoveViewSet

ROUTES = (
    ("floors", FloorViewSet),
    ("joists", JoistViewSet),
    ("boards", BoardViewSet),
    ("air-bricks", AirBrickViewSet),
    ("joist-probes", JoistProbeViewSet),
    ("spot-heights", SpotHeightViewSet),
)

__all__ = ["ROUTES", "BoardMoveSerializer", "BoardMoveViewSet"]
