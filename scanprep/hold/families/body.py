"""What of an object is its body, and what stands out from it: a head, a muzzle, a tail, an arm, a spout.

A mountmaker holds the body, where it is thick and plain: a claw on a muzzle or round a rump's tail is never broken off,
and still nobody would put it there while the body has a place. As a sieve tells limbs from a body (`places.limbs`), but
with a larger ball, in the round and on the outline that the viewer sees: a plate has no trunk, but an outline that
has one. A preference, no ban. Display frame, mm.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from scanprep.hold.families.scene import Bools, Scene
from scanprep.hold.places.limbs import beyond_trunk
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_BALL = HoldRules().body_ball_ratio
_LEAST = 0.5  # tolerance: of the outline's area: where the balls reach less of it, it has no body to prefer
_RAISED, _MOST_RAISED = 0.1, 0.5  # tolerance: of the height, off the table; of the width, where it is
_CORNER = 0.45  # exact: a disc in a square's corner stays 0.41 of its radius off it


def off_body(scene: Scene, points_mm: F64) -> Bools:
    """Return which places (n, 3) of the surface lie on what stands out from the body."""
    off, far_mm = _off_mm(scene)
    front = scene.view.front
    column = np.clip(((points_mm[:, 0] - front.left_mm) / front.pitch_mm).astype(int), 0, off.shape[1] - 1)
    row = np.clip(((points_mm[:, 1] - front.low_mm) / front.pitch_mm).astype(int), 0, off.shape[0] - 1)
    beyond = beyond_trunk(scene.view.body, scene.rules).near(points_mm @ scene.view.rotation)
    return np.asarray(beyond | (off[row, column] > far_mm))


@lru_cache(maxsize=4)
def on_legs(scene: Scene) -> bool:
    """Return whether it stands on legs: under most of its width, as the viewer sees it, there is air."""
    inside = np.isfinite(scene.view.front.front_mm)
    columns = inside.any(axis=0)
    raised_mm = np.argmax(inside[:, columns], axis=0) * scene.view.front.pitch_mm
    clear_mm = max(_RAISED * float(scene.size_mm[1]), scene.rules.base_rise_mm)
    return bool(scene.stands and np.mean(raised_mm - raised_mm.min() > clear_mm) > _MOST_RAISED)


@lru_cache(maxsize=4)
def _off_mm(scene: Scene) -> tuple[F64, float]:
    """How far each pixel lies from where the disc reaches, and how far is off the body."""
    from scipy.ndimage import distance_transform_edt

    front = scene.view.front
    inside = np.isfinite(front.front_mm)
    room = distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1] * front.pitch_mm
    ball_mm = _BALL * float(room.max())
    middles = room >= ball_mm
    to_middle = distance_transform_edt(~middles) * front.pitch_mm
    off = np.maximum(to_middle - ball_mm, 0.0)
    far_mm = _CORNER * ball_mm + 2 * front.pitch_mm
    if float((inside & (off <= far_mm)).sum()) < _LEAST * float(inside.sum()):
        return np.zeros_like(off), far_mm
    return np.asarray(off), far_mm
