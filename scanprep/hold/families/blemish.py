"""Where an edge is no place for a claw though a pad sits there: ragged, chipped, split or toothed.

A mountmaker runs a finger along the edge and stays a pad's breadth away from every notch: a chip goes on from where it
is pressed, a corroded edge crumbles, a tooth breaks, and on a ragged edge a claw slides to the next notch anyhow. A
smooth edge is a line, straight or evenly curved, as far as a claw is felt to either side; what strays from such a line
is ragged. What an object's edge is like everywhere is its usual edge: where all of it is ragged it is held all the
same. A price, no ban. Display frame, mm.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.rules import HoldRules
from scanprep.vectors import F64

_NEAR = 60  # tolerance: places of the outline looked at about one
_LEAST = 8  # tolerance: of them, fewer of which tell nothing
_OF_SIZE = 0.08  # tolerance: of an outline's larger extent, further than which an edge is felt on no small thing
_PIXELS = 0.5  # tolerance: of the raster, by which a smooth edge's places stray
_USUAL = 0.25  # tolerance: of an object's places, in order, whose edge counts as usual
_TIMES_USUAL = 1.5  # tolerance: as the usual ground in `places.plain`
_STIFF = 1e-6  # tolerance: keeps fits on few places solvable


def ragged(edge_mm: F64, groups: NDArray[np.int64], kept: NDArray[np.int64], outward: F64, pitch_mm: float,
           rules: HoldRules) -> F64:
    """Return how ragged an outline is about some of its places (k,): 0 smooth .. 1 ragged.

    edge_mm   (n, 2) every place of the outline
    groups    (n,) which edge each belongs to, the outer one or an opening's
    kept      (k,) which places are asked for
    outward   (k, 2) unit, across the edge there
    pitch_mm  of the raster that the places lie on
    """
    from scipy.spatial import cKDTree

    if len(kept) == 0:
        return np.zeros(0)
    away, near = cKDTree(edge_mm).query(edge_mm[kept], k=min(_NEAR, len(edge_mm)))
    size = float(np.ptp(edge_mm, axis=0).max())
    reach = max(min(rules.edge_reach_mm, _OF_SIZE * size), _LEAST / 2 * pitch_mm)
    counts = (away <= reach) & (groups[near] == groups[kept][:, None])
    off = (edge_mm[near] - edge_mm[kept][:, None]) / reach
    out = np.einsum("nmk,nk->nm", off, outward)
    along = off[..., 0] * -outward[:, 1:] + off[..., 1] * outward[:, :1]
    weight = counts.astype(np.float64)
    terms = np.stack([np.ones_like(along), along, along**2], axis=-1)
    weighed = terms * weight[..., None]
    square = np.einsum("nmt,nms->nts", weighed, terms) + _STIFF * np.eye(3)
    best = np.linalg.solve(square, np.einsum("nmt,nm->nt", weighed, out)[..., None])[..., 0]
    strays = np.abs(out - np.einsum("nmt,nt->nm", terms, best)) * reach
    many = weight.sum(axis=1)
    mean = np.where(many >= _LEAST, (weight * strays).sum(axis=1) / np.maximum(many, 1.0), 0.0)
    least = max(_PIXELS * pitch_mm, _TIMES_USUAL * float(np.quantile(mean, _USUAL)))
    return np.asarray(np.clip((mean - least) / rules.edge_ragged_mm, 0.0, 1.0))
