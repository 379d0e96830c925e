"""The skin of a solid as a mesh of even triangles, as reconstruction software gives it.

Naive surface nets on a grid that is only evaluated near the skin, then every vertex is pulled onto the skin.
Takes a distance function and a grid step in mm; returns (n, 3) vertices in mm and (m, 3) outward faces.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
Solid = Callable[[F64], F64]
Triple = tuple[float, float, float]

_BLOCK = 8  # grid steps to a block's edge
_SLACK = 1.6  # how far a distance function may overstate before a block with skin is missed


def _grid(solid: Solid, low: F64, counts: NDArray[np.int64], step: float) -> F64:
    """Return distances on the grid; away from the skin only their sign is right."""
    blocks = -(-counts // _BLOCK)
    corner = np.stack(np.meshgrid(*(np.arange(n) for n in blocks), indexing="ij"), -1).reshape(-1, 3)
    centre = low + (corner * _BLOCK + _BLOCK / 2) * step
    rough = solid(centre)
    values = np.repeat(np.repeat(np.repeat(
        np.where(rough < 0, -step * _BLOCK, step * _BLOCK).reshape(blocks), _BLOCK, 0), _BLOCK, 1), _BLOCK, 2)
    near = np.nonzero(np.abs(rough) < _SLACK * (_BLOCK / 2 + 1) * step * np.sqrt(3))[0]
    inner = np.stack(np.meshgrid(*[np.arange(_BLOCK)] * 3, indexing="ij"), -1).reshape(-1, 3)
    for part in np.array_split(near, max(1, len(near) // 200)):
        index = (corner[part][:, None] * _BLOCK + inner).reshape(-1, 3)
        values[tuple(index.T)] = solid(low + index * step)
    return values


def _edge_crossings(values: F64) -> tuple[F64, NDArray[np.int64], list[tuple[int, NDArray[np.bool_]]]]:
    """Return per cell the sum and number of crossings on its edges, and which grid edges cross, by axis."""
    cells = np.array(values.shape) - 1
    total, count = np.zeros((*cells, 3)), np.zeros(cells, dtype=np.int64)
    crossing = []
    for axis in range(3):
        first = np.take(values, range(values.shape[axis] - 1), axis)
        second = np.take(values, range(1, values.shape[axis]), axis)
        crosses = (first < 0) != (second < 0)
        crossing.append((axis, crosses))
        where = np.stack(np.nonzero(crosses), -1)
        a, b = first[crosses], second[crosses]
        point = where.astype(float)
        point[:, axis] += a / (a - b)
        others = [other for other in range(3) if other != axis]
        for back in itertools.product((0, 1), repeat=2):
            cell = where.copy()
            cell[:, others] -= back
            ok = ((cell >= 0) & (cell < cells)).all(1)
            np.add.at(total, tuple(cell[ok].T), point[ok])
            np.add.at(count, tuple(cell[ok].T), 1)
    return total, count, crossing


def _quads(values: F64, number: NDArray[np.int64], crossing: list[tuple[int, NDArray[np.bool_]]]) -> NDArray[np.int64]:
    rows = []
    for axis, crosses in crossing:
        u, v = (axis + 1) % 3, (axis + 2) % 3
        where = np.stack(np.nonzero(crosses), -1)
        where = where[(where[:, u] > 0) & (where[:, v] > 0)]
        where = where[(where[:, u] < number.shape[u]) & (where[:, v] < number.shape[v])]
        inside_first = values[tuple(where.T)] < 0
        corners = []
        for back_u, back_v in ((1, 1), (0, 1), (0, 0), (1, 0)):
            cell = where.copy()
            cell[:, u] -= back_u
            cell[:, v] -= back_v
            corners.append(number[tuple(cell.T)])
        quad = np.stack(corners, -1)
        rows.append(np.where(inside_first[:, None], quad, quad[:, ::-1]))
    return np.concatenate(rows)


def gradient(solid: Solid, points: F64, step: float) -> F64:
    """Return the unit direction in which the distance grows."""
    tetra = np.array([[1, -1, -1], [-1, -1, 1], [-1, 1, -1], [1, 1, 1]], dtype=float)
    slope = sum(corner * solid(points + corner * step)[:, None] for corner in tetra) / (4 * step)
    return np.asarray(slope / np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-9))


def skin(solid: Solid, low: Triple, high: Triple, step: float) -> tuple[F64, I32]:
    """Return the mesh of a solid inside a box. Raises ValueError where no closed skin is found."""
    start = np.array(low) - 3.37 * step  # off the origin, so that flat faces don't fall on grid points
    counts = (-(-np.ceil((np.array(high) + 3 * step - start) / step).astype(np.int64) // _BLOCK)) * _BLOCK
    values = _grid(solid, start, counts, step)
    values[np.abs(values) < 1e-9] = 1e-9
    total, count, crossing = _edge_crossings(values)
    full = count > 0
    number = np.full(full.shape, -1, dtype=np.int64)
    number[full] = np.arange(int(full.sum()))
    points = start + total[full] / count[full][:, None] * step
    quad = _quads(values, number, crossing)
    for _ in range(3):
        shift = np.clip(solid(points), -0.4 * step, 0.4 * step)
        points = points - shift[:, None] * gradient(solid, points, 0.2 * step)
    return points, _split(points, quad)


def _split(points: F64, quad: NDArray[np.int64]) -> I32:
    """Cut each quadrilateral along its shorter diagonal."""
    a, b, c, d = (points[quad[:, k]] for k in range(4))
    short = np.linalg.norm(a - c, axis=1) <= np.linalg.norm(b - d, axis=1)
    one = np.where(short[:, None], quad[:, [0, 1, 2]], quad[:, [0, 1, 3]])
    two = np.where(short[:, None], quad[:, [0, 2, 3]], quad[:, [1, 2, 3]])
    return np.asarray(np.stack([one, two], 1).reshape(-1, 3), dtype=np.int32)


def moments(points: F64, faces: I32) -> tuple[float, F64]:
    """Return volume and centre of a closed mesh: sums of signed tetrahedra (divergence theorem)."""
    origin = points.mean(0)
    a, b, c = (points[faces[:, k]] - origin for k in range(3))
    six = np.einsum("ij,ij->i", a, np.cross(b, c))
    volume = float(six.sum() / 6)
    return volume, np.asarray(origin + ((a + b + c) * six[:, None]).sum(0) / (24 * volume))


def face_normals(points: F64, faces: I32) -> F64:
    """Return faces' normals, as long as twice their areas."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    return np.asarray(np.cross(b - a, c - a))


def vertex_normals(points: F64, faces: I32) -> F64:
    """Return unit normals at vertices, weighted by area."""
    total = np.zeros_like(points)
    normals = face_normals(points, faces)
    for k in range(3):
        np.add.at(total, faces[:, k], normals)
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12))


def open_edges(faces: I32) -> tuple[int, int]:
    """Return how many edges have one face, and how many more than two."""
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    return int((counts == 1).sum()), int((counts > 2).sum())
