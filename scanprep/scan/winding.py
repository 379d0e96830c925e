"""Winding every face the same way round, so that a surface has one outside.

Faces that already agree with their neighbours form patches. Where two patches disagree one is turned over; which one
follows from a spanning tree over the patches that trusts the longest shared borders first. A surface that cannot be
wound (a Moebius strip, a self-crossing patch) keeps a few disagreeing edges.
Only the surface's consistency is decided here; which side is out comes after the holes are closed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import Edges, groups
from scanprep.vectors import F64, I32


def find_winding(edges: Edges, sheets: int, sheet: I32, area: F64) -> NDArray[np.bool_]:
    """Return the faces to turn so that neighbours agree; in each sheet the lesser area is turned.

    sheet  (m,) which of the `sheets` connected surfaces each face belongs to
    area   (m,) of each face
    """
    against = np.flatnonzero(~edges.agrees)
    if len(against) == 0:
        return np.zeros(len(sheet), dtype=np.bool_)
    patches, patch = groups(len(sheet), edges.first_face[edges.agrees], edges.second_face[edges.agrees])
    turned = _parity(patches, patch[edges.first_face[against]], patch[edges.second_face[against]])
    turn = turned[patch]
    total = np.bincount(sheet, weights=area, minlength=sheets)
    over = np.bincount(sheet[turn], weights=area[turn], minlength=sheets)
    return np.asarray(turn ^ (over > total / 2)[sheet])


def _parity(patches: int, a: NDArray[np.integer], b: NDArray[np.integer]) -> NDArray[np.bool_]:
    """Return which patches to turn, given the pairs that disagree (one row for each shared edge)."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

    differ = a != b
    low, high = np.minimum(a, b)[differ], np.maximum(a, b)[differ]
    border = coo_matrix((np.ones(len(low)), (low, high)), shape=(patches, patches)).tocsr()
    border.sum_duplicates()
    border.data = 1.0 / border.data
    tree = minimum_spanning_tree(border).tocoo()
    # A root joined to one patch of each tree makes one walk reach them all
    trees, label = groups(patches, tree.row.astype(np.int64), tree.col.astype(np.int64))
    roots = np.zeros(trees, dtype=np.int64)
    roots[label] = np.arange(patches)
    rows = np.concatenate([tree.row, np.full(trees, patches)])
    columns = np.concatenate([tree.col, roots])
    whole = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(patches + 1, patches + 1)).tocsr()
    order, before = breadth_first_order(whole, patches, directed=False)
    depth = np.zeros(patches + 1, dtype=np.int64)
    walk = order[1:].tolist()
    parent = before.tolist()
    steps = depth.tolist()
    for node in walk:
        steps[node] = steps[parent[node]] + 1
    return np.asarray(np.asarray(steps[:patches], dtype=np.int64) % 2 == 0)
