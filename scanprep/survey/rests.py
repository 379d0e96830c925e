"""All the ways an object can stand on a table: which way is up, how likely, how far it can be tilted.

The convex hull is all that a table ever touches. Let go, an object turns until its centre of mass is lowest: for a
direction `down` the centre stands h(down) above the table (the hull's support function), and rests are the hollows of
h. A hull facet rolls over the edge nearest the centre's foot until the foot lies inside. Hollows parted by a ridge
lower than scan noise are one rest (a foot with a thousand bumps; a cylinder's side, which rolls).
Takes mm and gives mm and degrees, in the mesh's own axes. Used by `survey.upright` and the survey itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.survey.records import Rest
from scanprep.vectors import F64, I32, rotation_to, unit, vec3

# tolerance: of the diagonal: a ridge or gap below this is scan noise (assumed: 0.2 mm on a 160 mm object)
NOISE_SHARE = 0.0012
# tolerance: of the diagonal: what comes this near the table touches it; assumed: bases are uneven, 0.3 mm
_TOUCH_SHARE = 0.0025
_LEAST_SHARE = 0.002  # tolerance: rests that fewer landings reach are left out unless they are all there is; assumed
# tolerance: fine near standing, where rests are lost, coarse beyond
_TILTS_DEG = np.concatenate([np.arange(0.0, 6.0, 0.4), np.arange(6.0, 30.0, 1.0), np.arange(30.0, 91.0, 2.0)])
_AZIMUTHS = 36  # tolerance: every 10 deg


@dataclass(frozen=True, slots=True, eq=False)
class Hull:
    """A convex hull, its origin at the centre of mass (or wherever `about` put it)."""

    points_mm: F64  # (n, 3) corners
    triangles: I32  # (m, 3) outward
    neighbours: I32  # (m, 3) the triangle across the edge opposite each corner
    normals: F64  # (m, 3) unit, outward
    height_mm: F64  # (m,) distance of each triangle's plane from the origin
    diagonal_mm: float

    def about(self, shift_mm: F64) -> Hull:
        """Return the hull with its origin moved by a shift (3,)."""
        return Hull(self.points_mm - shift_mm, self.triangles, self.neighbours, self.normals,
                    self.height_mm - self.normals @ shift_mm, self.diagonal_mm)


def convex_hull(vertices_mm: F64, centre_mm: F64) -> Hull:
    """Return the hull of all vertices about a point. Raises ValueError when they lie in one plane."""
    from scipy.spatial import ConvexHull, QhullError

    local = vertices_mm - centre_mm
    try:
        found: Any = ConvexHull(local)
    except QhullError as problem:
        raise ValueError("the vertices lie in one plane: they have no hull") from problem
    number = np.full(len(local), -1, dtype=np.int32)
    number[found.vertices] = np.arange(len(found.vertices), dtype=np.int32)
    normals = unit(np.asarray(found.equations[:, :3], dtype=np.float64))
    triangles = number[found.simplices]
    points = local[found.vertices]
    neighbours = np.asarray(found.neighbors, dtype=np.int32)
    a, b, c = points[triangles[:, 0]], points[triangles[:, 1]], points[triangles[:, 2]]
    turned = np.einsum("ij,ij->i", np.cross(b - a, c - a), normals) < 0
    triangles[turned] = triangles[turned][:, [0, 2, 1]]
    neighbours[turned] = neighbours[turned][:, [0, 2, 1]]
    return Hull(points, triangles, neighbours, normals, -np.asarray(found.equations[:, 3], dtype=np.float64),
                float(np.linalg.norm(np.ptp(points, axis=0))))


def stable_rests(hull: Hull, centre_mm: F64) -> tuple[Rest, ...]:
    """Return the rests, likeliest first. The centre of mass must lie inside the hull.

    centre_mm  where the hull's origin stands in the mesh's frame: polygons come back in that frame
    """
    landing = _where_it_rolls(hull)
    share = np.bincount(landing, weights=_solid_angle_share(hull), minlength=len(hull.triangles))
    rests = []
    for group in _groups(hull, landing, NOISE_SHARE * hull.diagonal_mm):
        lowest = group[np.argmin(hull.height_mm[group])]
        rolls = _rolls(hull, group, lowest)
        rests.append(rest_of(hull, -hull.normals[lowest], centre_mm, float(share[group].sum()), rolls))
    rests.sort(key=lambda rest: -rest.share)
    kept = tuple(rest for rest in rests if rest.share >= _LEAST_SHARE)
    return kept or tuple(rests[:1])


def _rolls(hull: Hull, group: NDArray[np.int64], lowest: int) -> bool:
    """Whether a hollow is a trough: it can be rolled more than 10 degrees (assumed) without lifting the centre."""
    level = group[hull.height_mm[group] < hull.height_mm[lowest] + NOISE_SHARE * hull.diagonal_mm]
    return bool((hull.normals[level] @ hull.normals[lowest]).min() < np.cos(np.radians(10.0)))


def rest_of(hull: Hull, up: F64, centre_mm: F64, share: float, rolls: bool = False) -> Rest:
    """Return the rest with a given way up: its touching points, their polygon, and the tilt that topples it."""
    heights = hull.points_mm @ up
    lowest = float(heights.min())
    touching = hull.points_mm[heights <= lowest + _TOUCH_SHARE * hull.diagonal_mm]
    polygon, area = _ground_polygon(touching, up, lowest)
    tip_deg = 0.0 if rolls else tip_angle_deg(hull, up, polygon)
    return Rest(vec3(up), min(share, 1.0), tip_deg, area, -lowest,
                tuple(vec3(point + centre_mm) for point in polygon))


def _where_it_rolls(hull: Hull) -> NDArray[np.int64]:
    """Return for each triangle the one it comes to lie on: across the edge its centre's foot is furthest beyond."""
    corners = hull.points_mm[hull.triangles]
    foot = hull.normals * hull.height_mm[:, None]
    beyond = np.empty((len(corners), 3))
    for k in range(3):
        start, end = corners[:, (k + 1) % 3], corners[:, (k + 2) % 3]
        outward = np.cross(end - start, hull.normals)
        length = np.linalg.norm(outward, axis=1)
        beyond[:, k] = np.einsum("ij,ij->i", foot - start, outward) / np.maximum(length, 1e-300)
    furthest = beyond.argmax(axis=1)
    here = np.arange(len(corners))
    slack = 1e-9 * hull.diagonal_mm
    step = np.where(beyond[here, furthest] > slack, hull.neighbours[here, furthest], here).astype(np.int64)
    # Slivers in one plane may hand the foot round in a ring: only ever roll downhill, and stay where it is level.
    uphill = hull.height_mm[step] >= hull.height_mm - slack
    level = uphill & (hull.height_mm[step] <= hull.height_mm + slack) & (step < here)
    step = np.where(uphill & ~level, here, step)
    for _ in range(int(np.ceil(np.log2(len(step) + 1))) + 1):
        step = step[step]
    return step


