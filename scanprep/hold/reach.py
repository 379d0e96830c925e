"""What an arm to a tip would show: how far it is from where a hub hides best, and how much of the way lies beside.

The mount is not there yet while tips are sought; a straight line from the best hidden place behind the object to the
tip stands for the arm. Display frame, mm. Used by the search as a cost.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.body import FrontMap
from scanprep.vectors import F64

LENGTH_COST, BESIDE_COST = 0.3, 2.0  # of an arm as long as half the object's larger extent; assumed
STEPS = 16


def hidden_place(front: FrontMap) -> F64:
    """Return the place (2,) where most of a hub would be hidden: deep inside the outline, at or above the centre.

    Among places nearly as deep as the deepest the one nearest the centre of mass.
    """
    from scipy.ndimage import distance_transform_edt

    covered = np.pad(np.isfinite(front.front_mm), 1)
    deep = distance_transform_edt(covered)[1:-1, 1:-1] * front.pitch_mm
    rows, columns = np.indices(deep.shape)
    x = front.left_mm + (columns + 0.5) * front.pitch_mm
    y = front.low_mm + (rows + 0.5) * front.pitch_mm
    allowed = (y >= 0) & (deep > 0)
    if not allowed.any():
        allowed = deep > 0
    good = allowed & (deep >= 0.8 * deep[allowed].max())
    away = np.where(good, np.hypot(x, y), np.inf)
    best = np.unravel_index(int(np.argmin(away)), away.shape)
    return np.array([x[best], y[best]])


def reach_costs(front: FrontMap, points_mm: F64) -> F64:
    """Return what the arms to some tips (n, 3) would cost in length and in being seen beside the object; (n,)."""
    place = hidden_place(front)
    shape = np.array(front.front_mm.shape) * front.pitch_mm
    half_mm = float(shape.max()) / 2
    ways = points_mm[:, :2] - place
    length = np.linalg.norm(ways, axis=1)
    steps = (np.arange(STEPS) + 0.5) / STEPS
    along = np.zeros((len(points_mm), STEPS, 3))
    along[..., :2] = place + steps[None, :, None] * ways[:, None]
    along[..., 2] = -1e6  # behind everything
    _, beside = front.sight(along.reshape(-1, 3))
    share = beside.reshape(len(points_mm), STEPS).mean(1)
    return np.asarray((LENGTH_COST + BESIDE_COST * share) * length / half_mm, dtype=np.float64)
