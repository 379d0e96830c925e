"""From a closed surface to one with exactly two faces at every edge and one fan of faces at every corner.

A closed surface may still touch itself: four faces at an edge, two fans at a corner, two faces back to back.
Back-to-back faces enclose nothing and cancel. Elsewhere the faces are already paired across each edge; giving every
fan of paired faces its own corner takes the touching parts asunder without moving a point. Solid operations and signed
distances need such a mesh. Used by `working` and `bodies`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import Edges, ahead, find_edges, groups
from scanprep.vectors import F64, I32

I64 = NDArray[np.int64]
_MOST_ROUNDS = 8  # tolerance: assumed: rounds of splitting vertices


def two_sided(vertices: F64, faces: I32) -> tuple[F64, I32]:
    """Return a closed, consistently wound mesh with every edge shared by two faces and every corner by one fan.

    Corners where parts touch are doubled. Raises ValueError when the mesh is not closed.
    """
    edges = find_edges(faces, len(vertices))
    if edges.crowded:
        faces = faces[uncancelled(faces)]
        edges = find_edges(faces, len(vertices))
    if len(edges.single) or not edges.agrees.all():
        raise ValueError("only a closed surface can be made two-sided everywhere")
    number, fan = _fans(faces, edges)
    place = np.zeros(number, dtype=np.int64)
    place[fan] = faces.ravel()
    rows = fan.reshape(-1, 3)
    pockets = _pockets(rows, edges)
    if pockets.any():
        rows = rows[~pockets]
    return _parted(vertices[place], rows.astype(np.int32))


def _fans(faces: I32, edges: Edges) -> tuple[int, I32]:
    """Number the fans: corners joined across paired edges."""
    ahead_first = np.where(edges.first % 3 == 2, edges.first - 2, edges.first + 1)
    ahead_second = np.where(edges.second % 3 == 2, edges.second - 2, edges.second + 1)
    return groups(faces.size, np.concatenate([edges.first, ahead_first]),
                  np.concatenate([ahead_second, edges.second]))


def _parted(vertices: F64, faces: I32) -> tuple[F64, I32]:
    """Where one fan passes an edge twice, give the second passage a corner of its own in the middle of the edge."""
    for _ in range(_MOST_ROUNDS):
        edges = find_edges(faces, len(vertices))
        if not edges.crowded:
            break
        passed = _ends(faces, edges.first, len(vertices))
        order = np.argsort(passed, kind="stable")
        again = np.zeros(len(order), dtype=np.bool_)
        again[1:] = np.diff(passed[order]) == 0
        vertices, faces = _split(vertices, faces, edges, order[again])
    return vertices, faces


def _ends(faces: I32, half: I32, vertices: int) -> I64:
    """Return a number for the edge of each half-edge, by its lower and then by its higher end."""
    a, b = faces.ravel()[half], ahead(faces)[half]
    return np.minimum(a, b).astype(np.int64) * vertices + np.maximum(a, b)


def _split(vertices: F64, faces: I32, edges: Edges, pairs: I64) -> tuple[F64, I32]:
    """Put a corner in the middle of some paired edges; a face is split once a round."""
    touched: set[int] = set()
    out = faces.copy()
    points: list[F64] = []
    more: list[tuple[int, int, int]] = []
    for pair in pairs.tolist():
        two = [int(edges.first[pair]), int(edges.second[pair])]
        if touched & {half // 3 for half in two}:
            continue
        touched |= {half // 3 for half in two}
        row = len(vertices) + len(points)
        a, b = faces[two[0] // 3, two[0] % 3], faces[two[0] // 3, (two[0] % 3 + 1) % 3]
        points.append((vertices[a] + vertices[b]) / 2)
        for half in two:
            face, k = half // 3, half % 3
            start, end, tip = faces[face, k], faces[face, (k + 1) % 3], faces[face, (k + 2) % 3]
            out[face] = (start, row, tip)
            more.append((row, end, tip))
    if not points:
        return vertices, faces
    return np.concatenate([vertices, points]), np.concatenate([out, np.asarray(more, dtype=np.int32)])


def _pockets(rows: I32 | I64, edges: Edges) -> NDArray[np.bool_]:
    """Faces of bodies with fewer than four faces: they enclose nothing."""
    number, body = groups(len(rows), edges.first_face, edges.second_face)
    return np.asarray((np.bincount(body, minlength=number) < 4)[body])


def repeats(faces: I32) -> tuple[I64, I64]:
    """Return for each face the number of its corner triple, and +1 or -1 for the way it runs round it."""
    low, high = faces.min(axis=1).astype(np.int64), faces.max(axis=1).astype(np.int64)
    middle = faces.sum(axis=1, dtype=np.int64) - low - high
    ends = low * (int(high.max(initial=0)) + 1) + middle  # two corners in one number: a sort less
    order = np.lexsort((high, ends))
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = (np.diff(ends[order]) != 0) | (np.diff(high[order]) != 0)
    group = np.empty(len(order), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    following = faces[np.arange(len(faces)), (np.argmin(faces, axis=1) + 1) % 3]
    return group, np.where(following == middle, 1, -1)


def uncancelled(faces: I32) -> NDArray[np.bool_]:
    """Return which faces stay when back-to-back faces cancel: as many as one way outnumbers the other."""
    group, sign = repeats(faces)
    net = np.bincount(group, weights=sign).astype(np.int64)
    order = np.lexsort((-sign * np.sign(net)[group], group))
    starts = np.flatnonzero(np.concatenate([[True], group[order][1:] != group[order][:-1]]))
    rank = np.arange(len(order)) - np.repeat(starts, np.diff(np.append(starts, len(order))))
    stays = np.zeros(len(faces), dtype=np.bool_)
    stays[order] = rank < np.abs(net)[group[order]]
    return stays


def without_repeats(faces: I32, vertices: int) -> NDArray[np.bool_]:
    """Return which faces stay when a surface as read repeats some.

    One of each stays. Of back-to-back pairs none stays where the rest of the surface is whole without them: such a pair
    is a fold that encloses nothing.
    """
    group, sign = repeats(faces)
    _, first = np.unique(group, return_index=True)
    stays = np.zeros(len(faces), dtype=np.bool_)
    stays[first] = True
    several = np.bincount(group) > 1
    net = np.bincount(group, weights=sign)
    pairs = first[several & (net == 0)]
    if len(pairs):
        others = np.sort(_edge_numbers(faces[~several[group]], vertices).ravel())
        wanted = _edge_numbers(faces[pairs], vertices)
        beside = np.searchsorted(others, wanted, side="right") - np.searchsorted(others, wanted, side="left")
        stays[pairs[~(beside == 1).any(axis=1)]] = False
    return stays


def _edge_numbers(faces: I32, vertices: int) -> I64:
    """Return a number (m, 3) for each edge of each face, the same whichever way it runs."""
    start, end = faces.astype(np.int64), np.roll(faces, -1, axis=1).astype(np.int64)
    return np.minimum(start, end) * vertices + np.maximum(start, end)