def _solid_angle_share(hull: Hull) -> F64:
    """Share of all directions in which each triangle is seen from the centre (Van Oosterom and Strackee, 1983)."""
    a, b, c = (hull.points_mm[hull.triangles[:, k]] for k in range(3))
    la, lb, lc = (np.linalg.norm(p, axis=1) for p in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    bottom = (la * lb * lc + np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la
              + np.einsum("ij,ij->i", c, a) * lb)
    return np.asarray(np.abs(2 * np.arctan2(top, bottom)) / (4 * np.pi), dtype=np.float64)


def _groups(hull: Hull, landing: NDArray[np.int64], noise_mm: float) -> list[NDArray[np.int64]]:
    """Join hollows over the lowest ridges first, where the ridge stands less than noise above the higher hollow."""
    here = np.repeat(np.arange(len(landing)), 3)
    there = hull.neighbours.ravel()
    border = (here < there) & (landing[here] != landing[there])
    ridge = _ridge_mm(hull)[border]
    first, second = landing[here[border]], landing[there[border]]
    bottoms = np.unique(landing)
    head = {int(k): int(k) for k in bottoms}
    for k in np.argsort(ridge, kind="stable"):
        i, j = _head_of(head, int(first[k])), _head_of(head, int(second[k]))
        low, high = (i, j) if hull.height_mm[i] <= hull.height_mm[j] else (j, i)
        if i != j and ridge[k] - hull.height_mm[high] < noise_mm:
            head[high] = low
    heads = np.array([_head_of(head, int(k)) for k in bottoms])
    return [bottoms[heads == g] for g in np.unique(heads)]


def _head_of(head: dict[int, int], k: int) -> int:
    while head[k] != k:
        head[k] = head[head[k]]
        k = head[k]
    return k


def _ridge_mm(hull: Hull) -> F64:
    """Return for each triangle and each of its edges the centre's greatest height while rolling over that edge."""
    corners = hull.points_mm[hull.triangles]
    ridge = np.empty((len(corners), 3))
    for k in range(3):
        start, edge = corners[:, (k + 1) % 3], corners[:, (k + 2) % 3] - corners[:, (k + 1) % 3]
        along = np.einsum("ij,ij->i", edge, edge)
        foot = start - edge * (np.einsum("ij,ij->i", start, edge) / np.maximum(along, 1e-300))[:, None]
        other = hull.neighbours[:, k]
        # The crest is met on the way only when the foot's direction lies between the two normals.
        across = np.cross(hull.normals, hull.normals[other])
        bent = np.linalg.norm(across, axis=1) > 1e-7
        between = bent & (np.einsum("ij,ij->i", np.cross(hull.normals, foot), across) > 0) & (
            np.einsum("ij,ij->i", np.cross(foot, hull.normals[other]), across) > 0)
        higher = np.maximum(hull.height_mm, hull.height_mm[other])
        ridge[:, k] = np.where(between, np.maximum(np.linalg.norm(foot, axis=1), higher), higher)
    return ridge.ravel()


def tip_angle_deg(hull: Hull, up: F64, polygon_mm: F64) -> float:
    """Return the least tilt, in degrees, after which the object falls away from a rest; 0 where it rolls freely.

    Follows the height of the centre while tilting every 10 degrees round and square to the polygon's nearest edges:
    the tilt at its crest, where the crest stands out of the noise. For a box of half-width b and centre height h this
    is atan(b / h).

    polygon_mm  (k, 3) corners of the touching points, relative to the centre of mass
    """
    frame = rotation_to(np.array([0.0, 0.0, 1.0]), -up)
    noise = 0.35 * NOISE_SHARE * hull.diagonal_mm
    step = 360.0 / _AZIMUTHS
    ways = np.concatenate([step * np.arange(_AZIMUTHS), _edge_ways_deg(polygon_mm @ frame)])
    crests = np.array([_crest_deg(hull, frame, way, _TILTS_DEG, noise) for way in ways])
    least = float(crests.min())
    if least <= 0 or least >= _TILTS_DEG[-1]:
        return least
    # The least is a cusp, both in tilt and in way: finer tilts where it is near, then finer ways about the best.
    tilts = np.concatenate([[0.0], np.arange(max(least - 2.5, 0.0), least + 2.5, 0.05)])
    ways = ways[np.argsort(crests, kind="stable")[:16]]
    for spread in (0.5 * step, 0.1 * step):
        found = [_crest_deg(hull, frame, way, tilts, noise) for way in ways]
        ways = ways[int(np.argmin(found))] + spread * np.linspace(-1, 1, 11)
    return min(_crest_deg(hull, frame, way, tilts, noise) for way in ways)


def _edge_ways_deg(corners: F64) -> F64:
    """Return the ways square to the eight edges of a polygon that lie nearest under the centre; corners (k, 3)."""
    start = corners[:, :2]
    along = np.roll(start, -1, axis=0) - start
    length = np.linalg.norm(along, axis=1)
    start, along, length = start[length > 0], along[length > 0], length[length > 0]
    square = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, None]
    reach = np.einsum("ij,ij->i", start, square)
    square[reach < 0] *= -1
    nearest = np.argsort(np.abs(reach))[:8]
    return np.asarray(np.degrees(np.arctan2(square[nearest, 1], square[nearest, 0])), dtype=np.float64)


