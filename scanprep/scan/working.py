"""The working mesh: about 20 k faces with colours, for everything after the survey.

Edges are collapsed by quadric error. A scan many times finer is thinned first: vertices that hang together within a
small cell become one, which changes no hole and no handle, and costs a tenth of the time. Later stages ask which side
of the surface a point is on and cut solids with it, so the mesh comes out closed with two faces at every edge, whatever
collapsed on the way. Colours are taken from the nearest vertex of the full scan.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import compact, groups
from scanprep.scan.extents import box_sides
from scanprep.scan.manifold import two_sided
from scanprep.scan.mesh import WorkingMesh
from scanprep.vectors import F64, I32, U8

GREY = 128  # layout: a mid grey where the scan has no colours
_MUCH_FINER = 10  # tolerance: times the faces wanted: then thin first
# tolerance: cells per face wanted; trial: 0.03 % more volume lost than without thinning, 0.38 mm off at sharp edges
_CELLS = 3.0
_CELL_SURFACE = 1.5  # tolerance: a plane of area A at any slant meets about 1.5 A / side^2 cells
_COLOUR_SOURCES = 400_000  # tolerance: vertices asked for colour; the working mesh has some ten thousand


def working_mesh(
    vertices: F64, faces: I32, area_mm2: float, coloured: F64, colours: U8 | None, wanted: int
) -> WorkingMesh:
    """Return a closed mesh of about `wanted` faces, two at every edge.

    vertices, faces  the cleaned mesh, closed and outward
    area_mm2         of the mesh, roughly
    coloured         (k, 3) points with known colour
    colours          (k, 3) sRGB, None where the scan has none
    """
    centre = np.array([vertices[:, k].mean() for k in range(3)])
    points, rows = vertices - centre, faces
    if len(rows) > _MUCH_FINER * wanted:
        points, rows = thinned(points, rows, area_mm2, int(_CELLS * wanted))
    points, rows = two_sided(points, rows)
    if len(rows) > wanted:
        points, rows = two_sided(*_collapsed(points, rows, wanted))
    points = points + centre
    tint = np.full((len(points), 3), GREY, dtype=np.uint8) if colours is None else \
        nearest_colours(points, coloured, colours)
    return WorkingMesh(points, rows, tint, colours is not None)


def thinned(vertices: F64, faces: I32, area: float, cells: int) -> tuple[F64, I32]:
    """Return a coarser mesh: vertices joined to their mean where edges connect them inside one cell of a lattice.

    area   of the surface, roughly
    cells  about how many vertices should remain
    A closed surface stays closed, since every face either survives or loses an edge; two walls in one cell stay apart.
    """
    side = (_CELL_SURFACE * area / cells) ** 0.5
    if not side > 0:
        return vertices, faces
    cell = _cells(vertices, side)[faces]
    first, second = [], []
    for corner in range(3):
        # Each edge is met from both its faces, the other way round: once is enough
        a, b = faces[:, corner], faces[:, (corner + 1) % 3]
        within = np.flatnonzero((cell[:, corner] == cell[:, (corner + 1) % 3]) & (a < b))
        first.append(a[within])
        second.append(b[within])
    number, label = groups(len(vertices), np.concatenate(first), np.concatenate(second))
    count = np.bincount(label, minlength=number)
    means = np.stack([np.bincount(label, weights=vertices[:, axis], minlength=number) / count for axis in range(3)], 1)
    rows = label[faces]
    distinct = (rows[:, 0] != rows[:, 1]) & (rows[:, 1] != rows[:, 2]) & (rows[:, 2] != rows[:, 0])
    return means, rows[distinct]


def _cells(vertices: F64, side: float) -> NDArray[np.integer]:
    """Return a number for the lattice cell each vertex lies in."""
    low = np.array([vertices[:, k].min() for k in range(3)])
    span = np.floor(box_sides(vertices) / side).astype(np.int64) + 1
    small = float(np.prod(span.astype(np.float64))) < 2**31
    number: NDArray[np.integer] = np.zeros(len(vertices), dtype=np.int32 if small else np.int64)
    for axis in (2, 1, 0):
        step = ((vertices[:, axis] - low[axis]) / side).astype(number.dtype)
        number = np.asarray(number * number.dtype.type(span[axis]) + step)
    return number


def _collapsed(vertices: F64, faces: I32, wanted: int) -> tuple[F64, I32]:
    import pyfqmr

    simplifier = pyfqmr.Simplify()
    simplifier.setMesh(vertices, faces)
    simplifier.simplify_mesh(target_count=wanted, preserve_border=False, verbose=False)
    points, rows, _ = simplifier.getMesh()
    return compact(np.asarray(points, dtype=np.float64), np.ascontiguousarray(rows, dtype=np.int32))[:2]


def nearest_colours(points: F64, coloured: F64, colours: U8) -> U8:
    """Return for each point the colour of the nearest coloured point."""
    from scipy.spatial import cKDTree

    step = max(1, len(coloured) // _COLOUR_SOURCES)
    tree = cKDTree(coloured[::step], balanced_tree=False, compact_nodes=False)
    _, row = tree.query(points)
    return np.asarray(colours[::step][row], dtype=np.uint8)
