"""Spots spread evenly over a skin, the same every time.

Takes a working mesh in mm; gives points and outward normals. Used wherever a stage asks something of the whole surface.
"""

from __future__ import annotations

import numpy as np

from scanprep.scan.mesh import WorkingMesh
from scanprep.vectors import F64


def skin_samples(skin: WorkingMesh, count: int, seed: int = 1) -> tuple[F64, F64]:
    """Return points (count, 3) evenly spread by area, and the outward unit normal of the face under each."""
    a, b, c = (skin.vertices_mm[skin.faces[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    double = np.linalg.norm(cross, axis=1)
    ends = np.cumsum(double)
    rng = np.random.default_rng(seed)
    # One spot in each of `count` equal steps along the summed area: evener than free draws.
    place = (np.arange(count) + rng.random(count)) / count * ends[-1]
    face = np.minimum(np.searchsorted(ends, place, side="right"), len(ends) - 1)
    root, along = np.sqrt(rng.random(count)), rng.random(count)
    points = (a[face] * (1 - root)[:, None] + b[face] * (root * (1 - along))[:, None]
              + c[face] * (root * along)[:, None])
    normals = cross[face] / np.maximum(double[face], 1e-300)[:, None]
    return points, normals
