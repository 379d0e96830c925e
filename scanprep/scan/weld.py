"""Which points of a scan are one and the same place.

Equal coordinates are found by a 64-bit mix of their bits and one sort; two different places that mix to the same number
are told apart by comparing them, so the answer is exact. Points in, indices out. Used on reading (STL) and in cleaning.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

I64 = NDArray[np.int64]
_ODD = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9))


def equal_points(points: NDArray[np.floating]) -> tuple[I64, I64]:
    """Return one row of each distinct place, and for every row which of those it is.

    points  (n, 3) finite or not; NaN equals only the same bits; -0.0 must have been made 0.0
    Gives (kept (k,), row (n,)) with points[kept][row] equal to points.
    """
    mixed = _mixed(points)
    order = np.argsort(mixed, kind="stable")
    ranked = mixed[order]
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = ranked[1:] != ranked[:-1]
    same = np.flatnonzero(~new)
    here, before = points[order[same]], points[order[same - 1]]
    if ((here != before) & ~(np.isnan(here) & np.isnan(before))).any():
        _, kept, row = np.unique(points, axis=0, return_index=True, return_inverse=True)
        return kept.astype(np.int64), row.reshape(-1).astype(np.int64)
    # Numbered by first appearance, so that neighbours in the file stay neighbours in memory
    first = order[new]
    rank = np.argsort(first)
    place = np.empty(len(first), dtype=np.int64)
    place[rank] = np.arange(len(first))
    row = np.empty(len(order), dtype=np.int64)
    row[order] = place[np.cumsum(new) - 1]
    return first[rank], row


def _mixed(points: NDArray[np.floating]) -> NDArray[np.uint64]:
    bits = np.ascontiguousarray(points).view(np.uint64 if points.dtype == np.float64 else np.uint32)
    total = np.zeros(len(points), dtype=np.uint64)
    for axis in range(3):
        word = bits[:, axis].astype(np.uint64) * _ODD[axis]
        word ^= word >> np.uint64(29)
        total = (total ^ word) * _ODD[(axis + 1) % 3]
    return total ^ (total >> np.uint64(32))
