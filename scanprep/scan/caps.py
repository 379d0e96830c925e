"""Closing the holes of a surface, and what may be missing under the object.

The half-edges left without a twin form closed loops. A loop that lies nearly flat is filled flat (with flat loops
inside it taken as its holes, so that a ring's foot gets a ring); any other gets a fan round its own centre. Either
way the surface is closed, and the volume then no longer depends on where the origin is.
Under an object the scanner sees nothing: between the loop and the table there may be a slice of material that no
filling can know. Its prism down to the support plane is told beside the cap.
Coordinates in mm, scan axes. Used by `clean`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import face_normals
from scanprep.scan.mesh import OpenLoop
from scanprep.vectors import F64, I32

I64 = NDArray[np.int64]
FLAT_RATIO = 0.03  # tolerance: RMS distance from the loop's plane over its size; assumed, ragged scan edges stay below
_RIM_ROUNDS = 4  # tolerance: assumed: rounds over a rim
_LEAST_RIM = 8  # tolerance: corners: a smaller hole is closed as it is
_NOTCH_COSINE = -0.5  # tolerance: a corner sharper than 120 degrees
_CONTINUES = 0.5  # tolerance: cosine between the filling and the surface on both sides
_DOWN_COSINE = 0.5  # tolerance: a cap facing within 60 degrees of down may hide a slice under the object


@dataclass(frozen=True, slots=True, eq=False)
class Capped:
    """A closed mesh: the faces given, then the caps."""

    vertices: F64
    faces: I32
    cap_faces: int
    loops: tuple[OpenLoop, ...]
    flat: int  # loops filled flat
    fans: int  # loops filled with a fan
    notch_faces: int = 0  # the first of the cap faces, which fill notches along the surface


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """An open loop, measured but not yet closed."""

    corners: I64  # vertex rows in the order the caps run
    size_mm: float
    normal: F64  # of the cap, outward
    centre: F64
    off_plane_mm: float  # RMS distance from its plane
    flat: bool
    area_mm2: float = 0.0
    turn_deg: float = 0.0  # how far the skin turns from the cap's plane: 0 flat on, 90 cut off square


def open_loops(start: I64, end: I64) -> list[I64]:
    """Return the closed loops formed by directed edges start -> end; each vertex has as many in as out."""
    following: dict[int, list[int]] = {}
    for a, b in zip(start.tolist(), end.tolist()):
        following.setdefault(a, []).append(b)
    loops: list[I64] = []
    for begin in list(following):
        while following.get(begin):
            path, where = [begin], {begin: 0}
            while True:
                here = path[-1]
                nexts = following.get(here)
                if not nexts:
                    break
                step = nexts.pop()
                if step not in where:
                    where[step] = len(path)
                    path.append(step)
                    continue
                # Where a path meets itself a loop is complete: pinched loops come apart there
                cut = where[step]
                loops.append(np.asarray(path[cut:], dtype=np.int64))
                for gone in path[cut + 1:]:
                    del where[gone]
                del path[cut + 1:]
                if len(path) == 1 and not following.get(begin):
                    break
    return [loop for loop in loops if len(loop) >= 2]


def measured_loops(
    vertices: F64, faces: I32, start: I64, end: I64, owner: I64
) -> tuple[list[Loop], I64]:
    """Return the open loops, their ragged teeth evened out, with size, plane and outward side.

    faces       (m, 3) wound outward
    start, end  (k,) the open half-edges as their faces run
    owner       (k,) the face of each
    Gives the loops, and the triangles (t, 3) that fill the notches between teeth.
    """
    if len(start) == 0:
        return [], np.empty((0, 3), dtype=np.int64)
    number = end * len(vertices) + start
    order = np.argsort(number)
    normals = face_normals(vertices, faces[owner[order]])
    loops, filled = [], []
    for corners in open_loops(end, start):
        at = np.searchsorted(number[order], corners * len(vertices) + np.roll(corners, -1))
        rim = _turn_deg(vertices, corners, normals[at])
        corners, notches = evened_rim(vertices, corners, normals[at])
        filled.append(notches)
        loops.append(replace(_measured(vertices, corners), turn_deg=rim))
    return loops, np.concatenate(filled)


def _turn_deg(vertices: F64, corners: I64, normals: F64) -> float:
    """Return the mean angle between the skin at a rim and the plane across it, weighted by the edges' lengths."""
    points = vertices[corners]
    ahead = np.roll(points, -1, axis=0)
    swept = np.cross(points - points.mean(axis=0), ahead - points).sum(axis=0)
    size = float(np.linalg.norm(swept))
    if size <= 0:
        return 0.0
    plane = swept / size
    aside = np.cross(ahead - points, plane)
    length = np.linalg.norm(aside, axis=1)
    across = float((normals * aside).sum())
    return float(np.degrees(np.arctan2(across, float((normals @ plane) @ length))))


