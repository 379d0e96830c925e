"""What an object stands on in a rest: a flat base, a foot ring, feet, or nothing to speak of.

Looks at the skin that lies within scan noise of the table and faces it, and at how it is spread round the polygon of
touching points. A base is called clear when it would make a person set the object down on it without a thought.
Takes the working mesh (scan axes, mm) and a rest; gives mm2 and degrees. Used by `survey.upright` and the survey.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Footprint, Rest
from scanprep.vectors import F64, rotation_to

# tolerance: of the diagonal: skin this near the table counts as base; assumed, 1 mm on a 160 mm object
BAND_SHARE = 0.006
_FLAT_SHARE = 0.5  # tolerance: of the polygon covered by base skin: flat; assumed
_LEAST_AREA_SHARE = 0.008  # tolerance: polygon over diagonal squared: below this it is a point; assumed
_CLEAR_AREA_SHARE = 0.012  # tolerance: the same for a clear base; assumed: a slender vase on a narrow foot has 0.02
_CLEAR_TIP_DEG = 7.0  # tolerance: assumed: less is a thing on edge, or on its head
_STEADY_TIP_DEG, _STEADY_AREA_SHARE = 40.0, 0.05  # tolerance: a flat thing lying on its face, however uneven; assumed
# tolerance: base skin in the band over that in three times the band (a ball: 1/3, a cylinder's side: 0.58)
_LEVEL_SHARE = 0.64
_ROUND_RING_SHARE = 0.45  # tolerance: the same for a ring (a torus: 0.58)
_WIDEST_GAP_DEG = 75.0  # tolerance: in the spread of touching points, for a ring; assumed


@dataclass(frozen=True, slots=True)
class Base:
    """A rest's footprint with what speaks for it."""

    footprint: Footprint
    contact_share: float  # of the polygon, covered by base skin
    clear: bool  # flat or ring-shaped, level, wide enough, steady
    on_feet: bool  # the same on separate level feet: three spots of a back can pass for that
    lying: bool  # so low and wide that it lies there whatever the base is like


def base_of(rest: Rest, skin: WorkingMesh, diagonal_mm: float) -> Base:
    """Return what an object stands on in a rest."""
    turn = rotation_to(np.asarray(rest.up), np.array([0.0, 0.0, 1.0]))
    heights = skin.vertices_mm @ turn[2]
    ground = float((np.asarray(rest.polygon_mm) @ turn[2]).min())
    band = BAND_SHARE * diagonal_mm
    near = (heights[skin.faces] - ground < 3 * band).all(axis=1)
    corners = skin.vertices_mm[skin.faces[near]] @ turn.T
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    down = -cross[:, 2] / 2
    facing = down > 0.4 * np.linalg.norm(cross, axis=1)  # within 37 degrees of straight down
    low = facing & (corners[:, :, 2] - ground < band).all(axis=1)
    contact = float(down[low].sum())
    level = contact / float(down[facing].sum()) if contact > 0 else 0.0
    polygon = np.asarray(rest.polygon_mm) @ turn.T
    share = contact / rest.area_mm2 if rest.area_mm2 > 0 else 0.0
    kind = _kind(rest, corners[low].reshape(-1, 3)[:, :2], polygon[:, :2], share, diagonal_mm)
    # A round belly or side touches more and more the thicker the band; what is cut level does not. A ring may be round.
    level_enough = level > (_ROUND_RING_SHARE if kind == "ring" else _LEVEL_SHARE)
    wide = rest.area_mm2 / diagonal_mm**2
    steady = level_enough and rest.tip_angle_deg >= _CLEAR_TIP_DEG and wide >= _CLEAR_AREA_SHARE
    clear, on_feet = steady and kind in ("flat", "ring"), steady and kind == "feet"
    lying = rest.tip_angle_deg >= _STEADY_TIP_DEG and wide >= _STEADY_AREA_SHARE
    footprint = Footprint(rest.area_mm2, rest.polygon_mm, rest.tip_angle_deg, kind)
    return Base(footprint, min(share, 1.0), clear, on_feet, lying)


def _kind(rest: Rest, base: F64, polygon: F64, share: float, diagonal_mm: float) -> str:
    if rest.area_mm2 < _LEAST_AREA_SHARE * diagonal_mm**2 or rest.tip_angle_deg <= 0:
        return "none"
    middle = polygon.mean(axis=0)
    spots = np.vstack([base, polygon])
    if share >= _FLAT_SHARE:
        return "flat"
    angle = np.sort(np.degrees(np.arctan2(spots[:, 1] - middle[1], spots[:, 0] - middle[0])))
    gap = float(np.diff(np.append(angle, angle[0] + 360.0)).max())
    return "ring" if gap < _WIDEST_GAP_DEG and len(polygon) > 6 and share > 0.04 else "feet"
