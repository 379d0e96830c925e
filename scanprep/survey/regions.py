"""Which points lie in a region that a person drew: a box, a ball, one side of a plane, or a painted colour.

Takes points in scan axes, mm. Used for parts of other material, and by anyone who keeps off no-touch regions.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.brief import Region
from scanprep.scan.mesh import WorkingMesh
from scanprep.vectors import F64, check_shape

COLOUR_REACH = 40  # tolerance: of 255 in each channel, as `brief.Region` says


def in_region(points_mm: F64, region: Region, skin: WorkingMesh | None = None) -> NDArray[np.bool_]:
    """Return which points (n, 3) lie in a region, its border included.

    skin  for a "colour" region: a point belongs to it when the skin's nearest vertex is painted so

    Raises ValueError for an unknown kind, a plane without normal, or a colour region without a skin.
    """
    check_shape("points_mm", points_mm, (-1, 3))
    off = points_mm - np.asarray(region.centre_mm)
    if region.kind == "box":
        return np.asarray((np.abs(off) <= np.asarray(region.size_mm) / 2).all(axis=1))
    if region.kind == "ball":
        return np.asarray(np.linalg.norm(off, axis=1) <= region.size_mm[0])
    if region.kind == "plane":
        if not any(region.normal):
            raise ValueError("a plane region needs a normal; the region lies on the side it points to")
        return np.asarray(off @ np.asarray(region.normal) >= 0)
    if region.kind == "colour":
        return _painted(points_mm, region.colour, skin)
    raise ValueError(f"a region is a box, ball, plane or colour; got {region.kind!r}")


def _painted(points_mm: F64, colour: tuple[int, int, int], skin: WorkingMesh | None) -> NDArray[np.bool_]:
    from scipy.spatial import cKDTree

    if skin is None:
        raise ValueError("a colour region needs the skin that carries the colours")
    painted = (np.abs(skin.colours.astype(np.int16) - np.array(colour, np.int16)) <= COLOUR_REACH).all(axis=1)
    nearest = np.asarray(cKDTree(skin.vertices_mm).query(points_mm)[1], dtype=np.int64)
    return np.asarray(np.asarray(painted)[nearest])
