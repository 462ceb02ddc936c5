"""What every board rests on, now that joists are decayed or gone."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, STRtree

from apps.floors.geometry import Shapes, polygons
from apps.floors.shapes import BEARING_MM, OVERHANG_MM, Board, Joist, Line, Support
from renovation_words import listed
