"""Where one object may not stand beside another: convex regions of their offset on the panel.

Body and mount are each taken as their convex hull. Object b at offset r is too near when the hulls come within the gap,
that is when r lies in the slice z = 0 of a's hull less b's, grown by the gap. The slice's support in a direction n of
the panel is, by duality, the least over slants phi of the solid's support in direction (n cos phi, sin phi), over
cos phi; any slant gives a true bound, so a finite fan of them errs on the far side only.

    r = b's centre of mass less a's, on the panel; too near only where n_k . r < h_k for every k

Holes keep a plain circle round each other. mm, face or panel frame. Used by `nudge`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.case.placed import PlacedObject
from scanprep.vectors import F64

_TURNS = 32  # tolerance: directions on the panel; even, so that each has its opposite
_SLANTS_deg = np.linspace(-84.0, 84.0, 29)  # tolerance: odd: level directions are among them
_ANGLES = np.arange(_TURNS) * 2 * np.pi / _TURNS  # exact: a whole turn
NORMALS: F64 = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])


@dataclass(frozen=True, slots=True, eq=False)
class KeepOut:
    """One convex region that an offset must stay out of: outside where some normals[k] @ r >= reach_mm[k]."""

    normals: F64  # (k, 2) unit
    reach_mm: F64  # (k,)

    def outside_by_mm(self, offset_mm: F64) -> F64:
        """Return for each side how far an offset lies beyond it, (k,); outside where any is >= 0."""
        return np.asarray(self.normals @ offset_mm - self.reach_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Supports:
    """One object's parts by their reach in a fan of directions, about its centre of mass."""

    table_mm: tuple[F64, ...]  # one a part, (turns, slants)
    low_mm: tuple[float, ...]  # z of each part's lowest and highest point
    high_mm: tuple[float, ...]


def supports_of(placed: PlacedObject) -> Supports:
    """Return an object's reach in every direction of the fan, body and mount apart."""
    parts = [placed.body.vertices_mm]
    if placed.mount:
        parts.append(np.vstack([solid.vertices_mm for solid in placed.mount]))
    return Supports(tuple(_reach(points) for points in parts), tuple(float(p[:, 2].min()) for p in parts),
                    tuple(float(p[:, 2].max()) for p in parts))


def _reach(points_mm: F64) -> F64:
    """Return how far a cloud of points reaches in each direction of the fan, (turns, slants)."""
    phi = np.radians(_SLANTS_deg)
    fan = np.concatenate([NORMALS[:, None] * np.cos(phi)[:, None], np.broadcast_to(
        np.sin(phi)[:, None], (_TURNS, len(phi), 1))], axis=2).reshape(-1, 3)
    corners = _hull_corners(points_mm)
    reach = np.full(len(fan), -np.inf)
    for start in range(0, len(corners), 500):  # in pieces, so that the products stay in the cache
        np.maximum(reach, (corners[start : start + 500] @ fan.T).max(axis=0), out=reach)
    return reach.reshape(_TURNS, len(phi))


def _hull_corners(points_mm: F64) -> F64:
    """Return the points that can be furthest in some direction."""
    import manifold3d

    hull = manifold3d.Manifold.hull_points(points_mm)
    return points_mm if hull.is_empty() else np.asarray(hull.to_mesh().vert_properties[:, :3], dtype=np.float64)


def body_keep_outs(a: Supports, b: Supports, lift_mm: float, gap_mm: float) -> tuple[KeepOut, ...]:
    """Return the regions that b's offset from a must stay out of, one a pair of parts.

    lift_mm  how much further b's centre of mass stands off the panel than a's
    """
    phi = np.radians(_SLANTS_deg)
    regions = []
    for i, one in enumerate(a.table_mm):
        for j, other in enumerate(b.table_mm):
            apart = max(b.low_mm[j] + lift_mm - a.high_mm[i], a.low_mm[i] - b.high_mm[j] - lift_mm)
            if apart >= gap_mm:
                continue  # one passes wholly before the other
            opposite = np.roll(other, _TURNS // 2, axis=0)[:, ::-1]
            reach = (one + opposite - lift_mm * np.sin(phi) + gap_mm) / np.cos(phi)
            regions.append(KeepOut(NORMALS, reach.min(axis=1)))
    return tuple(regions)


def circle_keep_out(radius_mm: float) -> KeepOut:
    """Return the region round a hole that another hole's axis must stay out of."""
    return KeepOut(NORMALS, np.full(_TURNS, radius_mm))


def deepest(regions: Sequence[KeepOut], offset_mm: F64) -> float:
    """Return how deep an offset lies in the regions, in mm; 0 outside of all."""
    return max((float(-r.outside_by_mm(offset_mm).max()) for r in regions), default=0.0)
