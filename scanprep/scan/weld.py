"""Which points of a scan are one and the same place.

Equal coordinates are found by a 64-bit mix of their bits and a sort; places that mix to the same number are compared,
so the answer is exact. Points in, indices out. Used on reading (STL) and in cleaning.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

I64 = NDArray[np.int64]
_FEW = 0.1  # tolerance: doubled share above which all are sorted
_PACKED_BITS = 22  # exact: three lattice numbers in one 64-bit word
_GLANCE = 4096  # tolerance: rows looked at first

# exact: odd multipliers that spread a hash
_ODD = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9))


def equal_points(points: NDArray[np.floating]) -> tuple[I64, I64]:
    """Return one row of each distinct place, and for every row which of those it is.

    points  (n, 3) finite or not; NaN equals only the same bits; -0.0 must have been made 0.0
    Gives (kept (k,), row (n,)) with points[kept][row] equal to points; places in order of first appearance.
    """
    mixed = _mixed(points)
    glance = mixed[:_GLANCE]
    if len(np.unique(glance)) < (1 - _FEW) * len(glance):
        return _grouped(points, mixed)
    ranked = np.sort(mixed)
    doubled = ranked[1:][ranked[1:] == ranked[:-1]]
    if len(doubled) == 0:
        every = np.arange(len(points))
        return every, every
    if len(doubled) > _FEW * len(points):
        return _grouped(points, mixed)
    # Few are doubled: only those need sorting out
    doubled = np.unique(doubled)
    at = np.minimum(np.searchsorted(doubled, mixed), len(doubled) - 1)
    some = np.flatnonzero(doubled[at] == mixed)
    kept, row = _grouped(points[some], mixed[some])
    stays = np.ones(len(points), dtype=np.bool_)
    stays[some] = False
    stays[some[kept]] = True
    number = np.cumsum(stays) - 1
    number[some] = number[some[kept]][row]
    return np.flatnonzero(stays), number


def _grouped(points: NDArray[np.floating], mixed: NDArray[np.uint64]) -> tuple[I64, I64]:
    order = _order(mixed)
    ranked = mixed[order]
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = ranked[1:] != ranked[:-1]
    first = order[new]
    rank = np.argsort(first)
    place = np.empty(len(first), dtype=np.int64)
    place[rank] = np.arange(len(first))
    row = np.empty(len(order), dtype=np.int64)
    row[order] = place[np.cumsum(new) - 1]
    kept = first[rank]
    found = points[kept][row]
    if ((found != points) & ~(np.isnan(found) & np.isnan(points))).any():
        _, kept, row = np.unique(points, axis=0, return_index=True, return_inverse=True)
        return kept.astype(np.int64), row.reshape(-1).astype(np.int64)
    return kept, row


def _order(mixed: NDArray[np.uint64]) -> I64:
    """Return a stable order; up to four million rows by one sort of the mix's high bits with the row packed below."""
    bits = max(len(mixed) - 1, 1).bit_length()
    if bits > _PACKED_BITS:
        return np.argsort(mixed, kind="stable")
    low = np.uint64((1 << bits) - 1)
    packed = np.sort((mixed & ~low) | np.arange(len(mixed), dtype=np.uint64))
    order = (packed & low).astype(np.int64)
    high = packed & ~low
    # Different places that share the high bits would lie mixed: then sort in full
    ranked = mixed[order]
    if ((high[1:] == high[:-1]) & (ranked[1:] != ranked[:-1])).any():
        return np.argsort(mixed, kind="stable")
    return order


def _mixed(points: NDArray[np.floating]) -> NDArray[np.uint64]:
    bits = np.ascontiguousarray(points).view(np.uint64 if points.dtype == np.float64 else np.uint32)
    total = np.zeros(len(points), dtype=np.uint64)
    for axis in range(3):
        word = bits[:, axis].astype(np.uint64) * _ODD[axis]
        word ^= word >> np.uint64(29)
        total = (total ^ word) * _ODD[(axis + 1) % 3]
    return total ^ (total >> np.uint64(32))
