"""Rims: edges of a dish, a plate or a shell that flares, as sturdy as the wall that they end.

Across a wall a flaring rim is as thin as an ear; what tells it from one is that it goes on smoothly to both sides and
that the viewer sees much of the object behind it, where an ear, a tooth or a tail ends at once. Display frame, mm.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.families.scene import Bools, Scene
from scanprep.hold.places.limbs import limbs_of
from scanprep.vectors import F64

_ALONG, _ALONG_LEAST_mm = 0.06, 6.0  # tolerance: of the size, how far to either side a rim runs on
_SMOOTH = 0.8  # tolerance: cosine of the most that it turns within that
_BEHIND = 0.3  # tolerance: of the smaller of width and height, how deep the object lies behind it
_STEPS = 12  # tolerance: places looked at on the way in


def rims(scene: Scene, points_mm: F64, outward: F64, opening: NDArray[np.int64], middle_z_mm: F64) -> Bools:
    """Return which places (n,) of an outline lie on a rim.

    points_mm, outward  (n, 2) as in `Outline`; middle_z_mm (n,) how deep the edge lies there
    """
    reach = max(_ALONG * float(scene.size_mm[:2].max()), _ALONG_LEAST_mm)
    outer = opening == 0
    to = points_mm[None] - points_mm[:, None]
    near = (np.linalg.norm(to, axis=2) <= reach) & outer[None]
    alike = np.einsum("nk,mk->nm", outward, outward) >= _SMOOTH
    along = np.einsum("nmk,nk->nm", to, np.column_stack([-outward[:, 1], outward[:, 0]]))
    goes_on = (near & (along > 0.3 * reach)).any(axis=1) & (near & (along < -0.3 * reach)).any(axis=1)
    smooth = (alike | ~near).all(axis=1) & goes_on & outer
    depth = _BEHIND * float(scene.size_mm[:2].min())
    steps = np.linspace(0.0, depth, _STEPS + 1)[1:]
    inner = points_mm[:, None] - steps[None, :, None] * outward[:, None]
    front = scene.view.front
    column = ((inner[..., 0] - front.left_mm) / front.pitch_mm).astype(int)
    row = ((inner[..., 1] - front.low_mm) / front.pitch_mm).astype(int)
    high, wide = front.front_mm.shape
    seen = np.isfinite(front.front_mm[np.clip(row, 0, high - 1), np.clip(column, 0, wide - 1)]).all(axis=1)
    found = np.asarray(smooth & seen)
    which = np.flatnonzero(found)
    limb = limbs_of(scene.view.body, scene.rules).near(
        np.column_stack([points_mm[which], middle_z_mm[which]]) @ scene.view.rotation)
    found[which] = ~limb
    return found
