"""How near two holes come to each other inside the sheet.

A hole is a cylinder with the cone of the drill's point, drilled square to a face. Axes are parallel whichever face a
hole starts from, so the nearest points of two of them lie in the plane through both axes (each is its own mirror image
in it, and convex): the gap is that between two flat outlines, exact. Through the least thickness the sheet may have.

    A |====>         <====| B     the outlines in the plane of both axes
      |  ====>            |
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from scanprep.brief import PanelBrief
from scanprep.panel.faces import FaceName, face_to_panel
from scanprep.post.drill import least_thickness_mm
from scanprep.post.records import Hole
from scanprep.vectors import F64


def _face(hole: Hole) -> FaceName:
    if hole.face not in ("A", "B") or hole.from_left_mm is None or hole.y_mm is None:
        raise ValueError("this hole has not been placed on a face yet")
    return "A" if hole.face == "A" else "B"


def hole_axis_mm(hole: Hole, panel: PanelBrief) -> tuple[float, float]:
    """Return where a hole's axis stands in the panel frame (face A's x and y). Raises ValueError while unplaced."""
    face = _face(hole)
    point = face_to_panel(face, panel.width_mm, 0.0).points(np.array([hole.from_left_mm, hole.y_mm, 0.0]))
    return float(point[0]), float(point[1])


def hole_profile_mm(hole: Hole, thickness_mm: float) -> F64:
    """Return a hole's outline in a plane through its axis, (k, 2) as (from the axis, z), convex.

    z runs from 0 at face A to -thickness at face B. A through-hole is a plain cylinder.
    """
    radius = hole.drill_diameter_mm / 2
    start, way = (0.0, -1.0) if _face(hole) == "A" else (-thickness_mm, 1.0)
    if hole.through:
        return np.array([[-radius, 0.0], [radius, 0.0], [radius, -thickness_mm], [-radius, -thickness_mm]])
    shoulder, tip = start + way * hole.depth_mm, start + way * (hole.depth_mm + hole.point_depth_mm)
    return np.array([[-radius, start], [radius, start], [radius, shoulder], [0.0, tip], [-radius, shoulder]])


def _crossing(one: F64, other: F64) -> bool:
    """Whether two convex outlines overlap: no edge of either parts them (separating axes)."""
    for outline in (one, other):
        edges = np.roll(outline, -1, axis=0) - outline
        for normal in np.column_stack([edges[:, 1], -edges[:, 0]]):
            if not normal.any():
                continue
            a, b = one @ normal, other @ normal
            if a.max() < b.min() or b.max() < a.min():
                return False
    return True


def _corner_to_edges(points: F64, outline: F64) -> float:
    start, run = outline, np.roll(outline, -1, axis=0) - outline
    length2 = np.maximum((run**2).sum(axis=1), 1e-300)
    along = np.clip(((points[:, None] - start) * run).sum(axis=2) / length2, 0.0, 1.0)
    nearest = start + along[..., None] * run
    return float(np.linalg.norm(points[:, None] - nearest, axis=2).min())


def outline_gap_mm(one: F64, other: F64) -> float:
    """Return the distance between two convex outlines, 0 where they overlap."""
    if _crossing(one, other):
        return 0.0
    return min(_corner_to_edges(one, other), _corner_to_edges(other, one))


def hole_gap_mm(a: Hole, b: Hole, panel: PanelBrief) -> float:
    """Return the acrylic left between two holes of one panel, in mm; 0 where they meet.

    Through the least thickness: as measured, or nominal less its tolerance. Void holes count like any other. Raises
    ValueError where a hole has not been placed.
    """
    thickness = least_thickness_mm(panel.thickness_mm, panel.thickness_measured)
    (ax, ay), (bx, by) = hole_axis_mm(a, panel), hole_axis_mm(b, panel)
    apart = math.hypot(bx - ax, by - ay)
    return outline_gap_mm(hole_profile_mm(a, thickness), hole_profile_mm(b, thickness) + np.array([apart, 0.0]))


def _radius_at(hole: Hole, z_mm: float, thickness_mm: float) -> float:
    radius = hole.drill_diameter_mm / 2
    if hole.through:
        return radius
    into = -z_mm if hole.face == "A" else z_mm + thickness_mm
    if into < 0:
        return 0.0
    beyond = into - hole.depth_mm
    return radius if beyond <= 0 else max(0.0, radius * (1 - beyond / hole.point_depth_mm))


def _lens_mm2(r: float, s: float, apart: float) -> float:
    """Return the area common to two circles."""
    if apart >= r + s or min(r, s) <= 0:
        return 0.0
    if apart <= abs(r - s):
        return math.pi * min(r, s) ** 2
    a = (apart**2 + r**2 - s**2) / (2 * apart)
    b = apart - a
    return (r**2 * math.acos(a / r) - a * math.sqrt(max(0.0, r**2 - a**2))
            + s**2 * math.acos(b / s) - b * math.sqrt(max(0.0, s**2 - b**2)))


def hole_overlap_mm3(a: Hole, b: Hole, panel: PanelBrief) -> float:
    """Return the volume that two holes have in common, 0 where they do not meet."""
    from scipy.integrate import quad

    thickness = least_thickness_mm(panel.thickness_mm, panel.thickness_measured)
    (ax, ay), (bx, by) = hole_axis_mm(a, panel), hole_axis_mm(b, panel)
    apart = math.hypot(bx - ax, by - ay)
    # the radii have corners at each shoulder and tip
    corners = sorted({float(np.clip(z, -thickness, 0.0)) for hole in (a, b)
                      for z in hole_profile_mm(hole, thickness)[:, 1]} | {-thickness, 0.0})

    def common(z_mm: float) -> float:
        return _lens_mm2(_radius_at(a, z_mm, thickness), _radius_at(b, z_mm, thickness), apart)

    return float(sum(quad(common, low, high)[0] for low, high in itertools.pairwise(corners)))