def _crest_deg(hull: Hull, frame: F64, azimuth_deg: float, tilts_deg: F64, noise: float) -> float:
    """Return the tilt at which the centre stands highest before it falls by more than noise; 0 if it never rose."""
    tilt, azimuth = np.radians(tilts_deg)[:, None], np.radians(azimuth_deg)
    side = frame @ np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    height = (hull.points_mm @ (np.cos(tilt) * frame[:, 2] + np.sin(tilt) * side).T).max(axis=0)
    crest = np.maximum.accumulate(height)
    falls = np.flatnonzero(crest - height > noise)
    top = int(np.argmax(height[: int(falls[0])] if len(falls) else height))
    return float(tilts_deg[top]) if height[top] - height[0] > noise else 0.0


def _ground_polygon(touching: F64, up: F64, lowest: float) -> tuple[F64, float]:
    """Return the hull of touching points on the table as corners in order (anticlockwise from above), and its area."""
    frame = rotation_to(up, np.array([0.0, 0.0, 1.0]))
    flat = touching @ frame.T
    order = convex_polygon(flat[:, :2])
    corners = flat[order]
    corners[:, 2] = lowest
    return corners @ frame, polygon_area(corners[:, :2])


def convex_polygon(points: F64) -> NDArray[np.int64]:
    """Return the corners of the convex hull of (n, 2) points as indices, counter-clockwise (Andrew's chain)."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    if len(order) <= 2:
        return np.asarray(order, dtype=np.int64)
    lower, upper = _half_chain(points, order), _half_chain(points, order[::-1])
    return np.array([*lower[:-1], *upper[:-1]], dtype=np.int64)


def _half_chain(points: F64, order: Sequence[int] | NDArray[np.int64]) -> list[int]:
    chain: list[int] = []
    for k in order:
        while len(chain) >= 2:
            (x0, y0), (x1, y1), (x2, y2) = points[chain[-2]], points[chain[-1]], points[k]
            if (x1 - x0) * (y2 - y0) - (y1 - y0) * (x2 - x0) > 0:
                break
            chain.pop()
        chain.append(int(k))
    return chain


def polygon_area(corners: F64) -> float:
    """Return the signed area of (n, 2) corners, counter-clockwise positive (shoelace)."""
    x, y = corners[:, 0], corners[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
