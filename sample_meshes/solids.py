"""Solids as distance functions: negative inside, positive outside, mm. What the objects are carved from.

A solid is a function from (n, 3) points to (n,) distances, true or a little shy of true. Model frame: x to the right,
y up, z towards the front. `surface.skin` turns a solid into a mesh.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

F64 = NDArray[np.float64]
Solid = Callable[[F64], F64]
Pair = tuple[float, float]
Triple = tuple[float, float, float]


def polygon_distance(points: F64, corners: F64) -> F64:
    """Return the signed distance of (n, 2) points to a closed polygon, negative inside."""
    nearest = np.full(len(points), np.inf)
    inside = np.zeros(len(points), dtype=bool)
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        edge = end - start
        if not edge.any():
            continue
        away = points - start
        along = np.clip((away @ edge) / (edge @ edge), 0, 1)
        nearest = np.minimum(nearest, ((away - along[:, None] * edge) ** 2).sum(1))
        crosses = (points[:, 1] >= start[1]) != (points[:, 1] >= end[1])
        side = away[:, 0] * edge[1] - away[:, 1] * edge[0]
        inside ^= crosses & ((side < 0) == (edge[1] > 0))
    return np.asarray(np.sqrt(nearest) * np.where(inside, -1.0, 1.0))


def curve(knots: Sequence[Pair], count: int = 60, closed: bool = False) -> F64:
    """Return points on a smooth curve through knots, evenly spaced in the knots' chord length."""
    through = np.array([*knots, knots[0]] if closed else knots, dtype=float)
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(through, axis=0), axis=1))])
    if closed:
        pad = np.concatenate([through[-4:-1], through, through[1:4]])
        steps = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(pad, axis=0), axis=1))])
        at = np.linspace(steps[3], steps[-4], count, endpoint=False)
        return np.asarray(PchipInterpolator(steps, pad)(at))
    return np.asarray(PchipInterpolator(length, through)(np.linspace(0, length[-1], count)))


def turned(profile: Sequence[Pair] | F64) -> Solid:
    """Return the solid of revolution about y of a closed (radius, height) outline."""
    corners = np.asarray(profile, dtype=float)

    def distance(p: F64) -> F64:
        return polygon_distance(np.column_stack([np.hypot(p[:, 0], p[:, 2]), p[:, 1]]), corners)

    return distance


def wall(outside: Sequence[Pair], thickness: float, floor: float, count: int = 50) -> tuple[F64, F64]:
    """Return the outer solid's outline and the cavity's, from an outer curve of (radius, height), foot to rim."""
    outer = curve(outside, count)
    slope = np.gradient(outer, axis=0)
    normal = np.column_stack([slope[:, 1], -slope[:, 0]]) / np.linalg.norm(slope, axis=1, keepdims=True)
    inner = outer - thickness * normal
    inner = inner[(inner[:, 1] > floor + outer[0, 1]) & (inner[:, 0] > 0.3)]
    solid = np.vstack([[0, outer[0, 1]], outer, [0, outer[-1, 1]]])
    top = outer[-1, 1] + 10
    cavity = np.vstack([[0, floor + outer[0, 1]], [inner[0, 0] * 0.85, floor + outer[0, 1]], inner,
                        [inner[-1, 0], top], [0, top]])
    return solid, cavity


def slab(corners: Sequence[Pair] | F64, half: float, edge: float = 0.0) -> Solid:
    """Return a plate: an outline in x, y, from z -half to +half, its edges rounded by `edge`."""
    outline = np.asarray(corners, dtype=float)

    def distance(p: F64) -> F64:
        flat = polygon_distance(p[:, :2], outline) + edge
        deep = np.abs(p[:, 2]) - half + edge
        beyond = np.hypot(np.maximum(flat, 0), np.maximum(deep, 0))
        return np.asarray(np.minimum(np.maximum(flat, deep), 0) + beyond - edge)

    return distance


def box(centre: Triple, size: Triple, edge: float = 0.0) -> Solid:
    """Return a block with rounded edges; size is its whole edge lengths."""

    def distance(p: F64) -> F64:
        q = np.abs(p - centre) - np.array(size) / 2 + edge
        return np.asarray(np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(1), 0) - edge)

    return distance


