"""Which faces of a triangle mesh meet at which edge.

Half-edge h = 3 f + k runs from corner k of face f to the next corner. Two half-edges on the same edge are twins; a
rightly wound surface has twins that run against each other. The twins are found by sorting half-edges by their ends.
Where more than two faces meet, half-edges that run against each other are paired and the rest stay single, so that
what is left over is always a set of closed loops.
Faces in, index arrays out. Used by `winding`, `bodies`, `caps` and `turntable`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.vectors import F64, I32

I64 = NDArray[np.int64]
_CHUNK = 1 << 15  # tolerance: faces at a time: the working arrays stay in the processor's cache


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """How the faces of a mesh hang together."""

    first: I32  # (p,) half-edges that have a twin
    second: I32  # (p,) their twins
    first_face: I32  # (p,) the faces of `first`
    second_face: I32
    agrees: NDArray[np.bool_]  # (p,) whether the two run against each other, as they should
    single: I32  # (s,) half-edges without a twin
    crowded: int  # edges where more than two faces meet
    touching: I32  # (t, 2) faces that meet at a crowded edge


def find_edges(faces: I32, vertices: int) -> Edges:
    """Return the twins of a mesh. faces (m, 3) with three different corners each; `vertices` bounds the indices."""
    start, end = faces.ravel(), ahead(faces)
    up = start < end
    order, new = _by_edge(np.minimum(start, end), np.maximum(start, end), vertices)
    begins = np.flatnonzero(new)
    sizes = np.diff(np.append(begins, len(order)))
    pairs = begins[sizes == 2]
    first, second = order[pairs], order[pairs + 1]
    single = order[begins[sizes == 1]]
    crowded = np.flatnonzero(sizes > 2)
    touching = np.empty((0, 2), dtype=np.int32)
    if len(crowded):
        more = _pair_crowded(begins[crowded], sizes[crowded], order, up)
        first, second = np.concatenate([first, more[0]]), np.concatenate([second, more[1]])
        single = np.concatenate([single, more[2]])
        touching = more[3]
    return Edges(first, second, first // 3, second // 3, up[first] != up[second], single, len(crowded), touching)


def ahead(faces: I32) -> I32:
    """Return where each half-edge ends, (3 m,)."""
    ends = np.empty_like(faces)
    ends[:, :2], ends[:, 2] = faces[:, 1:], faces[:, 0]
    return ends.ravel()


def _by_edge(low: I32, high: I32, vertices: int) -> tuple[I32, NDArray[np.bool_]]:
    """Return the half-edges in the order of their edges, and where a new edge begins.

    Two counting sorts of a sparse matrix: by the lower end, then by the higher end within each row.
    """
    from scipy.sparse import csr_matrix

    count = len(low)
    by_low = csr_matrix((high, low, np.arange(count + 1, dtype=np.int32)), shape=(count, vertices)).tocsc()
    rows = csr_matrix((by_low.indices, by_low.data, by_low.indptr), shape=(vertices, vertices))
    rows.has_sorted_indices = False
    rows.sort_indices()
    new = np.ones(count, dtype=np.bool_)
    new[1:] = rows.indices[1:] != rows.indices[:-1]
    starts = rows.indptr[:-1]
    new[starts[starts < count]] = True
    return rows.data, new


def _pair_crowded(begins: I64, sizes: I64, order: I32, up: NDArray[np.bool_]) -> tuple[I32, I32, I32, I32]:
    """Pair the half-edges of crowded edges, the i-th running up with the i-th running down.

    Gives the pairs, what stays single, and the faces that meet there.
    """
    group = np.repeat(np.arange(len(sizes)), sizes)
    at = np.arange(len(group)) + np.repeat(begins - (np.cumsum(sizes) - sizes), sizes)
    half = order[at]
    next_to = np.flatnonzero(group[1:] == group[:-1])
    touching = np.stack([half[next_to] // 3, half[next_to + 1] // 3], axis=1)
    rising = up[half]
    place = np.lexsort((half, rising, group))
    half, rising, group = half[place], rising[place], group[place]
    side = group * 2 + rising
    starts = np.flatnonzero(np.concatenate([[True], side[1:] != side[:-1]]))
    rank = np.arange(len(side)) - np.repeat(starts, np.diff(np.append(starts, len(side))))
    slot = np.lexsort((rising, rank, group))
    half, rising, key = half[slot], rising[slot], (group * (int(rank.max()) + 1) + rank)[slot]
    twin = np.flatnonzero(key[1:] == key[:-1])
    alone = np.ones(len(half), dtype=np.bool_)
    alone[twin] = False
    alone[twin + 1] = False
    return half[twin], half[twin + 1], half[alone], touching


def groups(count: int, first: NDArray[np.integer], second: NDArray[np.integer]) -> tuple[int, I32]:
    """Return how many groups `count` things form when first[i] and second[i] are joined, and the group of each.

    Groups are numbered by their first member.
    """
    from scipy.sparse import csr_matrix
    from scipy.sparse.csgraph import connected_components

    if len(first) == 0:
        return count, np.arange(count, dtype=np.int32)
    rows, columns = first.astype(np.int32, copy=False), second.astype(np.int32, copy=False)
    # A counting sort by the first end; what else a sparse matrix does on its way (sorting rows, adding up what is
    # there twice) costs more and changes nothing about who hangs together
    each = np.arange(len(rows) + 1, dtype=np.int32)
    by_first = csr_matrix((columns, rows, each), shape=(len(rows), count)).tocsc()
    joined = csr_matrix((np.ones(len(rows)), by_first.data, by_first.indptr), shape=(count, count))
    number, label = connected_components(joined, directed=False)
    return int(number), label


def face_sizes(vertices: F64, faces: I32, about: F64) -> tuple[F64, F64]:
    """Return each face's area and the signed volume of its tetrahedron over the point `about`; (m,) each.

    A closed surface wound outward has a positive sum of volumes whatever the point.
    """
    area = np.empty(len(faces))
    volume = np.empty(len(faces))
    for begin in range(0, len(faces), _CHUNK):
        part = faces[begin:begin + _CHUNK]
        a = vertices[part[:, 0]] - about
        u = vertices[part[:, 1]] - vertices[part[:, 0]]
        v = vertices[part[:, 2]] - vertices[part[:, 0]]
        nx = u[:, 1] * v[:, 2] - u[:, 2] * v[:, 1]
        ny = u[:, 2] * v[:, 0] - u[:, 0] * v[:, 2]
        nz = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        area[begin:begin + _CHUNK] = np.sqrt(nx * nx + ny * ny + nz * nz) / 2
        volume[begin:begin + _CHUNK] = (a[:, 0] * nx + a[:, 1] * ny + a[:, 2] * nz) / 6
    return area, volume


def face_normals(vertices: F64, faces: I32) -> F64:
    """Return unit normals (m, 3); zero where a face has no area."""
    corner = vertices[faces[:, 0]]
    normal = np.cross(vertices[faces[:, 1]] - corner, vertices[faces[:, 2]] - corner)
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    return np.asarray(np.divide(normal, length, out=np.zeros_like(normal), where=length > 0))


def compact(vertices: F64, faces: I32) -> tuple[F64, I32, I64]:
    """Return only the vertices that faces use, the faces renumbered, and which rows were kept."""
    used = np.zeros(len(vertices), dtype=np.bool_)
    used[faces.ravel()] = True
    rows = np.flatnonzero(used)
    if len(rows) == len(vertices):
        return vertices, faces, rows
    number = np.cumsum(used, dtype=np.int32) - np.int32(1)
    return vertices[rows], number[faces], rows
