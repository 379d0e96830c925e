"""Each cap over what was not scanned, with the skin round its rim: what tells what the cap may hide.

A cap is flat. How the skin meets it says what the true surface did: skin that runs on smoothly makes a shallow dome
over a scanning hole; walls that stand across the cap were cut off there, under the object or at a mouth.

              dome                     cut off
         _.-'''''-._                  |       |
       /' - - cap - '\\               |- cap -|      slice: what is missing down to the table
                                     ==table====

Takes a cleaned scan (scan axes, mm). Used by `survey.capping`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import groups
from scanprep.scan.ends import EXTREME_SHARE
from scanprep.scan.mesh import Cleaned
from scanprep.vectors import F64, I32

_STEEPEST = 2.0  # tolerance: a wall is never followed further than this many times sideways as down; assumed


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """One cap and the skin that meets it."""

    corners_mm: F64  # (k, 3, 3) the cap's triangles
    vector_mm2: F64  # (3,) area vector, outward
    centre_mm: F64  # (3,)
    turn_deg: float  # how far the skin turns from the cap's plane at the rim: 0 flat on, + convex, 90 cut off square
    edges_mm: F64  # (e, 3) middles of the rim's edges
    lengths_mm: F64  # (e,) the edges' lengths, seen square to the cap
    sideways: F64  # (e,) how far the wall at each spreads for 1 mm further out; negative where it closes in
    at_end: bool  # nothing of the object lies beyond it

    @property
    def area_mm2(self) -> float:
        """Area of the flat cap; a ragged rim's teeth cancel."""
        return float(np.linalg.norm(self.vector_mm2))

    @property
    def outward(self) -> F64:
        """Unit normal, out of the object."""
        return self.vector_mm2 / max(self.area_mm2, 1e-300)

    @property
    def radius_mm(self) -> float:
        """Radius of the disc of the same area."""
        return float(np.sqrt(self.area_mm2 / np.pi))

    @property
    def span_mm(self) -> float:
        """Twice area over border: a disc's radius, a strip's width."""
        return 2 * self.area_mm2 / max(float(self.lengths_mm.sum()), 1e-300)

    @property
    def roundness(self) -> float:
        """4 pi area over border squared: 1 for a disc, near 0 for a long strip or a thin ring."""
        return min(1.0, 4 * np.pi * self.area_mm2 / max(float(self.lengths_mm.sum()), 1e-300) ** 2)

    @property
    def half_span_mm(self) -> float:
        """A disc's radius, half a strip's width."""
        return self.span_mm * (1 + self.roundness) / 2


def rims_of(cleaned: Cleaned, extremes_mm: F64) -> tuple[Rim, ...]:
    """Return the caps of a cleaned scan, largest first. extremes_mm (n, 3): the corners of its hull, scan axes."""
    if cleaned.cap_faces == 0:
        return ()
    # Notches of a ragged rim that were filled along the surface count as skin
    first = len(cleaned.faces) - cleaned.cap_faces + cleaned.notch_faces
    skin, caps = cleaned.faces[:first], cleaned.faces[first:]
    if len(caps) == 0:
        return ()
    label = _caps(caps)
    border, normals = _border(cleaned.vertices_mm, caps, skin)
    rims = [_rim(cleaned.vertices_mm, caps[label == k], border[label[border[:, 2]] == k],
                 normals[label[border[:, 2]] == k], extremes_mm) for k in np.unique(label)]
    return tuple(sorted(rims, key=lambda rim: -rim.area_mm2))


def _caps(faces: I32) -> NDArray[np.int32]:
    """Return which cap each face belongs to: faces that share a vertex are one."""
    used, local = np.unique(faces, return_inverse=True)
    owner = np.repeat(np.arange(len(faces)), 3)
    return groups(len(faces) + len(used), owner, local.ravel() + len(faces))[1][: len(faces)]


def _border(vertices: F64, caps: I32, skin: I32) -> tuple[I32, F64]:
    """Return the caps' border edges as (start, end, cap face), and the unit normal of the skin across each; rows whose
    skin has no area are left out."""
    touched = np.zeros(len(vertices), dtype=np.bool_)
    touched[caps.ravel()] = True
    near = skin[touched[skin].sum(axis=1) >= 2]
    size = len(vertices)
    of_skin = near.astype(np.int64) * size + np.roll(near, -1, axis=1)
    of_caps = np.roll(caps, -1, axis=1).astype(np.int64) * size + caps  # as the skin across would run
    order = np.argsort(of_skin.ravel(), kind="stable")
    keys = of_skin.ravel()[order]
    at = np.minimum(np.searchsorted(keys, of_caps.ravel()), max(len(keys) - 1, 0))
    found = np.flatnonzero(keys[at] == of_caps.ravel()) if len(keys) else np.zeros(0, np.int64)
    face = near[order[at[found]] // 3]
    a, b, c = (vertices[face[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    length = np.linalg.norm(cross, axis=1)
    real = length > 0
    found = found[real]
    start, end = caps.ravel()[found], np.roll(caps, -1, axis=1).ravel()[found]
    return np.stack([start, end, found // 3], axis=1).astype(np.int32), cross[real] / length[real][:, None]


def _rim(vertices: F64, cap: I32, border: I32, normals: F64, extremes_mm: F64) -> Rim:
    corners = vertices[cap]
    pieces = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    vector = pieces.sum(axis=0)
    area = float(np.linalg.norm(vector))
    sizes = np.linalg.norm(pieces, axis=1)
    centre = (corners.mean(axis=1) * sizes[:, None]).sum(axis=0) / max(float(sizes.sum()), 1e-300)
    if area <= 0 or len(border) == 0:
        return Rim(corners, vector, centre, 90.0, np.zeros((0, 3)), np.zeros(0), np.zeros(0), False)
    outward = vector / area
    first, second = vertices[border[:, 0]], vertices[border[:, 1]]
    aside = np.cross(second - first, outward)  # in the cap's plane, away from it
    length = np.linalg.norm(aside, axis=1)
    ahead, across = normals @ outward, np.einsum("ij,ij->i", normals, aside) / np.maximum(length, 1e-300)
    turn = np.degrees(np.arctan2(float((across * length).sum()), float((ahead * length).sum())))
    # Walls followed outward by 1 mm go sideways by -ahead / level, along their own level normal: a tooth's slanting
    # edge counts with what it spans across that way.
    level = np.sqrt(np.maximum(1 - ahead**2, 0.01))
    sideways = np.clip(-ahead / level, -_STEEPEST, _STEEPEST) * across / level
    beyond = float((extremes_mm @ outward).max() - (corners @ outward).max())
    return Rim(corners, vector, centre, float(turn), (first + second) / 2, length, sideways,
               beyond < EXTREME_SHARE * float(np.linalg.norm(np.ptp(extremes_mm, axis=0))))
