"""Which tips can be reached from behind in one attitude, and what of them the viewer would see.

A tip is reached when the wire's end, just off the surface, sees a way out sideways or backwards. Where its face looks
at the viewer it may reach round the visible edge by at most min(3 mm, 6 % of the smaller visible extent).
Rays are cast in the body frame; directions come in the display frame. Used by `choose`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.limits import RISING, TipLimits
from scanprep.hold.places.spots import LEAST_PAD_mm, Spots, Surface
from scanprep.rules import HoldRules
from scanprep.vectors import F64

WIRE_CENTRE_mm = HoldRules().wire_centre_mm
EDGE_mm = HoldRules().edge_rounding_mm
FACING = HoldRules().faces_viewer_cos
GRID = 160  # tolerance: pixels along the longer side of the picture that ways are looked up in


@dataclass(frozen=True, slots=True, eq=False)
class Access:
    """One attitude's view of the candidate tips."""

    usable: NDArray[np.bool_]  # (t,)
    seen: NDArray[np.bool_]  # (t,) some part of the tip is not hidden behind the object
    cost: F64  # (t,) visible cost, 0 hidden at the back .. about 1
    limits_N: F64  # (f,) static limit of each face
    up: F64  # (3,) body frame
    bearing: NDArray[np.bool_]  # (t,) the seat carries weight from below


def wrap_mm(surface: Surface, rotation: F64, rules: HoldRules) -> float:
    """Return how far round the visible edge a tip may reach."""
    seen = np.ptp(surface.vertices_mm @ rotation[:2].T, axis=0)
    return max(min(rules.wrap_mm, rules.wrap_share * float(seen.min())), 2 * LEAST_PAD_mm + EDGE_mm)


def access(surface: Surface, spots: Spots, rotation: F64, limits: TipLimits, rules: HoldRules) -> Access:
    """Return what can be reached and what shows, for one (3, 3) rotation from scan to display axes."""
    back = -rotation[2]
    start = spots.points_mm - WIRE_CENTRE_mm * spots.normals
    reached = np.zeros(len(start), dtype=bool)
    for direction in _ways_out(rotation):
        reached |= ~surface.rays.blocked(start, np.broadcast_to(direction, start.shape))
    seen = ~surface.rays.blocked(start, np.broadcast_to(-back, start.shape))
    facing = -(spots.normals @ -back)
    edge_mm = _inside_outline_mm(surface, rotation, spots.points_mm)
    wraps = (facing <= FACING) | (edge_mm + spots.radius_mm <= wrap_mm(surface, rotation, rules) + 0.25)
    face_ok = reached & wraps
    ok = np.logical_and.reduceat(face_ok, spots.first)
    show = np.logical_or.reduceat(seen, spots.first)
    front = np.maximum.reduceat(np.where(seen, np.clip(facing, 0, 1), 0.0), spots.first)
    deep = spots.points_mm @ -back
    forward = np.maximum.reduceat((deep - deep.min()) / max(float(np.ptp(deep)), 1e-9), spots.first)
    up = rotation[1]
    rise = spots.normals @ up
    limits_N = np.array([limits.face_N(float(r), float(radius)) for r, radius in zip(rise, spots.radius_mm)])
    return Access(ok, show, 0.3 * show + 0.4 * front + 0.3 * forward, limits_N, up,
                  np.logical_or.reduceat(rise >= RISING, spots.first))


def _ways_out(rotation: F64) -> F64:
    """Directions in the body frame along which a wire may leave: backwards, aslant, sideways."""
    angle = np.arange(8) * (np.pi / 4)
    ring = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(8)])
    aslant = ring / np.sqrt(2) - np.array([0, 0, 1 / np.sqrt(2)])
    display = np.vstack([[0.0, 0.0, -1.0], aslant, ring + np.array([0, 0, -0.15])])
    return np.asarray(display @ rotation)


def _inside_outline_mm(surface: Surface, rotation: F64, points_mm: F64) -> F64:
    """How far each point lies inside the outline that the viewer sees, on the panel's plane."""
    from scipy.ndimage import distance_transform_edt

    flat = surface.vertices_mm @ rotation.T
    low, high = flat[:, :2].min(0), flat[:, :2].max(0)
    pitch = float((high - low).max()) / GRID
    counts = np.ceil((high - low) / pitch).astype(int) + 4
    x = low[0] + (np.arange(counts[0]) - 1.5) * pitch
    y = low[1] + (np.arange(counts[1]) - 1.5) * pitch
    cells = np.stack(np.meshgrid(x, y, indexing="ij"), -1).reshape(-1, 2)
    origin = np.column_stack([cells, np.full(len(cells), flat[:, 2].max() + 10)]) @ rotation
    covered = surface.rays.blocked(origin, np.broadcast_to(-rotation[2], origin.shape)).reshape(counts)
    depth = distance_transform_edt(covered) * pitch
    where = np.round((points_mm @ rotation[:2].T - np.array([x[0], y[0]])) / pitch).astype(int)
    where = np.clip(where, 0, counts - 1)
    return np.asarray(np.maximum(depth[where[:, 0], where[:, 1]] - pitch / 2, 0.0))
