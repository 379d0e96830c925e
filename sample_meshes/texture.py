"""Unwraps a mesh into charts and bakes its colours into a picture, with the doubled seam vertices that come of it.

Charts are connected patches that look the same way along one axis, projected flat and packed on shelves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scanprep_samples.ageing import hollowness
from scanprep_samples.colours import Painter
from scanprep_samples.surface import F64, I32, face_normals, vertex_normals
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

U8 = NDArray[np.uint8]
_GUTTER = 3  # pixels around a chart, filled with its nearest colour


@dataclass(frozen=True, slots=True, eq=False)
class Unwrapped:
    """A textured mesh: one position a vertex, and as many picture places as its charts want."""

    points: F64  # (n, 3), doubled along seams
    faces: I32  # (m, 3)
    places: F64  # (n, 2) in the picture, 0..1, from the lower left
    picture: U8  # (rows, columns, 3)
    first: NDArray[np.int64]  # (n,) which vertex of the welded mesh each one is


def _charts(points: F64, faces: I32) -> NDArray[np.int64]:
    """Return the chart each face belongs to."""
    normals = face_normals(points, faces)
    side = np.argmax(np.hstack([normals, -normals]), axis=1)
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(faces)), 3)
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    same = (np.diff(edges[order], axis=0) == 0).all(1)
    a, b = owner[order][:-1][same], owner[order][1:][same]
    for _ in range(4):  # faces side with most of their neighbours, so that charts have few crumbs
        votes = np.zeros((len(faces), 6))
        votes[np.arange(len(faces)), side] = 1.2
        np.add.at(votes, (a, side[b]), 1)
        np.add.at(votes, (b, side[a]), 1)
        side = np.argmax(votes, axis=1)
    agree = side[a] == side[b]
    graph = coo_matrix((np.ones(int(agree.sum())), (a[agree], b[agree])), shape=(len(faces), len(faces)))
    _, label = connected_components(graph, directed=False)
    return np.asarray(label * 6 + side, dtype=np.int64)


def _flat(points: F64, side: int) -> F64:
    axis = side % 3
    return points[:, [(axis + 1) % 3, (axis + 2) % 3]] * ([1, 1] if side < 3 else [-1, 1])


def _shelves(sizes: NDArray[np.int64], width: int) -> tuple[NDArray[np.int64], int]:
    """Return the lower left corner of each rectangle, packed tallest first, and the height used."""
    corner = np.zeros_like(sizes)
    x = y = tall = 0
    for index in np.argsort(-sizes[:, 1], kind="stable"):
        if x + sizes[index, 0] > width:
            x, y, tall = 0, y + tall, 0
        corner[index] = (x, y)
        x += int(sizes[index, 0])
        tall = max(tall, int(sizes[index, 1]))
    return corner, y + tall


_STRANGE = 90  # sum of channel differences from which a vertex is no part of the find: turntable


def unwrap(points: F64, faces: I32, colours: U8, painter: Painter, width: int) -> Unwrapped:
    """Return the mesh with a picture `width` pixels wide and high; what isn't the find keeps its vertex colours."""
    chart = _charts(points, faces)
    names, index = np.unique(chart, return_inverse=True)
    flats = [_flat(points, int(name % 6)) for name in range(6)]
    spans = np.array([np.ptp(flats[name % 6][faces[index == k].ravel()], axis=0) for k, name in enumerate(names)])
    per_mm = 1.0
    for per_mm in np.linspace(width / np.sqrt(spans.prod(1).sum()), 0.1, 400):
        sizes = np.ceil(spans * per_mm).astype(np.int64) + 2 * _GUTTER + 1
        if sizes[:, 0].max() <= width and _shelves(sizes, width)[1] <= width:
            break
    corners, _ = _shelves(sizes, width)
    normals, hollow = vertex_normals(points, faces), hollowness(points, faces)
    away = np.abs(painter(points, normals, hollow).astype(float) - colours).sum(1)
    strange = (away > _STRANGE).astype(float)
    picture = np.full((width, width, 3), 90, dtype=np.uint8)
    out_points, out_faces, out_places, out_first, start = [], [], [], [], 0
    for k, name in enumerate(names):
        used, local = np.unique(faces[index == k], return_inverse=True)
        flat = flats[name % 6][used]
        place = (flat - flat.min(0)) * per_mm + _GUTTER + corners[k]
        columns, rows = (np.arange(corners[k][j], corners[k][j] + sizes[k][j]) for j in (0, 1))
        spots = np.stack(np.meshgrid(columns + 0.5, rows + 0.5), -1).reshape(-1, 2)
        values = _spread(place, np.column_stack(
            [points[used], normals[used], hollow[used], strange[used], colours[used]]), spots)
        colour = painter(values[:, :3], values[:, 3:6], values[:, 6])
        colour = np.where(values[:, 7:8] > 0.5, values[:, 8:].astype(np.uint8), colour)
        picture[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = colour.reshape(len(rows), len(columns), 3)
        out_points.append(points[used])
        out_faces.append(local.reshape(-1, 3) + start)
        out_places.append(place / width)
        out_first.append(used)
        start += len(used)
    return Unwrapped(np.vstack(out_points), np.vstack(out_faces).astype(np.int32), np.vstack(out_places),
                     picture[::-1], np.concatenate(out_first))


def _spread(place: F64, values: F64, spots: F64) -> F64:
    """Return vertex values at pixels, the nearest vertex's outside the chart."""
    near = np.asarray(NearestNDInterpolator(place, values)(spots))
    if len(place) < 4 or np.ptp(place, axis=0).min() < 1e-6:
        return near
    inside = np.asarray(LinearNDInterpolator(place, values)(spots))
    return np.where(np.isnan(inside), near, inside)
