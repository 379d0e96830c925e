"""STL, text or binary. A triangle list without shared vertices: equal corners are joined on reading.

A file may start with `solid` and still be binary, so the length decides: 84 bytes and 50 a triangle. It has no unit.
The colour bits some programs hide in the spare two bytes have two rival meanings and are left alone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.files.mesh_source import AGAIN, TRUNCATED, MeshSource, finished_mesh
from scanprep.files.numerals import decimals, find_tokens
from scanprep.scan.mesh import RawMesh
from scanprep.scan.weld import equal_points
from scanprep.vectors import F64, U8

# format: binary STL, 50 bytes a triangle
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
_TEXT_BLOCK = 4_000_000  # tolerance: bytes read at a time


def read_stl(source: MeshSource) -> RawMesh:
    """Return the mesh of an STL file. Raises ScanError."""
    size = len(source.data)
    head = source.text(256)
    stated = int.from_bytes(head[80:84], "little") if size >= 84 else -1
    looks_text = head.lstrip()[:5].lower() == b"solid"
    corners: NDArray[np.floating]
    if stated >= 0 and size == 84 + 50 * stated:
        corners = _binary(source, stated)
    elif looks_text and b"\0" not in head:
        corners = _text(source)
    elif stated < 0:
        raise source.refuse(TRUNCATED, AGAIN, "length", f"{size} bytes")
    else:
        # Some programs append a block of their own: take what the header states
        corners = _binary(source, stated)
    points = corners.reshape(-1, 3)
    with np.errstate(invalid="ignore"):
        points += np.float32(0)  # -0.0 and 0.0 are one place
    kept, row = equal_points(points)
    return finished_mesh(source, points[kept].astype(np.float64), row.reshape(-1, 3), None)


def _binary(source: MeshSource, count: int) -> NDArray[np.float32]:
    source.check_count("faces", count, 0)
    if 84 + 50 * count > len(source.data):
        raise source.refuse(TRUNCATED, AGAIN, "faces", f"{count:,}")
    rows = source.data[84:84 + 50 * count].view(_RECORD)
    return np.array(rows["corners"], dtype=np.float32, order="C")


def _text(source: MeshSource) -> F64:
    data, parts, start = source.data, [], 0
    while start < len(data):
        stop = min(start + _TEXT_BLOCK, len(data))
        while stop < len(data) and data[stop - 1] != 10:
            stop += 1
        parts.append(_block_corners(source, data[start:stop]))
        start = stop
    points = np.concatenate(parts)
    tail = data[-200:].tobytes().lower()
    if len(points) == 0 or len(points) % 3 or b"endsolid" not in tail:
        raise source.refuse(TRUNCATED if len(points) else "the file holds no faces", AGAIN, "endsolid")
    source.check_count("faces", len(points) // 3, 0)
    return points


def _block_corners(source: MeshSource, block: U8) -> F64:
    tokens = find_tokens(block)
    begins = tokens.padded[tokens.starts]
    word = np.flatnonzero(((begins | 32) == 118) & (tokens.ends - tokens.starts == 6))  # "vertex"
    if len(word) == 0:
        return np.empty((0, 3))
    if int(word[-1]) + 3 >= len(tokens.starts):
        raise source.refuse(TRUNCATED, AGAIN, "vertex")
    try:
        return decimals(tokens.picked((word[:, None] + np.arange(1, 4)).ravel())).reshape(-1, 3)
    except ValueError as fault:
        raise source.refuse(str(fault), AGAIN, "vertex") from None
