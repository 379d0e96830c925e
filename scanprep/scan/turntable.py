"""A table that has grown together with the object in the scan.

Evidence asked for, all of it: a large open rim lies flat; nothing of the scan lies beyond its plane; a good share of
the surface lies in that plane, borders on the rim, and faces the way the object stands up (an object's own base would
face the other way); and what rises above the plane is tall, not the relief of a flat thing seen from one side only.
Works in any unit. Used by `shell`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.bodies import Turntable
from scanprep.scan.caps import Loop
from scanprep.scan.edges import I64, face_normals, find_edges, groups
from scanprep.scan.extents import box_sides
from scanprep.vectors import F64, I32

_RIM_SIZE = 0.15  # tolerance: of the scan's diagonal: smaller rims are holes
_RIM_FLAT = 0.02  # tolerance: RMS off the plane over the rim's size
_BAND = 0.004  # tolerance: of the diagonal: how thick the table may be with noise
_FACING = 0.9  # tolerance: cosine to the plane's normal
_RIM_SHARE = 0.6  # tolerance: of the rim must border on the table
_LEAST_AREA = 0.03  # tolerance: of the surface
_LEAST_HEIGHT = 0.1  # tolerance: of the table's breadth: a lower rise is a relief


def _borders_level(vertices: F64, faces: I32, rim: Loop, rim_edges: tuple[I64, NDArray[np.integer]]) -> bool:
    """Whether most of the rim borders on level faces.

    The floor of a shallow dish lies level too, but the rim of its missing underside belongs to its wall.
    """
    start, owner = rim_edges
    on_rim = np.zeros(len(vertices), dtype=np.bool_)
    on_rim[rim.corners] = True
    beside = owner[on_rim[start]]
    level = face_normals(vertices, faces[beside]) @ -rim.normal > _FACING
    return bool(np.count_nonzero(level) >= _RIM_SHARE * max(len(beside), 1))


def _next_to_rim(faces: I32, level: I64, rim: Loop) -> I64:
    """Return the level faces that hang together with the rim."""
    on_rim = np.zeros(int(faces.max()) + 1, dtype=np.bool_)
    on_rim[rim.corners] = True
    edges = find_edges(faces[level], len(on_rim))
    _, part = groups(len(level), edges.first_face, edges.second_face)
    return level[np.isin(part, np.unique(part[on_rim[faces[level]].any(axis=1)]))]


def grown_on_table(
    vertices: F64, faces: I32, area: F64, loops: list[Loop], rim_edges: tuple[I64, NDArray[np.integer]]
) -> tuple[Turntable, NDArray[np.bool_]] | None:
    """Return the table and which faces are not part of it; None where nothing shows a table.

    vertices, faces  wound outward
    area             (m,) of each face
    loops            its open rims
    rim_edges        where the open half-edges start, and the face of each
    """
    size = float(np.linalg.norm(box_sides(vertices)))
    wide = [loop for loop in loops if loop.size_mm > _RIM_SIZE * size and loop.off_plane_mm < _RIM_FLAT * loop.size_mm]
    if not wide:
        return None
    rim = max(wide, key=lambda loop: loop.size_mm)
    down = rim.normal
    if not _borders_level(vertices, faces, rim, rim_edges):
        return None
    rise = (rim.centre - vertices) @ down  # height above the plane
    band = max(_BAND * size, 3 * rim.off_plane_mm)
    if float(rise.min()) < -3 * band:
        return None
    low = (rise[faces] < band).all(axis=1)
    level = np.flatnonzero(low)
    level = level[face_normals(vertices, faces[level]) @ -down > _FACING]
    level = _next_to_rim(faces, level, rim)
    flat = float(area[level].sum())
    if flat < _LEAST_AREA * float(area.sum()):
        return None
    # The plane of the table's own faces is steadier than that of its ragged rim
    place = float((area[level] * (vertices[faces[level]].mean(axis=1) @ down)).sum() / flat)
    rest: NDArray[np.bool_] = np.ones(len(faces), dtype=np.bool_)
    rest[level] = False
    breadth = float(np.linalg.norm(box_sides(vertices[faces[level]].reshape(-1, 3))))
    above = place - vertices[faces[rest]].reshape(-1, 3) @ down
    if len(above) == 0 or float(above.max()) < _LEAST_HEIGHT * breadth:
        return None
    return Turntable(down, place, flat), rest
