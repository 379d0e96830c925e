"""A ring under a round foot: one wire that follows the foot from below, open in front, its ends turned up as lips.

    from above:   ____ stem          from the side:   |
                 /    \\                               |  \\______/
                |      |  under the foot              |_|______|_ lip
                 \\    /
                  v  v   ends turned up before it

Bent flat round a former, then its ends are turned up. One stem carries all, so that it is for what is light. Display
frame, mm.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from scanprep.hold.families.loops import as_loop
from scanprep.hold.families.probes import either
from scanprep.hold.families.scene import Hit, Scene, Seats
from scanprep.hold.places.spots import LEAST_PAD_mm
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_LIPS_AT_deg = (38.0, 50.0, 28.0)  # tolerance: on either side of the viewer's way, tried in turn
_LIPS_mm = HoldRules().foot_lips_mm
_INWARD_mm = (2.8, 1.6, 4.5, 0.9, 0.5)  # tolerance: from the foot's edge to the wire, tried in turn
_PADS = 7  # tolerance: places along the wire that the statics counts; its pad is continuous
_STEPS = 24  # tolerance: corners along the wire
_LEVEL_mm = 1.0  # tolerance: heights of what a flat wire bears on: pads take up the rest
_TOUCHES_mm = 0.6  # tolerance: above its lowest point, what touches the table
_TURN_IN_mm = 9.0  # tolerance: along the foot, from a lip to where the wire has come under it: two easy bends
_RIM_cos = 0.7  # tolerance: how squarely a narrow rim looks down on the wire
_ROUND = HoldRules().foot_round_ratio


@lru_cache(maxsize=4)
def round_foot(scene: Scene) -> tuple[F64, float] | None:
    """Return the middle (x, z) and the radius of a foot that is round from below; None where it is not."""
    from scipy.spatial import ConvexHull, QhullError

    points = scene.view.vertices_mm
    low = points[points[:, 1] < scene.low_mm[1] + _TOUCHES_mm][:, [0, 2]]
    if len(low) < 8:
        return None
    try:
        hull = ConvexHull(low)
    except QhullError:
        return None
    roundness = 4 * math.pi * float(hull.volume) / float(hull.area) ** 2  # in a plane: area and perimeter
    if roundness < _ROUND:
        return None
    edge = low[hull.vertices]
    return np.asarray((edge.min(axis=0) + edge.max(axis=0)) / 2), math.sqrt(float(hull.volume) / math.pi)


def foot_narrows(scene: Scene) -> float:
    """Return the width of a round foot over the object's own; infinite where it has none."""
    foot = round_foot(scene)
    return math.inf if foot is None else 2 * foot[1] / float(max(scene.size_mm[0], scene.size_mm[2]))


@lru_cache(maxsize=4)
def foot_rings(scene: Scene) -> tuple[Contact, ...]:
    """Return the rings that lie flat under a round foot, the likeliest first."""
    foot = round_foot(scene)
    if foot is None or scene.loads.weight_N > scene.rules.shelf_most_N:
        return ()
    for inward in _INWARD_mm:
        for lips_at in _LIPS_AT_deg:
            found = _ring(scene, *foot, inward, lips_at)
            if found is not None and scene.bends(found):
                return (found,)
    return ()


def _ring(scene: Scene, middle: F64, radius_mm: float, inward_mm: float, lips_at_deg: float) -> Contact | None:
    """A ring so far in from the foot's edge, its lips so far to either side of the front."""
    if radius_mm - inward_mm < 4 * scene.lift_mm:
        return None
    turns = np.radians(np.linspace(lips_at_deg, 360.0 - lips_at_deg, 2 * _PADS + 1)[1::2])
    ways = np.column_stack([np.sin(turns), np.zeros(len(turns)), np.cos(turns)])
    under = np.array([middle[0], scene.low_mm[1] - 5.0, middle[1]]) + (radius_mm - inward_mm) * ways
    hit = scene.cast(under, np.array([0.0, 1.0, 0.0]))
    level = hit.met & (hit.points_mm[:, 1] < scene.low_mm[1] + _LEVEL_mm) & (hit.outward[:, 1] < -0.8)
    bears = either(scene.seats(Hit(hit.points_mm, hit.outward, level), scene.pad_radii_mm), _on_rim(scene, hit))
    if int(bears.sits.sum()) < _PADS - 1:
        return None
    lips = _lips(scene, middle, lips_at_deg)
    if lips is None:
        return None
    around = (radius_mm - inward_mm) * float(turns[1] - turns[0])
    behind_first = sorted(np.flatnonzero(bears.sits).tolist(), key=lambda i: abs(i - _PADS // 2))  # by its stem
    faces = (*(bears.face(i, scene.bears_N(bears, i, around)) for i in behind_first),
             *(lips.face(i, scene.limit_N(lips, i)) for i in (0, 1)))
    low = float(hit.points_mm[level, 1].min()) - scene.lift_mm
    corners, outs = _corners(scene, middle, radius_mm - inward_mm, lips, low, lips_at_deg)
    return as_loop(scene, scene.contact(faces, "lipped"), corners, outs, corners[len(corners) // 2])


def _on_rim(scene: Scene, hit: Hit) -> Seats:
    """The same where the foot is a rim too narrow for a pad: the wire bears along it."""
    count = len(hit.points_mm)
    radius = np.full(count, LEAST_PAD_mm)
    sits = hit.met & (hit.points_mm[:, 1] < scene.low_mm[1] + _TOUCHES_mm) & (hit.outward[:, 1] < -_RIM_cos)
    sits &= scene.allowed(hit.points_mm @ scene.view.rotation, radius)
    return Seats(hit.points_mm, np.tile([0.0, 1.0, 0.0], (count, 1)), radius, sits)


def _lips(scene: Scene, middle: F64, lips_at_deg: float) -> Seats | None:
    """Where the two ends bear on the foot's wall, the lowest that takes their pads."""
    turn = math.radians(lips_at_deg)
    ways = np.array([[-math.sin(turn), 0.0, math.cos(turn)], [math.sin(turn), 0.0, math.cos(turn)]])
    for height in _LIPS_mm:
        start = np.array([middle[0], scene.low_mm[1] + height, middle[1]]) + 500.0 * ways
        hit = scene.cast(start, -ways)
        facing = np.einsum("nk,nk->n", hit.outward, ways) > 0.6
        seats = scene.seats(Hit(hit.points_mm, hit.outward, hit.met & facing), (scene.lip_radius_mm,))
        if seats.sits.all():
            return seats
    return None


def _corners(scene: Scene, middle: F64, ring_mm: float, lips: Seats, low_mm: float, lips_at_deg: float
             ) -> tuple[F64, F64]:
    """The wire's corners, from one lip's top round behind to the other's, and for each run the way to the wire."""
    from_deg = lips_at_deg + math.degrees(_TURN_IN_mm / ring_mm)
    turns = np.radians(np.linspace(-from_deg, from_deg - 360.0, _STEPS))
    arc = np.column_stack([middle[0] + ring_mm * np.sin(turns), np.full(_STEPS, low_mm),
                           middle[1] + ring_mm * np.cos(turns)])
    ends = lips.points_mm - scene.lift_mm * lips.normals
    tops, bottoms = ends.copy(), ends.copy()
    tops[:, 1] += lips.radius_mm
    bottoms[:, 1] = low_mm
    down = np.array([0.0, -1.0, 0.0])
    corners = np.vstack([tops[0], bottoms[0], arc, bottoms[1], tops[1]])
    outs = np.vstack([-lips.normals[0], np.tile(down, (_STEPS + 1, 1)), -lips.normals[1]])
    return corners, outs
