"""Distance to a triangle mesh and inside or outside, written out apart from the library's ray scenes.

Distance: closest point on a triangle by its Voronoi regions (Ericson, Real-Time Collision Detection, 2005, 5.1.5).
Inside: the sum of the solid angles of all triangles over 4 pi (Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30,
1983): 1 inside a closed surface, 0 outside.
"""

from __future__ import annotations

import numpy as np


def winding_numbers(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """How often a closed surface, corners (m, 3, 3), goes round each point (n, 3)."""
    found = np.empty(len(points))
    for k, point in enumerate(points):
        a, b, c = (corners[:, i] - point for i in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        over = np.einsum("ij,ij->i", a, np.cross(b, c))
        under = (la * lb * lc + np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la
                 + np.einsum("ij,ij->i", c, a) * lb)
        found[k] = 2 * np.arctan2(over, under).sum() / (4 * np.pi)
    return found


def distances(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Least distance of each point (n, 3) to any of the triangles, corners (m, 3, 3)."""
    return np.array([np.sqrt(_squared(point, corners).min()) for point in points])


def _squared(point: np.ndarray, corners: np.ndarray) -> np.ndarray:
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    edges = np.min([_to_edge(point, p, q) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    normal = np.cross(b - a, c - a)
    size = np.einsum("ij,ij->i", normal, normal)
    good = size > 0
    height = np.einsum("ij,ij->i", point - a, normal)
    foot = point - np.divide(height, size, out=np.zeros_like(size), where=good)[:, None] * normal
    over = good.copy()
    for p, q in ((a, b), (b, c), (c, a)):
        over &= np.einsum("ij,ij->i", np.cross(q - p, foot - p), normal) >= 0
    plane = np.divide(height**2, size, out=np.full_like(size, np.inf), where=good)
    return np.where(over, plane, edges)


def _to_edge(point: np.ndarray, p: np.ndarray, q: np.ndarray) -> np.ndarray:
    run = q - p
    size = np.maximum(np.einsum("ij,ij->i", run, run), 1e-30)
    t = np.clip(np.einsum("ij,ij->i", point - p, run) / size, 0, 1)
    away = p + t[:, None] * run - point
    return np.asarray(np.einsum("ij,ij->i", away, away))
