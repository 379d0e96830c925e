"""How hard an object may be shaken, and turned, before its tips must let go.

A tip touches with one or more faces; each face presses along its inward normal with at most its limit, and friction
lets the force lean by up to the friction angle. For a virtual twist y = (u, tau) a face moves with v = u + tau x p and
can do work at the rate

    H(y) = max(0, v.n + mu |v across n|)        (the exact circular cone)

so the forces of a set withstand a load exactly when, for every twist, the sum of limit x H reaches the load's own work.
A table of twists gives an upper bound for thousands of sets at once; the certificate is an LP with 8 cone edges inside
the true cone (safe: friction x cos 22.5 deg at worst), its hull refined facet by facet until both bounds agree.

Points in mm about the centre of mass, forces in N. Any frame, as long as all arrays share it. Touches no files.
Used by `gates`, `preload` and `choose`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.statics.programme import Programme
from scanprep.rules import HoldRules
from scanprep.vectors import F64, check_shape, cross, steady, unit

F32 = NDArray[np.float32]
EDGES = 8  # tolerance: of the pyramid that stands for a friction cone
TELLING = 12  # tolerance: dual twists handed back by one certificate
BEARS_SHARE = HoldRules().pad_bears_share
_ALONG_cos = 0.9  # tolerance: a direction further from the axis than this is crossed with it
_GOLDEN = np.pi * (3 - np.sqrt(5))  # exact: the golden angle


@dataclass(frozen=True, slots=True, eq=False)
class ContactWrenches:
    """The faces of one set of tips, as the mechanics sees them."""

    points_mm: F64  # (f, 3) about the centre of mass
    normals: F64  # (f, 3) into the object, unit
    friction: F64  # (f,)
    limits_N: F64  # (f,) greatest normal force
    tip: NDArray[np.int64]  # (f,) which tip each face belongs to
    bears_mm: F64 | None = None  # (f,) how far from its middle a pad may bear; None: nowhere else
    spares: NDArray[np.bool_] | None = None  # (f,) whose friction may be kept in reserve; None: every face's

    def __post_init__(self) -> None:
        check_shape("points_mm", self.points_mm, (-1, 3))
        check_shape("normals", self.normals, (len(self.points_mm), 3))

    @property
    def tips(self) -> int:
        """How many tips there are."""
        return int(self.tip.max()) + 1 if len(self.tip) else 0

    def without(self, tip: int) -> ContactWrenches:
        """The set with one tip taken away."""
        keep = self.tip != tip
        number = self.tip[keep]
        return replace(self, points_mm=self.points_mm[keep], normals=self.normals[keep], friction=self.friction[keep],
                       limits_N=self.limits_N[keep], tip=number - (number > tip),
                       bears_mm=None if self.bears_mm is None else self.bears_mm[keep],
                       spares=None if self.spares is None else self.spares[keep])

    def with_friction(self, friction: float | F64) -> ContactWrenches:
        """The set at another friction."""
        return replace(self, friction=np.broadcast_to(friction, self.friction.shape).astype(np.float64))

    def with_limits(self, limits_N: F64) -> ContactWrenches:
        """The set with other greatest forces."""
        return replace(self, limits_N=limits_N)

    def about(self, shift_mm: F64) -> ContactWrenches:
        """The set with the centre of mass moved."""
        return replace(self, points_mm=self.points_mm - shift_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """The largest ball round a load that the tips' forces still cover."""

    radius: float  # N for forces, N mm for torques; negative where the load itself is not covered
    direction: F64  # (3,) where it is least
    twists: F64  # (m, 6) the dual twists (u, tau) met on the way: rows that a table should know
    flat: bool = False  # the forces do not span space: no ball of them is balanced


def sphere_directions(count: int) -> F64:
    """Return about evenly spread unit directions (count, 3): the golden spiral."""
    step = np.arange(count) + 0.5
    z = 1 - 2 * step / count
    ring = np.sqrt(1 - z * z)
    return np.column_stack([ring * np.cos(_GOLDEN * step), ring * np.sin(_GOLDEN * step), z])


def twist_table(radius_mm: float) -> F64:
    """Return about 2000 twists (m, 6) as rows (u, tau), u unit or zero, tau in rad/mm.

    48 directions u with |tau| in {0, .5, 1, 2, 4} / radius about ten axes each, and 40 pure turns.
    radius_mm  half the bounding diagonal
    """
    u = sphere_directions(48)
    axes = sphere_directions(10)
    pushes = np.column_stack([u, np.zeros_like(u)])
    turned = [np.column_stack([np.repeat(u, 10, axis=0), np.tile(axes, (48, 1)) * (size / radius_mm)])
              for size in (0.5, 1.0, 2.0, 4.0)]
    spins = sphere_directions(40) / radius_mm
    return np.vstack([pushes, *turned, np.column_stack([np.zeros_like(spins), spins])])


