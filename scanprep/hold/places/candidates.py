"""All the tips an object offers: pads and shelves that sit, lips round its edges, forks over its thin sections.

Mirror-symmetric objects get them in mirrored pairs. Body frame (scan axes about the centre of mass), mm.
Used by `find`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scanprep.brief import ObjectBrief
from scanprep.hold.places.edges import Groups, fork_tips, lipped_tips
from scanprep.hold.places.spots import Spots, Surface, allowed, fitting_pads, spread_points
from scanprep.rules import HoldRules
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64

Places = Callable[[F64], NDArray[np.bool_]]  # points (n, 3) -> which of them

PLACES = 700  # tolerance: spread over the surface
MOST_OF_A_KIND = 260  # tolerance: tips of one kind that are kept; the search's time goes with them
TWIN_mm = 2.0  # tolerance: two tips are each other's mirror image within this, and 12 deg
TWIN_cos = 0.978  # tolerance: likewise


def candidate_tips(surface: Surface, working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: HoldRules,
                   plane: F64 | None, wrap_mm: float, seed: int = 0, fragile: Places | None = None) -> Spots:
    """Return every tip worth trying, no-touch regions left out.

    plane    normal of the mirror plane through the centre of mass, body frame; None where there is none
    wrap_mm  the deepest reach round a visible edge, for forks
    fragile  which points (n, 3), body frame, lie on a limb that breaks first: no tip stands there
    """
    points, outward = spread_points(surface, PLACES, seed, plane)
    if fragile is not None and not (weak := fragile(points)).all():
        points, outward = points[~weak], outward[~weak]
    pads = fitting_pads(surface, points, outward, rules)
    pads = pads.take(allowed(pads.points_mm, pads.radius_mm, brief, survey, working))
    single = Groups(pads.points_mm[:, None], pads.normals[:, None], pads.radius_mm[:, None])
    lipped = _clear(lipped_tips(surface, pads, rules, plane), brief, survey, working)
    forks = _clear(fork_tips(surface, points, outward, rules, wrap_mm, plane), brief, survey, working)
    rng = np.random.default_rng(seed + 1)
    kinds = np.where(pads.radius_mm >= rules.shelf_radius_mm, "shelf", "pad")
    parts = [(single, kinds), (lipped, np.full(len(lipped.points_mm), "lipped")),
             (forks, np.full(len(forks.points_mm), "fork"))]
    return _gathered([_thinned(group, kind, plane, rng) for group, kind in parts], plane)


def _clear(groups: Groups, brief: ObjectBrief, survey: Survey, working: WorkingMesh) -> Groups:
    count = groups.points_mm.shape[1] if groups.points_mm.ndim == 3 else 1
    flat = allowed(groups.points_mm.reshape(-1, 3), groups.radius_mm.reshape(-1), brief, survey, working)
    return groups.take(np.all(flat.reshape(-1, count), axis=1))


def _thinned(groups: Groups, kind: NDArray[np.str_], plane: F64 | None,
             rng: np.random.Generator) -> tuple[Groups, NDArray[np.str_]]:
    """At most so many of a kind; those that have a twin are kept with it."""
    count = len(groups.points_mm)
    if count <= MOST_OF_A_KIND:
        return groups, kind
    twin = np.full(count, -1) if plane is None else _twins(groups, kind, plane)
    order = rng.permutation(count)
    kept: dict[int, None] = {}
    for i in (*order[twin[order] >= 0], *order[twin[order] < 0]):
        if len(kept) >= MOST_OF_A_KIND:
            break
        kept[int(i)] = None
        if twin[i] >= 0:
            kept[int(twin[i])] = None
    which = np.array(sorted(kept))
    return groups.take(which), kind[which]


def _twins(groups: Groups, kind: NDArray[np.str_], plane: F64) -> NDArray[np.int64]:
    """For each tip the one that is its mirror image in all faces, itself where it lies on the plane; -1 for none."""
    from scipy.spatial import cKDTree

    if len(groups.points_mm) == 0:
        return np.zeros(0, dtype=np.int64)
    faces = groups.points_mm.shape[1]
    mirror = np.eye(3) - 2 * np.outer(plane, plane)
    points, normals = groups.points_mm @ mirror, groups.normals @ mirror
    tree = cKDTree(groups.points_mm.mean(1))
    _, near = tree.query(points.mean(1), k=min(6, len(points)), distance_upper_bound=TWIN_mm)
    near = near.reshape(len(points), -1)
    twin = np.full(len(points), -1, dtype=np.int64)
    orders = [list(range(faces))] if faces < 3 else [[0, 1, 2], [0, 2, 1]]  # a fork's jaws change places
    for i, others in enumerate(near):
        for j in others[others < len(points)]:
            if kind[i] == kind[j] and any(
                np.all(np.linalg.norm(points[i][order] - groups.points_mm[j], axis=1) < TWIN_mm)
                and np.all(np.einsum("fk,fk->f", normals[i][order], groups.normals[j]) > TWIN_cos) for order in orders
            ):
                twin[i] = j
                break
    mutual = (twin >= 0) & (twin[np.maximum(twin, 0)] == np.arange(len(twin)))
    return np.where(mutual, twin, -1)


def _gathered(parts: list[tuple[Groups, NDArray[np.str_]]], plane: F64 | None) -> Spots:
    points, normals, radius, counts, kinds, mirrors = [], [], [], [], [], []
    before = 0
    for groups, kind in parts:
        if len(kind) == 0:
            continue
        twin = np.full(len(kind), -1, dtype=np.int64) if plane is None else _twins(groups, kind, plane)
        mirrors.append(np.where(twin >= 0, twin + before, -1))
        before += len(kind)
        points.append(groups.points_mm.reshape(-1, 3))
        normals.append(groups.normals.reshape(-1, 3))
        radius.append(groups.radius_mm.reshape(-1))
        counts.append(np.full(len(kind), groups.points_mm.shape[1], dtype=np.int64))
        kinds.append(kind)
    if not points:
        nothing = np.zeros(0, dtype=np.int64)
        return Spots(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0), nothing, nothing, np.zeros(0, dtype=str), nothing)
    count = np.concatenate(counts)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    return Spots(np.vstack(points), np.vstack(normals), np.concatenate(radius), first, count, np.concatenate(kinds),
                 np.concatenate(mirrors))


