"""Hollows that open below: where a peg or a spring goes up into an object and nothing of it is seen from the front.

Display frame, mm. Used by the socket, and by the cradle, which suits such an object less.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.scene import Scene
from scanprep.vectors import F64

_CELLS = 48  # tolerance: over the longer level side, in which a hollow is sought


@dataclass(frozen=True, slots=True, eq=False)
class Hollow:
    """A hollow that opens below: its axis, how wide it is about that and how deep."""

    at_mm: F64  # (2,) x and z of the middle of its widest place
    radius_mm: float  # of the widest circle that goes up into it
    depth_mm: float


@lru_cache(maxsize=4)
def hollow_below(scene: Scene) -> Hollow | None:
    """Return the hollow that opens below, where a wire can turn in it; None where there is none."""
    from scipy.ndimage import distance_transform_edt

    pitch = float(max(scene.size_mm[0], scene.size_mm[2])) / _CELLS
    x = np.arange(scene.low_mm[0] - pitch / 2, scene.high_mm[0] + pitch, pitch)
    z = np.arange(scene.low_mm[2] - pitch / 2, scene.high_mm[2] + pitch, pitch)
    across, deep = np.meshgrid(x, z, indexing="ij")
    below = np.full(across.size, scene.low_mm[1] - 5.0)
    hit = scene.cast(np.column_stack([across.ravel(), below, deep.ravel()]), np.array([0.0, 1.0, 0.0]))
    rise = np.where(hit.met, hit.points_mm[:, 1] - scene.low_mm[1], 0.0).reshape(across.shape)
    inside = rise > max(scene.rules.socket_least_mm, 0.15 * float(scene.size_mm[1]))
    room = distance_transform_edt(inside) * pitch
    best = np.unravel_index(int(room.argmax()), room.shape)
    radius = float(room[best]) - pitch / 2
    if radius < 2 * scene.lift_mm or not _closed_round(scene, x[best[0]], z[best[1]], float(rise[best])):
        return None
    return Hollow(np.array([x[best[0]], z[best[1]]]), radius, float(rise[best]))


def _closed_round(scene: Scene, x_mm: float, z_mm: float, depth_mm: float) -> bool:
    """Whether walls stand round a place on all sides, so that it is a hollow and no room between legs."""
    turns = np.radians(np.arange(0, 360, 30))
    ways = np.column_stack([np.sin(turns), np.zeros(len(turns)), np.cos(turns)])
    at = np.tile([x_mm, scene.low_mm[1] + 0.3 * depth_mm, z_mm], (len(turns), 1))
    return bool(scene.cast(at, ways).met.all())


def peg_suits(scene: Scene) -> float:
    """Return how well an object hangs on what goes up into it: deep, or at least as deep as wide, as for a peg."""
    hollow = hollow_below(scene)
    if hollow is None:
        return 0.0
    hangs = hollow.depth_mm / (scene.rules.socket_deep_ratio * float(scene.size_mm[1]))
    return float(np.clip(max(hangs, hollow.depth_mm / (2 * hollow.radius_mm)), 0.0, 1.0))
