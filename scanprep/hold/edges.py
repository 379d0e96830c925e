"""Tips that touch in more than one place: lipped round an edge, or a fork over something thin.

    lipped                         fork
      | lip                         jaw  seat  jaw
    __|                               |  ___  |
    seat  object                      | |   | |   object between the jaws
                                      | |   | |

Each face is found on the mesh by rays and must take a small pad of its own. Body frame, mm. Used by `spots`' callers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.spots import APPROACH_mm, LEAST_PAD_mm, Pads, Surface, fit_pads, tangents
from scanprep.settings import HoldSettings
from scanprep.vectors import F64, unit

LIP_SPAN_mm = 9.0  # from a lipped tip's seat to its lip; assumed: what one bend of a 1.5-2 mm wire takes
FORK_OPEN_mm = 12.0  # widest section a wire fork straddles; assumed
FORK_DEPTHS_mm = (1.5, 2.2, 3.2)
JAW_NORMALS_cos = 0.766  # a jaw faces its opposite within 40 deg
LIP_LEAST_cos, LIP_MOST_cos = -0.64, 0.64  # a lip stands 50-130 deg to its seat
WALL_ROOM_mm = 3.0  # free room outside a jaw or lip: pad and wire


@dataclass(frozen=True, slots=True, eq=False)
class Groups:
    """Tips of one kind, each with the same number of faces, the seat first."""

    points_mm: F64  # (t, c, 3)
    normals: F64  # (t, c, 3) into the object
    radius_mm: F64  # (t, c)

    def take(self, which: NDArray[np.generic]) -> Groups:
        """Some of them."""
        return Groups(self.points_mm[which], self.normals[which], self.radius_mm[which])


def lipped_tips(surface: Surface, pads: Pads, settings: HoldSettings, plane: F64 | None = None,
                most_each: int = 3) -> Groups:
    """Return tips that sit on a pad and reach round a nearby edge to a second face."""
    small = LEAST_PAD_mm
    first, second = tangents(pads.normals, plane)
    found: list[tuple[F64, F64, NDArray[np.int64]]] = []
    for angle in np.arange(8) * (np.pi / 4):
        along = np.cos(angle) * first + np.sin(angle) * second
        for inset in (small + 0.4, small + 2.2):
            start = pads.points_mm + inset * pads.normals + (LIP_SPAN_mm + 1) * along
            hits = surface.rays.cast(start, -along)
            outward = hits.normal.astype(np.float64)
            far = hits.distance_mm.astype(np.float64)
            facing = np.einsum("nk,nk->n", outward, along)
            across = np.einsum("nk,nk->n", outward, -pads.normals)
            good = (far < LIP_SPAN_mm + 1) & (facing > 0.5) & (across > LIP_LEAST_cos) & (across < LIP_MOST_cos)
            which = np.flatnonzero(good)
            found.append((start[which] - far[which, None] * along[which], outward[which], which))
    points, outward, owner = (np.concatenate(parts) for parts in zip(*found, strict=True))
    lips, sits = fit_pads(surface, points, outward, small, settings.pad_normals_deg)
    owner = owner[sits]
    lips, owner = _free_lips(surface, pads, lips, owner)
    kept = _nearest_each(np.linalg.norm(lips.points_mm - pads.points_mm[owner], axis=1), owner, most_each)
    lips, owner = lips.take(kept), owner[kept]
    seat = pads.take(owner)
    return Groups(np.stack([seat.points_mm, lips.points_mm], 1), np.stack([seat.normals, lips.normals], 1),
                  np.stack([seat.radius_mm, lips.radius_mm], 1))


def _free_lips(surface: Surface, pads: Pads, lips: Pads, owner: NDArray[np.int64]) -> tuple[Pads, NDArray[np.int64]]:
    """Lips round a convex edge, with room for the wire outside and nothing of the object in the crook."""
    seat = pads.take(owner)
    span = lips.points_mm - seat.points_mm
    convex = (np.einsum("nk,nk->n", span, seat.normals) > 0.3) & (np.einsum("nk,nk->n", -span, lips.normals) > 0.3)
    off = 1.2
    start, end = seat.points_mm - off * seat.normals, lips.points_mm - off * lips.normals
    good = convex & ~surface.rays.blocked(lips.points_mm - 0.2 * lips.normals, -lips.normals, WALL_ROOM_mm)
    # the corner of the crook: out from the seat, over to the lip
    corner = start + _across(end - start, seat.normals)
    good &= ~surface.rays.blocked(start, corner - start, 1.0) & ~surface.rays.blocked(corner, end - corner, 1.0)
    return lips.take(good), owner[good]


def _across(step: F64, normals: F64) -> F64:
    """The part of each step that runs along the surface."""
    return np.asarray(step - np.einsum("nk,nk->n", step, normals)[:, None] * normals)


def _nearest_each(distance_mm: F64, owner: NDArray[np.int64], most: int) -> NDArray[np.int64]:
    """Indices of the nearest few of each owner."""
    order = np.lexsort((distance_mm, owner))
    ranked = owner[order]
    starts = np.flatnonzero(np.r_[True, ranked[1:] != ranked[:-1]]) if len(ranked) else np.zeros(0, dtype=np.int64)
    place = np.arange(len(ranked)) - np.repeat(starts, np.diff(np.r_[starts, len(ranked)]))
    return np.asarray(order[place < most], dtype=np.int64)


def fork_tips(surface: Surface, points_mm: F64, outward: F64, settings: HoldSettings, wrap_mm: float,
              plane: F64 | None = None) -> Groups:
    """Return forks over thin sections: a seat and two jaws, at the depth and across the direction where it is thinnest.

    wrap_mm  the deepest that a jaw may reach over the object where it is seen
    """
    small = LEAST_PAD_mm
    first, second = tangents(outward, plane)
    thickness = np.full(len(points_mm), np.inf)
    best = np.zeros((len(points_mm), 2, 3))
    best_out = np.zeros((len(points_mm), 2, 3))
    for depth in [d for d in FORK_DEPTHS_mm if d + small <= wrap_mm + 0.3] or [FORK_DEPTHS_mm[0]]:
        inside = points_mm - depth * outward
        for angle in np.arange(6) * (np.pi / 6):
            across = np.cos(angle) * first + np.sin(angle) * second
            up, down = surface.rays.cast(inside, across), surface.rays.cast(inside, -across)
            wide = (up.distance_mm + down.distance_mm).astype(np.float64)
            faces = ((np.einsum("nk,nk->n", up.normal, across) > JAW_NORMALS_cos)
                     & (np.einsum("nk,nk->n", down.normal, -across) > JAW_NORMALS_cos))
            better = faces & (wide < FORK_OPEN_mm) & (wide < thickness - 0.05)
            thickness = np.where(better, wide, thickness)
            ends = np.stack([inside[better] + up.distance_mm[better, None] * across[better],
                             inside[better] - down.distance_mm[better, None] * across[better]], 1)
            best[better], best_out[better] = ends, np.stack([up.normal, down.normal], 1)[better]
    which = np.flatnonzero(np.isfinite(thickness))
    return _forks_that_sit(surface, points_mm[which], outward[which], best[which], best_out[which], small, settings)


def _forks_that_sit(surface: Surface, points_mm: F64, outward: F64, jaws: F64, jaws_out: F64, small: float,
                    settings: HoldSettings) -> Groups:
    """Forks whose jaws take a pad and whose seat lies square to the section, with room outside all three."""
    across = unit(jaws[:, 0] - jaws[:, 1] + 1e-12)
    out = outward - np.einsum("nk,nk->n", outward, across)[:, None] * across
    length = np.linalg.norm(out, axis=1)
    middle = jaws.mean(1)
    keep = length > 0.5
    across, out, middle, jaws, jaws_out = (a[keep] for a in (across, out, middle, jaws, jaws_out))
    if len(out) == 0:
        return Groups(np.zeros((0, 3, 3)), np.zeros((0, 3, 3)), np.zeros((0, 3)))
    out = unit(out)
    hit = surface.rays.cast(middle + 20 * out, -out)
    seat = middle + (20 - hit.distance_mm.astype(np.float64))[:, None] * out
    good = (np.linalg.norm(seat - middle, axis=1) < max(FORK_DEPTHS_mm) + 1.5) & (hit.distance_mm < 20)
    # the seat's surface must run straight along the fork's own width
    side = np.cross(out, across)
    for step in (-1.0, 1.0):
        beside = surface.rays.cast(seat + 2 * out + step * small * side, -out)
        good &= np.abs(beside.distance_mm - 2) < small * 0.7
    good &= ~surface.rays.blocked(seat + 0.2 * out, out, APPROACH_mm)
    normals = np.zeros_like(jaws)
    points = np.zeros_like(jaws)
    for i in (0, 1):
        fitted, sits = fit_pads(surface, jaws[:, i], jaws_out[:, i], small, settings.pad_normals_deg)
        points[sits, i], normals[sits, i] = fitted.points_mm, fitted.normals
        good &= sits & ~surface.rays.blocked(points[:, i] - 0.2 * normals[:, i], -normals[:, i], WALL_ROOM_mm)
    radius = np.full((len(seat), 3), small)
    return Groups(np.concatenate([seat[:, None], points], 1), np.concatenate([-out[:, None], normals], 1),
                  radius).take(good)