def ball(centre: Triple, radius: float) -> Solid:
    """Return a ball."""
    return lambda p: np.asarray(np.linalg.norm(p - centre, axis=1) - radius)


def egg(centre: Triple, radii: Triple) -> Solid:
    """Return an ellipsoid; its distance is first-order true."""
    r = np.array(radii, dtype=float)

    def distance(p: F64) -> F64:
        q = (p - centre) / r
        k0, k1 = np.linalg.norm(q, axis=1), np.linalg.norm(q / r, axis=1)
        return np.asarray(np.where(k1 > 1e-12, k0 * (k0 - 1) / np.maximum(k1, 1e-12), -r.min()))

    return distance


def hoop(radius: float, tube: float, flat: float = 1.0) -> Solid:
    """Return a ring about y; `flat` squeezes its section along y."""
    return lambda p: np.asarray(
        np.hypot(np.hypot(p[:, 0], p[:, 2]) - radius, p[:, 1] / flat) * min(1.0, flat) - tube * min(1.0, flat))


def limb(path: Sequence[Triple], radii: Sequence[float], soft: float = 0.0) -> Solid:
    """Return a chain of rounded cones through points, the radius running from one to the next."""
    points = [np.array(point, dtype=float) for point in path]

    def distance(p: F64) -> F64:
        best: F64 | None = None
        for a, b, ra, rb in zip(points, points[1:], radii, radii[1:]):
            along = np.clip(((p - a) @ (b - a)) / max(float((b - a) @ (b - a)), 1e-12), 0, 1)
            d = np.linalg.norm(p - a - along[:, None] * (b - a), axis=1) - (ra + along * (rb - ra))
            best = d if best is None else smooth_min(best, d, soft)
        assert best is not None
        return best

    return distance


def rod(path: Sequence[Triple], radii: Sequence[float], count: int = 24) -> Solid:
    """Return a smoothly bent rod through points, its radius running smoothly as well."""
    through = np.array(path, dtype=float)
    closed = bool(np.allclose(through[0], through[-1]))
    at = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(through, axis=0), axis=1))])
    fine = np.linspace(0, at[-1], count)
    points = CubicSpline(at, through, bc_type="periodic" if closed else "natural")(fine)
    thick = np.interp(fine, at, radii)
    return limb([(float(x), float(y), float(z)) for x, y, z in points], thick.tolist())


def smooth_min(a: F64, b: F64, soft: float) -> F64:
    """Return the lesser of two distances, blended over `soft` mm."""
    if soft <= 0:
        return np.asarray(np.minimum(a, b))
    h = np.maximum(soft - np.abs(a - b), 0) / soft
    return np.asarray(np.minimum(a, b) - h * h * soft / 4)


def joined(*solids: Solid, soft: float = 0.0) -> Solid:
    """Return solids as one, with fillets of about `soft` mm."""

    def distance(p: F64) -> F64:
        d = solids[0](p)
        for other in solids[1:]:
            d = smooth_min(d, other(p), soft)
        return d

    return distance


def cut(solid: Solid, *tools: Solid, soft: float = 0.0) -> Solid:
    """Return a solid with others taken away."""

    def distance(p: F64) -> F64:
        d = solid(p)
        for tool in tools:
            d = -smooth_min(-d, tool(p), soft)
        return d

    return distance


def within(solid: Solid, *others: Solid, soft: float = 0.0) -> Solid:
    """Return what lies inside all of several solids."""

    def distance(p: F64) -> F64:
        d = solid(p)
        for other in others:
            d = -smooth_min(-d, -other(p), soft)
        return d

    return distance


def raised(solid: Solid, height: Solid) -> Solid:
    """Return a solid whose skin is lifted by a height in mm at each place: relief, wear, corrosion."""
    return lambda p: np.asarray(solid(p) - height(p))


def moved(solid: Solid, shift: Triple = (0, 0, 0), turn: F64 | None = None) -> Solid:
    """Return a solid turned by a (3, 3) rotation, then shifted."""
    back = np.eye(3) if turn is None else turn
    return lambda p: solid((p - np.array(shift)) @ back)


def half_space(point: Triple, outward: Triple) -> Solid:
    """Return everything behind a plane."""
    n = np.array(outward) / np.linalg.norm(outward)
    return lambda p: np.asarray((p - np.array(point)) @ n)