def support(twists: F64, points_mm: F64, normals: F64, friction: float | F64, bears_mm: F64 | None = None) -> F32:
    """Return H (m, f): the most work rate per newton of normal limit that each face can do against each twist.

    friction  one for all faces, or (f,)
    bears_mm  (f,) how far from its middle a face may bear, where friction then does nothing; None: only there
    """
    u, tau = twists[:, :3].astype(np.float32), twists[:, 3:].astype(np.float32)
    p, n = points_mm.astype(np.float32), normals.astype(np.float32)
    along = u @ n.T + tau @ np.cross(p, n).T
    bare = along
    if bears_mm is not None:
        # |tau x n|, what the shift of the bearing point is worth
        turn2 = (tau * tau).sum(1)[:, None] - (tau @ n.T) ** 2
        bare = along + np.sqrt(np.maximum(turn2, 0)) * bears_mm.astype(np.float32)
    if not np.any(friction):
        return np.asarray(np.maximum(bare, 0), dtype=np.float32)
    # |v|^2 with v = u + tau x p, written out so that only matrix products are needed
    speed2 = (u * u).sum(1)[:, None] + 2 * np.cross(u, tau) @ p.T
    speed2 += (tau * tau).sum(1)[:, None] * (p * p).sum(1)[None, :] - (tau @ p.T) ** 2
    across = np.sqrt(np.maximum(speed2 - along * along, 0))
    rubbed = along + np.asarray(friction, dtype=np.float32) * across
    return np.asarray(np.maximum(np.maximum(rubbed, bare), 0), dtype=np.float32)