def evened_rim(vertices: F64, corners: I64, normals: F64) -> tuple[I64, I64]:
    """Fill the notches of a ragged rim where that continues the surface on both sides of the notch.

    corners  (k,) in the order caps run
    normals  (k, 3) of the face at each edge from a corner to the next
    Gives the corners left and the triangles (t, 3) made. A tooth is not filled over: its triangle would fold back.
    """
    filled: list[I64] = []
    for _ in range(_RIM_ROUNDS):
        if len(corners) < _LEAST_RIM:
            break
        points = vertices[corners]
        back, ahead = np.roll(points, 1, axis=0) - points, np.roll(points, -1, axis=0) - points
        lengths = np.linalg.norm(back, axis=1) * np.linalg.norm(ahead, axis=1)
        cosine = np.divide((back * ahead).sum(axis=1), lengths, out=np.full(len(points), -1.0), where=lengths > 0)
        swept = np.cross(ahead, back)
        size = np.linalg.norm(swept, axis=1, keepdims=True)
        normal = np.divide(swept, size, out=np.zeros_like(swept), where=size > 0)
        continues = ((normal * normals).sum(axis=1) > _CONTINUES) & \
            ((normal * np.roll(normals, 1, axis=0)).sum(axis=1) > _CONTINUES)
        notch = continues & (cosine > _NOTCH_COSINE)
        notch &= ~np.roll(notch, 1)
        rows = np.flatnonzero(notch)
        if len(rows) == 0 or len(corners) - len(rows) < 3:
            break
        before, after = corners[rows - 1], corners[(rows + 1) % len(corners)]
        filled.append(np.stack([before, corners[rows], after], axis=1))
        normals = normals.copy()
        normals[rows - 1] = normal[rows]
        corners, normals = corners[~notch], normals[~notch]
    return corners, np.concatenate(filled) if filled else np.empty((0, 3), dtype=np.int64)


def close_holes(
    vertices: F64, faces: I32, loops: list[Loop], notches: I64, down: F64 | None, plane_mm: float | None
) -> Capped:
    """Return the mesh with every open loop capped.

    loops     as `measured_loops` gives them, notches with them
    down      unit, the direction of the table; None where not known
    plane_mm  the table's place along `down`; None where not known
    """
    extra: list[F64] = []
    triangles: list[I64] = [notches] if len(notches) else []
    told: list[OpenLoop] = []
    flat = fans = 0
    for outer, holes in _nested(vertices, loops):
        made = _filled_flat(vertices, [outer, *holes]) if outer.flat else None
        if made is None:
            for loop in (outer, *holes):
                rows, middle = _fan(vertices, loop, len(vertices) + len(extra))
                extra += middle
                triangles.append(rows)
                told.append(_told(vertices, extra, loop, rows, down, plane_mm))
                fans += 1
            continue
        triangles.append(made)
        told.append(_told(vertices, extra, outer, made, down, plane_mm))
        flat += 1 + len(holes)
    if not triangles:
        return Capped(vertices, faces, 0, (), 0, 0)
    caps = np.concatenate(triangles)
    whole = np.concatenate([vertices, np.asarray(extra).reshape(-1, 3)])
    return Capped(whole, np.concatenate([faces, caps.astype(np.int32)]), len(caps),
                  tuple(sorted(told, key=lambda loop: -loop.area_mm2)), flat, fans, len(notches))


def _measured(vertices: F64, corners: I64) -> Loop:
    points = vertices[corners]
    centre = points.mean(axis=0)
    around = points - centre
    swept = np.cross(around, np.roll(around, -1, axis=0)).sum(axis=0) / 2
    area = float(np.linalg.norm(swept))
    spread = float(np.sqrt((around**2).sum(axis=1).mean()))
    if area <= 1e-12 * max(spread, 1e-30) ** 2 or len(corners) < 4:
        return Loop(corners, spread, swept / area if area > 0 else np.zeros(3), centre, spread, False)
    normal = swept / area
    off = float(np.sqrt(((around @ normal) ** 2).mean()))
    return Loop(corners, spread, normal, centre, off, off <= FLAT_RATIO * spread, area)


def _nested(vertices: F64, loops: list[Loop]) -> list[tuple[Loop, list[Loop]]]:
    """Give each flat loop the flat loops that lie inside it, in its plane, running the other way round."""
    flat = sorted((loop for loop in loops if loop.flat), key=lambda loop: -loop.size_mm)
    taken: set[int] = set()
    nested: list[tuple[Loop, list[Loop]]] = []
    for i, outer in enumerate(flat):
        if i in taken:
            continue
        holes = []
        for j in range(i + 1, len(flat)):
            if j not in taken and _lies_in(vertices, flat[j], outer):
                holes.append(flat[j])
                taken.add(j)
        nested.append((outer, holes))
    return nested + [(loop, []) for loop in loops if not loop.flat]


