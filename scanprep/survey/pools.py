"""How much water a thing would hold if it were shown with a given side up: the mouth of a bowl tells which way that is.

Heights seen from above are filled from the rim inwards (priority flood: Barnes, Lehman and Mulla, Computers and
Geosciences 62, 2014): what lies below the lowest way out holds water.
Takes what the sides show (`Sides`). Used by `tops`.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np

from scanprep.survey.sides import Sides
from scanprep.vectors import F64

_CELLS = 64  # tolerance: over the longer side: a mouth of three cells in a pipe twenty times as long
_LEAST_CELLS = 6  # tolerance: of a pool: less is a dent of the scan; assumed


@dataclass(frozen=True, slots=True)
class Pool:
    """The largest pool, and how many there are."""

    volume_mm3: float
    depth_mm: float
    width_mm: float  # of a square of its area
    count: int  # of pools a quarter as large and more


def held_water(sides: Sides, up: F64, level: F64) -> Pool:
    """Return the largest pool that the object would hold.

    up     unit, scan axes
    level  a direction square to it
    """
    from scipy.ndimage import label

    face, start, pitch = sides.looked(np.stack([np.cross(level, up), level, up]), _CELLS)
    hit = face.reshape(-1) >= 0
    along = np.full(len(hit), -np.inf)
    along[hit] = -sides.scene.cast(start[hit], -up).distance_mm
    height = along.reshape(face.shape)
    depth = np.where(np.isfinite(height), _filled(height) - np.where(np.isfinite(height), height, 0.0), 0.0)
    parts, count = label(depth > pitch / 2)
    if not count:
        return Pool(0.0, 0.0, 0.0, 0)
    sizes = [float(depth[parts == k].sum()) for k in range(1, count + 1)]
    pool = parts == 1 + int(np.argmax(sizes))
    if np.count_nonzero(pool) < _LEAST_CELLS:
        return Pool(0.0, 0.0, 0.0, 0)
    return Pool(max(sizes) * pitch**2, float(depth[pool].max()), float(np.sqrt(np.count_nonzero(pool))) * pitch,
                sum(size > max(sizes) / 4 for size in sizes))


def _filled(height: F64) -> F64:
    """Heights (rows, columns; -inf where there is nothing) with what holds water filled to its lowest way out."""
    high = np.pad(height, 1, constant_values=-np.inf)
    level, done = high.copy(), ~np.isfinite(high)
    queue = [(-np.inf, int(i), int(j)) for i, j in np.argwhere(done)]
    while queue:
        water, i, j = heapq.heappop(queue)
        for a, b in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if 0 <= a < high.shape[0] and 0 <= b < high.shape[1] and not done[a, b]:
                done[a, b] = True
                level[a, b] = max(water, high[a, b])
                heapq.heappush(queue, (level[a, b], a, b))
    return level[1:-1, 1:-1]