def cone_edges(normals: F64, friction: F64) -> F64:
    """Return the 8 edges (f, 8, 3) of each face's force cone, each with normal component 1, on the true cone."""
    other = np.where(np.abs(normals[:, :1]) < _ALONG_cos, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    first = unit(cross(normals, other))
    second = cross(normals, first)
    angle = np.arange(EDGES) * (2 * np.pi / EDGES)
    lean = np.cos(angle)[:, None] * first[:, None] + np.sin(angle)[:, None] * second[:, None]
    return np.asarray(normals[:, None] + friction[:, None, None] * lean, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """All edges of a grip: forces and torques per unit of normal force."""

    force: F64  # (n, 3)
    torque: F64  # (n, 3)
    face: NDArray[np.int64]  # (n,)
    limits_N: F64


def edges_of(grip: ContactWrenches) -> Edges:
    """Return the edges of a grip's force cones, and a pad's plain normal at four places where it may also bear."""
    faces = np.arange(len(grip.points_mm))
    if not np.any(grip.friction > 0):
        if grip.bears_mm is None:
            return Edges(grip.normals, cross(grip.points_mm, grip.normals), faces, grip.limits_N)
        return _beside(grip, grip.bears_mm)
    force = cone_edges(grip.normals, grip.friction).reshape(-1, 3)
    points = np.repeat(grip.points_mm, EDGES, axis=0)
    cone = Edges(force, cross(points, force), np.repeat(faces, EDGES), grip.limits_N)
    if grip.bears_mm is None:
        return cone
    rim = _beside(grip, grip.bears_mm)
    return Edges(np.vstack([cone.force, rim.force]), np.vstack([cone.torque, rim.torque]),
                 np.concatenate([cone.face, rim.face]), grip.limits_N)


def _beside(grip: ContactWrenches, bears_mm: F64) -> Edges:
    """Plain normals at four places round the middle of each pad."""
    rim = cone_edges(grip.normals, np.ones(len(grip.normals)))[:, ::2] - grip.normals[:, None]
    places = (grip.points_mm[:, None] + bears_mm[:, None, None] * rim).reshape(-1, 3)
    normals = np.repeat(grip.normals, EDGES // 2, axis=0)
    return Edges(normals, cross(places, normals), np.repeat(np.arange(len(bears_mm)), EDGES // 2), grip.limits_N)


class _Body:
    """The points {reach.T x : held.T x = held_at} that a grip attains, asked direction by direction."""

    def __init__(self, reach: F64, held: F64, held_at: F64, edges: Edges) -> None:
        width = len(reach)
        self.size = float(np.abs(held).max()) or 1.0
        self.reach = reach
        caps = np.zeros((len(edges.limits_N), width))
        caps[edges.face, np.arange(width)] = 1.0
        even = held_at / self.size
        self.programme = Programme(np.vstack([held.T / self.size, caps]),
                                   np.concatenate([even, np.full(len(caps), -np.inf)]),
                                   np.concatenate([even, edges.limits_N]))

    def farthest(self, directions: F64) -> tuple[F64, F64] | None:
        """Return for each direction the farthest point (m, 3) and the duals (m, 3); None where nothing is feasible."""
        costs = -steady(directions @ self.reach.T, 9)
        points, duals = np.empty((len(costs), 3)), np.empty((len(costs), 3))
        for i in _in_turn(directions):
            found = self.programme.least(costs[i])
            if found is None:
                return None
            points[i], duals[i] = steady(found.x @ self.reach, 9), found.duals[:3] / self.size
        return points, duals


def _in_turn(directions: F64) -> list[int]:
    """An order in which each direction is near the one before: the corners then need few steps."""
    near = directions @ directions.T
    order = [0]
    near[:, 0] = -np.inf
    while len(order) < len(directions):
        order.append(int(steady(near[order[-1]]).argmax()))
        near[:, order[-1]] = -np.inf
    return order


def _reach(load: F64, reach: F64, held: F64, held_at: F64, edges: Edges, tolerance: float,
           enough: float, least: float) -> Reach | None:
    from scipy.spatial import ConvexHull

    body = _Body(reach, held, held_at, edges)
    asked = sphere_directions(26 if not np.isfinite(enough) else 14)
    found = body.farthest(asked)
    if found is None:
        return None
    points, duals = found
    directions = [asked]
    multipliers = [duals]
    # the height of the attainable body above the load, an upper bound in every asked direction
    over = np.einsum("ij,ij->i", asked, points - load)
    best, where = float(over.min()), asked[int(steady(over).argmin())]
    heights_met = [over]
    for _ in range(12):
        if best < least:
            break  # an upper bound below what is asked
        spread = np.linalg.svd(points - points.mean(0), compute_uv=False)
        if spread[2] < 1e-6 * max(spread[0], 1e-12):
            return Reach(0.0, where, _rows(directions, multipliers, heights_met), flat=True)
        hull = ConvexHull(points, qhull_options="Qt Pp")
        normals, offsets = hull.equations[:, :3], -hull.equations[:, 3]
        heights = offsets - normals @ load
        order = np.argsort(steady(heights), kind="stable")
        low = order[heights[order] < best - tolerance][:10]
        if len(low) == 0:
            break
        if heights.min() >= enough:
            best = float(heights.min())  # a lower bound already above what is asked: no need to know more
            break
        asked = normals[low]
        found = body.farthest(asked)
        if found is None:
            return None
        over = np.einsum("ij,ij->i", asked, found[0] - load)
        directions.append(asked)
        multipliers.append(found[1])
        heights_met.append(over)
        if float(over.min()) < best:
            best, where = float(over.min()), asked[int(steady(over).argmin())]
        points = np.vstack([points, found[0]])
    else:
        best = float(heights.min())  # unfinished: the lower bound is what may be said
    return Reach(best, where, _rows(directions, multipliers, heights_met))


def _rows(directions: list[F64], multipliers: list[F64], over: list[F64]) -> F64:
    """The dual twists of the lowest heights met: those that tell most."""
    every = np.column_stack([np.vstack(directions), np.vstack(multipliers)])
    return np.asarray(every[np.argsort(steady(np.concatenate(over)), kind="stable")[:TELLING]])


def force_reach(grip: ContactWrenches, load_N: F64, tolerance_N: float, enough_N: float = np.inf,
                least_N: float = -np.inf) -> Reach | None:
    """Return the largest ball of forces round `load_N` that the grip supplies without any torque.

    load_N       (3,) what the tips must supply at rest: the weight, upwards
    tolerance_N  of the radius
    enough_N     stop at a lower bound that reaches this
    least_N      stop at an upper bound below this
    `flat` where the tips cannot balance a ball of forces at all ("no balance").
    """
    edges = edges_of(grip)
    return _reach(load_N, edges.force, edges.torque, np.zeros(3), edges, tolerance_N, enough_N, least_N)


def torque_reach(grip: ContactWrenches, load_N: F64, tolerance_Nmm: float, enough_Nmm: float = np.inf,
                 least_Nmm: float = -np.inf, demand: F64 | None = None) -> Reach | None:
    """Return the largest ball of torques about the centre of mass that the grip takes while it carries `load_N`.

    demand  (3,) how much of the torque is asked for about each axis of the frame, 0..1; None: all of it about each

    None where the load itself cannot be carried; `flat` where turning about some axis is not resisted at all.
    """
    edges = edges_of(grip)
    share = np.ones(3) if demand is None else demand
    found = _reach(np.zeros(3), edges.torque / share, edges.force, load_N, edges, tolerance_Nmm, enough_Nmm, least_Nmm)
    return None if found is None else replace(found, twists=found.twists / np.r_[share, np.ones(3)])
