"""What an end of the object may lack where it was cut off and no table tells how far it went on.

Two things still speak. A skin that bends under as it nears the rim goes on bending: a ring's tube closes in an arc. And
a thing scanned inside and out has a floor above its missing underside: that floor is about as thick as its wall
(common practice in thrown and raised vessels), though the rim may even have been cut off above it. Where neither
speaks the best guess is nothing, and only the interval says how much there may be.
Takes a rim and the skin (scan axes, mm). Used by `survey.capping` alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import face_normals
from scanprep.survey.rims import Rim
from scanprep.vectors import F64, I32

# tolerance: of the half span, of the median edge: how far from the rim the bend is read, the greater; assumed
_BAND = (0.5, 5.0)
_SAME_SKIN_DEG = 45.0  # tolerance: a face that turns further from the rim's own slope is another skin
_LIKE_AN_ARC = (0.6, 1.6)  # tolerance: bend times half span over sine of the slope: 1 on a ball or a tube; assumed
_LEAST_FACES = 12  # tolerance: fewer say nothing of a bend
_FACING_IN = -0.8  # tolerance: cosine: an inner floor shows its face away from the cap
_COVERS = 0.3  # tolerance: of the cap that must have a floor above it; assumed
_WALL_BETWEEN = 0.5  # tolerance: of the wall; assumed
_CLOSEST = 0.1  # tolerance: quantile of the floor's depth: where it is thinnest
_MOST_FACES = 600  # tolerance: a thinned sample of the floor is enough for a quantile


@dataclass(frozen=True, slots=True, eq=False)
class SkinFaces:
    """The faces that were scanned, caps left out. Scan axes."""

    corners_mm: F64  # (m, 3, 3)
    middles_mm: F64  # (m, 3)
    normals: F64  # (m, 3) unit, outward; zero where a face has no area


def skin_faces(vertices_mm: F64, faces: I32) -> SkinFaces:
    """Return the faces (m, 3) of a mesh with their middles and normals."""
    corners = vertices_mm[faces]
    return SkinFaces(corners, corners.mean(axis=1), face_normals(vertices_mm, faces))


def arc_slope_deg(rim: Rim, skin: SkinFaces) -> float | None:
    """Return at what angle to the cap the skin leaves the rim, where it bends under as an arc that will close.

    None where it does not bend so. The rim's own faces stand steeper than the rim, by half a face's bend.
    """
    from scipy.spatial import cKDTree

    slope = np.radians(rim.turn_deg)
    if not 0 < slope < np.pi / 2 or len(rim.edges_mm) < 3:
        return None
    half = rim.half_span_mm
    band = max(_BAND[0] * half, _BAND[1] * float(np.median(rim.lengths_mm)))
    behind = (rim.centre_mm - skin.middles_mm) @ rim.outward
    near = np.flatnonzero((behind < 1.5 * band) & (behind > -band / 2))
    away, _ = cKDTree(rim.edges_mm).query(skin.middles_mm[near], distance_upper_bound=band)
    turned = np.arccos(np.clip(skin.normals[near] @ rim.outward, -1, 1))
    own = np.isfinite(away) & (np.abs(turned - slope) < np.radians(_SAME_SKIN_DEG))
    if np.count_nonzero(own) < _LEAST_FACES or float(np.ptp(away[own])) < 0.2 * band:
        return None
    bend_per_mm, at_rim = np.polyfit(away[own], turned[own], 1)
    if at_rim <= 0 or not _LIKE_AN_ARC[0] < bend_per_mm * half / np.sin(at_rim) < _LIKE_AN_ARC[1]:
        return None
    return float(np.degrees(at_rim))


def floor_above_mm(rim: Rim, skin: SkinFaces, wall_mm: float) -> float | None:
    """Return how far inside the cap the floor of a vessel lies, negative where it pokes out; None where there is none.

    wall_mm  typical thickness of the wall, as rays saw it: a floor deeper than twice that is none
    """
    from scipy.spatial import cKDTree

    behind = (rim.centre_mm - skin.middles_mm) @ rim.outward
    reach = float(np.linalg.norm(rim.edges_mm - rim.centre_mm, axis=1).max(initial=0.0))
    aside = skin.middles_mm - rim.centre_mm
    aside = aside + behind[:, None] * rim.outward
    facing = (skin.normals @ rim.outward < _FACING_IN) & (np.abs(behind) < 2 * wall_mm)
    found = np.flatnonzero(facing & (np.linalg.norm(aside, axis=1) < reach))
    if len(found) < _LEAST_FACES:
        return None
    found = found[:: max(1, len(found) // _MOST_FACES)]
    within, covered = _under(rim, rim.centre_mm + aside[found])
    if covered < _COVERS:
        return None
    # A wall stands between a vessel's floor and the rim; the top of a foot or of a flat thing reaches the rim
    corners = skin.corners_mm[found[within]].reshape(-1, 3)
    corners = corners + np.outer((rim.centre_mm - corners) @ rim.outward, rim.outward)
    to_middle, edge = cKDTree(rim.edges_mm).query(corners)
    to_edge = np.sqrt(np.maximum(to_middle**2 - (rim.lengths_mm[edge] / 2) ** 2, 0.0))
    if float(to_edge.min()) < _WALL_BETWEEN * wall_mm:
        return None
    return float(np.quantile(behind[found][within], _CLOSEST))


def _under(rim: Rim, points_mm: F64) -> tuple[NDArray[np.bool_], float]:
    """Return which points of the cap's plane lie in the cap, and what share of the cap has one near it."""
    a, b, c = (rim.corners_mm[:, k] for k in range(3))
    inside = np.zeros(len(points_mm), dtype=np.bool_)
    for k, point in enumerate(points_mm):
        sides = [np.cross(q - p, point - p) @ rim.outward >= 0 for p, q in ((a, b), (b, c), (c, a))]
        inside[k] = bool((sides[0] & sides[1] & sides[2]).any())
    if not inside.any():
        return inside, 0.0
    flat = points_mm[inside]
    spread = float(np.sqrt(((flat - flat.mean(axis=0)) ** 2).sum(axis=1).mean()))
    return inside, min(1.0, 2 * spread**2 / max(rim.radius_mm**2, 1e-300))

