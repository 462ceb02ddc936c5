"""Points, polygons and distances by brute force in numpy: no geometry library.

Point in polygon by counting edge crossings, distance from a point to a segment: textbook
methods, from memory.
"""

from __future__ import annotations

import itertools

import numpy as np


def distance(points, a, b):
    start, along = np.array(a, dtype=float), np.array(b, dtype=float) - np.array(a, dtype=float)
    length2 = max(float(along @ along), 1e-9)
    share = np.clip((points - start) @ along / length2, 0, 1)
    return np.hypot(*(points - start - share[:, None] * along).T)


def from_edge(points, ring):
    return np.min([distance(points, a, b) for a, b in itertools.pairwise(ring)], axis=0)


def inside(points, ring):
    crossings = np.zeros(len(points), dtype=int)
    for (ax, ay), (bx, by) in itertools.pairwise(ring):
        spans = (ay > points[:, 1]) != (by > points[:, 1])
        at = ax + (points[:, 1] - ay) * (bx - ax) / (by - ay if by != ay else 1)
        crossings += spans & (points[:, 0] < at)
    return crossings % 2 == 1
