"""What an arm to a tip would show: how far it is from where a hub hides best, and how much of the way lies beside.

The mount is not there yet while tips are sought; a straight line from the best hidden place behind the object to the
tip stands for the arm. Display frame, mm. Used by the search as a cost.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.places.obstacle import FrontMap
from scanprep.hold.places.spots import Spots
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

LENGTH_COST, BESIDE_COST = HoldRules().reach_length_cost, HoldRules().reach_beside_cost
STEPS = 16  # tolerance: places along an arm that are looked at
SHOWN_COST = HoldRules().reach_shown_cost
SMALL_SHARE = HoldRules().reach_small_share
WIRE_mm = HoldRules().reach_wire_mm  # what shows of a tip is at least that and its pad


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
    best = np.unravel_index(int(np.argmin(steady(away))), away.shape)
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


def shown_costs(front: FrontMap, spots: Spots, rotation: F64, pad_mm: float, most_share: float) -> F64:
    """Return what the tips' own ends would cost by being seen, in front of the object or past its outline; (t,).

    Each end is taken as a padded wire through the seats of its faces. On a small object a fork alone may show more
    than the whole mount should.

    rotation    (3, 3) body frame to display frame
    pad_mm      thickness of the pads
    most_share  of the object's front that the mount may show
    """
    wide = WIRE_mm + 2 * pad_mm
    seats = (spots.points_mm - (pad_mm + WIRE_mm / 2) * spots.normals) @ rotation.T
    first = np.repeat(spots.first, spots.count)
    other = seats[first]  # each face's run goes to its tip's seat; a seat's own is a point
    along = (np.arange(STEPS) + 0.5) / STEPS
    points = other[:, None] + along[None, :, None] * (seats - other)[:, None]
    covered, beside = front.sight(points.reshape(-1, 3))
    seen = (covered | beside).reshape(len(seats), STEPS).mean(1)
    length = np.linalg.norm((seats - other)[:, :2], axis=1) + wide / 2
    length[spots.first] = wide  # a seat is a square
    area = np.add.reduceat(seen * length * wide, spots.first)
    share = area / (most_share * front.area_mm2)
    return np.asarray(SHOWN_COST * share if share.max(initial=0.0) > SMALL_SHARE else np.zeros(len(share)))
