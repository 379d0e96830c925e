"""The shadow of a mesh on the display plane, as polygons.

Rays on a lattice say which cells lie in the shadow; the edge is walked between cells, and each of its corners is then
pulled onto the true edge by halving the step between an inner and an outer ray. So they are true to a hundredth of the
pitch; between them the error is a chord's sagitta, and a sharp corner inside a cell is cut by less than a pitch.
Slits narrower than the lattice may close.
Takes mm in any frame and a (3, 3) turn to the display frame (x viewer's right, y up, z to the viewer). Used by the case
checks and the papers.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.rays import RayScene
from scanprep.vectors import F64, I32, check_shape

_MOST_RAYS = 400_000  # tolerance: assumed: rays of one outline, for memory
_HALVINGS = 6  # tolerance: to 1/64 of a cell
#: tolerance: For each of 16 patterns of the cell's corners (1 lower left, 2 lower right, 4 upper right, 8 upper left in
#: shadow): edges (0 bottom, 1 right, 2 top, 3 left) that the boundary runs from and to, shadow on its left.
_WALKS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((0, 3),), 2: ((1, 0),), 3: ((1, 3),), 4: ((2, 1),), 5: ((0, 3), (2, 1)), 6: ((2, 0),), 7: ((2, 3),),
    8: ((3, 2),), 9: ((0, 2),), 10: ((1, 0), (3, 2)), 11: ((1, 2),), 12: ((3, 1),), 13: ((0, 1),), 14: ((3, 0),),
}


def outline_polygons_mm(vertices_mm: F64, faces: I32, rotation: F64, resolution_mm: float = 0.3, *,
                        openings: bool = False) -> tuple[F64, ...]:
    """Return the outer rings of a mesh's shadow, largest first; each (k, 2) mm, counter-clockwise, x right and y up.

    openings       True: rings of openings too, clockwise, after the outer ones

    vertices_mm    (n, 3) any frame; the rings are in rotation @ vertex
    rotation       (3, 3) turn to the display frame
    resolution_mm  lattice pitch: parts and gaps narrower than this may be lost; grown where it would take more than
                   400 000 rays

    Raises ValueError when an array has another shape.
    """
    check_shape("vertices_mm", vertices_mm, (-1, 3))
    check_shape("rotation", rotation, (3, 3))
    turned = np.asarray(vertices_mm @ rotation.T, dtype=np.float64)
    middle = (turned.min(axis=0) + turned.max(axis=0)) / 2
    local = turned - middle
    scene = RayScene([(local, faces)])
    half = np.abs(local).max(axis=0)
    pitch = max(resolution_mm, float(np.sqrt(4 * half[0] * half[1] / _MOST_RAYS)), 1e-6)
    count = np.ceil(2 * half[:2] / pitch).astype(int) + 3
    start = -(count - 1) * pitch / 2
    x, y = (start[k] + pitch * np.arange(count[k]) for k in range(2))
    grid = np.stack(np.meshgrid(x, y, indexing="xy"), axis=-1).reshape(-1, 2)
    mask = _in_shadow(scene, grid, float(half[2])).reshape(len(y), len(x))
    rings = []
    for inner, outer in _boundary(mask):
        ring = _pulled(scene, start + pitch * inner, start + pitch * outer, float(half[2]))
        ring = _thinned(ring, 0.02 * pitch)
        if len(ring) > 2 and (_area(ring) > 0 or (openings and _area(ring) < 0)):
            rings.append(ring + middle[:2])
    return tuple(sorted(rings, key=_area, reverse=True))


def _in_shadow(scene: RayScene, points: F64, half_depth: float) -> NDArray[np.bool_]:
    origins = np.column_stack([points, np.full(len(points), half_depth + 1.0)])
    return scene.blocked(origins, np.array([0.0, 0.0, -1.0]))


def _boundary(mask: NDArray[np.bool_]) -> list[tuple[F64, F64]]:
    """Walk the mask's edge. Return per ring the lattice points just inside and just outside (k, 2), x first."""
    m = mask.astype(np.int8)
    pattern = m[:-1, :-1] + 2 * m[:-1, 1:] + 4 * m[1:, 1:] + 8 * m[1:, :-1]
    onward: dict[tuple[int, int, int], tuple[int, int, int]] = {}
    for row, column in np.argwhere((pattern > 0) & (pattern < 15)):
        for leave, arrive in _WALKS[int(pattern[row, column])]:
            onward[_edge(row, column, leave)] = _edge(row, column, arrive)
    rings = []
    while onward:
        first, here = next(iter(onward.items()))
        ring = [first]
        del onward[first]
        while here != first:
            ring.append(here)
            here = onward.pop(here)
        rings.append(_ends(np.array(ring), mask))
    return rings


def _edge(row: int, column: int, side: int) -> tuple[int, int, int]:
    """Return an edge of a cell as (row, column, 0 for along x or 1 for along y) of its lower left lattice point."""
    return ((int(row), int(column), 0), (int(row), int(column) + 1, 1), (int(row) + 1, int(column), 0),
            (int(row), int(column), 1))[side]


def _ends(edges: NDArray[np.int64], mask: NDArray[np.bool_]) -> tuple[F64, F64]:
    first = edges[:, :2]
    second = first + np.where(edges[:, 2:] == 0, [[0, 1]], [[1, 0]])
    shaded = mask[first[:, 0], first[:, 1]][:, None]
    inner, outer = np.where(shaded, first, second), np.where(shaded, second, first)
    return inner[:, ::-1].astype(np.float64), outer[:, ::-1].astype(np.float64)


def _pulled(scene: RayScene, inner: F64, outer: F64, half_depth: float) -> F64:
    for _ in range(_HALVINGS):
        middle = (inner + outer) / 2
        shaded = _in_shadow(scene, middle, half_depth)[:, None]
        inner, outer = np.where(shaded, middle, inner), np.where(shaded, outer, middle)
    return (inner + outer) / 2


def _thinned(ring: F64, tolerance_mm: float) -> F64:
    """Drop corners that lie on the straight line between their neighbours, every other one at a time."""
    before = len(ring) + 1
    while 8 < len(ring) < before:
        before = len(ring)
        for parity in (0, 1):
            ahead, behind = np.roll(ring, -1, axis=0), np.roll(ring, 1, axis=0)
            along = ahead - behind
            length = np.maximum(np.linalg.norm(along, axis=1), 1e-12)
            off = np.abs(along[:, 0] * (ring[:, 1] - behind[:, 1]) - along[:, 1] * (ring[:, 0] - behind[:, 0])) / length
            drop = (off < tolerance_mm) & (np.arange(len(ring)) % 2 == parity)
            drop[-1] = False  # beside corner 0, of the same parity where the count is odd
            ring = ring[~drop]
    return ring


def _area(ring: F64) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