def _lies_in(vertices: F64, inner: Loop, outer: Loop) -> bool:
    if float(inner.normal @ outer.normal) > -0.95 or inner.size_mm < 0.05 * outer.size_mm:
        return False
    if abs(float((inner.centre - outer.centre) @ outer.normal)) > 2 * FLAT_RATIO * outer.size_mm:
        return False
    across, along = _plane_axes(outer.normal)
    ring = (vertices[outer.corners] - outer.centre) @ np.stack([across, along], axis=1)
    points = (vertices[inner.corners] - outer.centre) @ np.stack([across, along], axis=1)
    return all(_inside(ring, point) for point in points[:: max(1, len(points) // 8)])


def _inside(ring: F64, point: F64) -> bool:
    """Whether a point lies in a polygon (k, 2): an odd number of edges crosses the ray to its right."""
    a, b = ring, np.roll(ring, -1, axis=0)
    straddles = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    a, b = a[straddles], b[straddles]
    x = a[:, 0] + (point[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(x > point[0]) % 2)


def _plane_axes(normal: F64) -> tuple[F64, F64]:
    """Return two unit vectors in the plane, so that (across, along, normal) is right-handed."""
    other = np.eye(3)[int(np.argmin(np.abs(normal)))]
    across = np.cross(other, normal)
    across /= np.linalg.norm(across)
    return across, np.cross(normal, across)


def _filled_flat(vertices: F64, loops: list[Loop]) -> I64 | None:
    """Return triangles over a flat loop with holes, None where its projection crosses itself."""
    from manifold3d import triangulate

    across, along = _plane_axes(loops[0].normal)
    axes = np.stack([across, along], axis=1)
    rings = [(vertices[loop.corners] - loops[0].centre) @ axes for loop in loops]
    corners = np.concatenate([loop.corners for loop in loops])
    try:
        rows = np.asarray(triangulate([np.ascontiguousarray(ring) for ring in rings]), dtype=np.int64)
    except (ValueError, RuntimeError):
        return None
    if len(rows) != len(corners) + 2 * (len(loops) - 1) - 2 or int(rows.max(initial=-1)) >= len(corners):
        return None
    flat = np.concatenate(rings)
    a, b, c = flat[rows[:, 0]], flat[rows[:, 1]], flat[rows[:, 2]]
    area = float(((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])).sum() / 2)
    wanted = sum(float((ring[:, 0] * np.roll(ring[:, 1], -1) - ring[:, 1] * np.roll(ring[:, 0], -1)).sum() / 2)
                 for ring in rings)
    if not math.isclose(area, wanted, rel_tol=1e-3):
        return None
    return np.asarray(corners[rows], dtype=np.int64)


def _fan(vertices: F64, loop: Loop, next_row: int) -> tuple[I64, list[F64]]:
    """Return triangles from the loop's centre to each of its edges, and the centre where it needs one."""
    corners = loop.corners
    if len(corners) == 2:
        return np.empty((0, 3), dtype=np.int64), []
    if len(corners) == 3:
        return corners.reshape(1, 3), []
    points = vertices[corners]
    ahead = np.roll(points, -1, axis=0)
    length = np.linalg.norm(ahead - points, axis=1)
    total = float(length.sum())
    middle = ((points + ahead) / 2 * length[:, None]).sum(axis=0) / total if total > 0 else points.mean(axis=0)
    rows = np.stack([np.full(len(corners), next_row), corners, np.roll(corners, -1)], axis=1)
    return rows, [middle]


def _told(
    vertices: F64, extra: list[F64], loop: Loop, rows: I64, down: F64 | None, plane_mm: float | None
) -> OpenLoop:
    if len(rows) == 0:
        return OpenLoop(vertices[loop.corners], 0.0, 0.0)
    corner = np.empty((len(rows), 3, 3))
    own = rows >= len(vertices)
    corner[~own] = vertices[rows[~own]]
    if own.any():
        corner[own] = extra[-1]
    swept = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) / 2
    area = float(np.linalg.norm(swept.sum(axis=0)))
    points = vertices[loop.corners]
    if down is None or plane_mm is None or float(loop.normal @ down) < _DOWN_COSINE:
        return OpenLoop(points, area, 0.0)
    # Prism of a slanted triangle: its shadow times the mean of its three heights
    shadow = swept @ down
    height = plane_mm - corner @ down
    volume = float((shadow * height.mean(axis=1)).sum())
    return OpenLoop(points, area, max(volume, 0.0))
