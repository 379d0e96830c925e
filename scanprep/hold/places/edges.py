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

from scanprep.hold.places.spots import APPROACH_mm, LEAST_PAD_mm, Pads, Surface, fit_pads, tangents
from scanprep.rules import HoldRules
from scanprep.vectors import F64

LIP_SPAN_mm = HoldRules().lip_span_mm
FORK_OPEN_mm = HoldRules().fork_open_mm
FORK_DEPTHS_mm = HoldRules().fork_depths_mm
FORK_THIN_mm = HoldRules().fork_thin_mm
JAW_NORMALS_cos = HoldRules().jaw_facing_cos
LIP_LEAST_cos, LIP_MOST_cos = -HoldRules().lip_seat_cos, HoldRules().lip_seat_cos
WALL_ROOM_mm = HoldRules().wall_room_mm


@dataclass(frozen=True, slots=True, eq=False)
class Groups:
    """Tips of one kind, each with the same number of faces, the seat first."""

    points_mm: F64  # (t, c, 3)
    normals: F64  # (t, c, 3) into the object
    radius_mm: F64  # (t, c)

    def take(self, which: NDArray[np.generic]) -> Groups:
        """Some of them."""
        return Groups(self.points_mm[which], self.normals[which], self.radius_mm[which])


def lip_radius_mm(surface: Surface, rules: HoldRules) -> float:
    """Return the pad radius of lips and jaws: as large as the reach round a visible edge allows."""
    return float(np.clip(0.02 * surface.diagonal_mm, LEAST_PAD_mm, rules.lip_pad_radius_mm))


def lipped_tips(surface: Surface, pads: Pads, rules: HoldRules, plane: F64 | None = None,
                most_each: int = 3) -> Groups:
    """Return tips that sit on a pad and reach round a nearby edge to a second face."""
    small = lip_radius_mm(surface, rules)
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
    lips, sits = fit_pads(surface, points, outward, small, rules.pad_normals_deg)
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


def fork_tips(surface: Surface, points_mm: F64, outward: F64, rules: HoldRules, wrap_mm: float,
              plane: F64 | None = None) -> Groups:
    """Return forks over thin sections: a seat and two jaws, across the direction where the section is thinnest.

    At each place the shallowest depth at which the jaws sit is taken.
    wrap_mm  the deepest that a jaw may reach over the object where it is seen
    """
    found: list[Groups] = []
    for depth in [d for d in FORK_DEPTHS_mm if d + LEAST_PAD_mm <= wrap_mm + 0.3] or [FORK_DEPTHS_mm[0]]:
        which, jaws, jaws_out = _thinnest(surface, points_mm, outward, depth, plane)
        forks, sits = _forks_that_sit(surface, outward[which], jaws, jaws_out, rules)
        found.append(forks)
        left = np.ones(len(points_mm), dtype=bool)
        left[which[sits]] = False
        points_mm, outward = points_mm[left], outward[left]
    return Groups(*(np.concatenate([getattr(group, name) for group in found])
                    for name in ("points_mm", "normals", "radius_mm")))


def _thinnest(surface: Surface, points_mm: F64, outward: F64, depth_mm: float,
              plane: F64 | None) -> tuple[NDArray[np.int64], F64, F64]:
    """Which places lie over a thin section, and the two ends (n, 2, 3) of its shortest chord with outward normals."""
    first, second = tangents(outward, plane)
    thickness = np.full(len(points_mm), np.inf)
    ends, ends_out = np.zeros((len(points_mm), 2, 3)), np.zeros((len(points_mm), 2, 3))
    inside = points_mm - depth_mm * outward
    for angle in np.arange(6) * (np.pi / 6):
        across = np.cos(angle) * first + np.sin(angle) * second
        up, down = surface.rays.cast(inside, across), surface.rays.cast(inside, -across)
        wide = (up.distance_mm + down.distance_mm).astype(np.float64)
        facing = ((np.einsum("nk,nk->n", up.normal, across) > JAW_NORMALS_cos)
                  & (np.einsum("nk,nk->n", down.normal, -across) > JAW_NORMALS_cos))
        better = facing & (wide < FORK_OPEN_mm) & (wide < thickness - 0.05)
        thickness = np.where(better, wide, thickness)
        ends[better] = np.stack([inside[better] + up.distance_mm[better, None] * across[better],
                                 inside[better] - down.distance_mm[better, None] * across[better]], 1)
        ends_out[better] = np.stack([up.normal, down.normal], 1)[better]
    which = np.flatnonzero(np.isfinite(thickness))
    return which, ends[which], ends_out[which]


def _forks_that_sit(surface: Surface, outward: F64, jaws: F64, jaws_out: F64,
                    rules: HoldRules) -> tuple[Groups, NDArray[np.int64]]:
    """Forks whose jaws take a pad and whose seat lies square to the section, with room outside all three; and which."""
    across = jaws[:, 0] - jaws[:, 1]
    wide = np.linalg.norm(across, axis=1)
    across = across / np.maximum(wide, 1e-9)[:, None]
    out = outward - np.einsum("nk,nk->n", outward, across)[:, None] * across
    length = np.linalg.norm(out, axis=1)
    out = out / np.maximum(length, 1e-9)[:, None]
    middle = jaws.mean(1)
    hit = surface.rays.cast(middle + 20 * out, -out)
    seat = middle + (20 - np.minimum(hit.distance_mm.astype(np.float64), 20))[:, None] * out
    good = (length > 0.5) & (hit.distance_mm < 20) & (np.linalg.norm(seat - middle, axis=1) < max(FORK_DEPTHS_mm) + 1.5)
    side = np.cross(out, across)
    good &= _straight(surface, seat, out, side, LEAST_PAD_mm)  # along the fork's own width
    good &= ~surface.rays.blocked(seat + 0.2 * out, out, APPROACH_mm)
    normals, points = np.zeros_like(jaws), np.zeros_like(jaws)
    for i, off in enumerate((across, -across)):
        fitted, sits = fit_pads(surface, jaws[:, i], jaws_out[:, i], LEAST_PAD_mm, rules.pad_normals_deg)
        points[sits, i], normals[sits, i] = fitted.points_mm, fitted.normals
        lines = ~sits & (wide < FORK_THIN_mm) & _straight(surface, jaws[:, i], off, side, LEAST_PAD_mm)
        points[lines, i], normals[lines, i] = jaws[lines, i], -off[lines]
        good &= (sits | lines)
        good &= ~surface.rays.blocked(points[:, i] - 0.2 * normals[:, i], -normals[:, i], WALL_ROOM_mm)
    radius = np.full((len(seat), 3), LEAST_PAD_mm)
    forks = Groups(np.concatenate([seat[:, None], points], 1), np.concatenate([-out[:, None], normals], 1), radius)
    which = np.flatnonzero(good)
    return forks.take(which), which


def _straight(surface: Surface, points_mm: F64, out: F64, side: F64, reach_mm: float) -> NDArray[np.bool_]:
    """Whether the surface runs straight to both sides of points, within 25 deg over the reach."""
    straight = np.ones(len(points_mm), dtype=bool)
    for step in (-reach_mm, reach_mm):
        beside = surface.rays.cast(points_mm + 2 * out + step * side, -out)
        straight &= np.abs(beside.distance_mm - 2) < 0.47 * reach_mm
    return straight
