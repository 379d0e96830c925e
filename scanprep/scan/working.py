"""The working mesh: about 20 k faces with colours, for everything after the survey.

Edges are collapsed by quadric error. Later stages ask which side of the surface a point is on and cut solids with it,
so the mesh must come out as it went in: closed, two faces at every edge. That is checked; a result that fails is made
again with other growth of the error threshold. Colours are taken from the nearest vertex of the full scan.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.scan.edges import compact, face_sizes, find_edges
from scanprep.scan.mesh import WorkingMesh
from scanprep.vectors import F64, I32, U8

GREY = 128
#: Growth of the collapse threshold, tried in turn: aggressiveness, first threshold, offset.
_TRIES = ((7.0, 1e-9, 3), (5.0, 1e-7, 3), (9.0, 1e-9, 3), (4.0, 1e-6, 3))
_COLOUR_SOURCES = 400_000  # vertices asked for colour; the working mesh has some ten thousand


@dataclass(frozen=True, slots=True)
class WorkingState:
    """How the working mesh came out."""

    faces: int
    closed: bool  # two faces at every edge
    volume_ratio: float  # its volume over the full mesh's


def working_mesh(
    vertices: F64, faces: I32, coloured: F64, colours: U8 | None, wanted: int
) -> tuple[WorkingMesh, WorkingState]:
    """Return a mesh of about `wanted` faces.

    vertices, faces  the cleaned mesh, closed and outward
    coloured         (k, 3) points with known colour
    colours          (k, 3) sRGB, None where the scan has none
    """
    centre = vertices.mean(axis=0)
    full = float(face_sizes(vertices, faces, centre)[1].sum())
    best: tuple[F64, I32] | None = None
    closed = False
    if len(faces) <= wanted:
        best = (vertices, faces)
        closed = is_closed(faces, len(vertices))
    else:
        # Every try works on the last one's coarse start, so that only the first pays for the whole scan
        start = (vertices - centre, faces)
        for aggressiveness, alpha, offset in _TRIES:
            made = _collapsed(*start, wanted, aggressiveness, alpha, offset)
            if best is None or is_closed(made[1], len(made[0])):
                best = (made[0] + centre, made[1])
                closed = is_closed(made[1], len(made[0]))
            if closed:
                break
    assert best is not None
    points, rows = best
    ratio = float(face_sizes(points, rows, centre)[1].sum()) / full if full else 1.0
    tint = np.full((len(points), 3), GREY, dtype=np.uint8) if colours is None else \
        nearest_colours(points, coloured, colours)
    return WorkingMesh(points, rows, tint, colours is not None), WorkingState(len(rows), closed, ratio)


def _collapsed(
    vertices: F64, faces: I32, wanted: int, aggressiveness: float, alpha: float, offset: int
) -> tuple[F64, I32]:
    import pyfqmr

    simplifier = pyfqmr.Simplify()
    simplifier.setMesh(vertices, faces)
    simplifier.simplify_mesh(target_count=wanted, aggressiveness=aggressiveness, alpha=alpha, K=offset,
                             preserve_border=False, verbose=False)
    points, rows, _ = simplifier.getMesh()
    return compact(np.asarray(points, dtype=np.float64), np.ascontiguousarray(rows, dtype=np.int32))[:2]


def is_closed(faces: I32, vertices: int) -> bool:
    """Whether exactly two faces, wound alike, meet at every edge."""
    edges = find_edges(faces, vertices)
    return len(edges.single) == 0 and edges.crowded == 0 and bool(edges.agrees.all())


def nearest_colours(points: F64, coloured: F64, colours: U8) -> U8:
    """Return for each point the colour of the nearest coloured point."""
    from scipy.spatial import cKDTree

    step = max(1, len(coloured) // _COLOUR_SOURCES)
    tree = cKDTree(coloured[::step], balanced_tree=False, compact_nodes=False)
    _, row = tree.query(points)
    return np.asarray(colours[::step][row], dtype=np.uint8)

