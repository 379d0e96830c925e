"""The forces that a mount must be sprung on to supply, and how much of them is left when pads sit otherwise.

A margin says that balancing forces exist; springs must put them there. The preload is the largest s such that every tip
keeps friction in reserve,

    sum over the tip's faces of (mu n.f - |f across n|) >= s,   0 <= n.f <= limit,   the forces balance the weight,

a linear programme with an octagon inside the friction circle. Wires are springs: bent wrong by +-0.5 mm they change the
forces in proportion to their stiffness, so the limits tell how stiff an arm may be.

Forces in N, mm, any one frame with the centre of mass at the origin. Used by `gates`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.spots import Surface, leaned, patches, tangents
from scanprep.hold.statics.programme import Answer, Programme
from scanprep.hold.statics.wrench import EDGES, ContactWrenches
from scanprep.vectors import F64, cross, steady

_TURN = np.pi / EDGES  # the octagon's corners stand between the directions in which it is narrowest


@dataclass(frozen=True, slots=True, eq=False)
class Preload:
    """Forces at rest with the mount sprung on."""

    reserve_N: float  # s: the least friction reserve over the tips, at most; negative: none balances
    forces_N: F64  # (f, 3) of the gentlest state that keeps the reserve asked for
    normal_N: F64  # (f,)


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    """A grip's forces as sums of plain normals, cone edges, and shifts of the bearing point; columns of a programme.

    Of several draws of one grip at once: what differs between them has the draws first.
    """

    force: F64  # (d, n, 3)
    torque: F64  # (d, n, 3)
    press: F64  # (n,) normal force of each
    spare: F64  # (n,) friction it keeps in reserve
    shift: F64  # (n,) share of what a face's bearing point may shift
    face: NDArray[np.int64]  # (n,)


def _columns(grip: ContactWrenches, points_mm: F64, normals: F64) -> _Columns:
    """Return each face's plain normal, the 8 edges of the cone inside its own, and four shifts within its pad.

    points_mm, normals  (d, f, 3) of the draws; everything else is the grip's

    A plain normal keeps all its friction in reserve, an edge none: what lies between keeps what is left.
    """
    faces, draws = np.arange(len(grip.friction)), len(points_mm)
    first, second = (way.reshape(normals.shape) for way in tangents(normals.reshape(-1, 3)))
    rubs = np.flatnonzero(grip.friction > 0)
    angle = _TURN + np.arange(EDGES) * (2 * np.pi / EDGES)
    lean = np.cos(angle)[:, None] * first[:, rubs, None] + np.sin(angle)[:, None] * second[:, rubs, None]
    edges = (normals[:, rubs, None] + grip.friction[rubs, None, None] * lean).reshape(draws, -1, 3)
    on_edges = np.repeat(rubs, EDGES)
    spares = grip.friction if grip.spares is None else np.where(grip.spares, grip.friction, 0.0)
    force, face = np.concatenate([normals, edges], axis=1), np.concatenate([faces, on_edges])
    torque = cross(points_mm[:, face], force)
    press, spare = np.ones(len(face)), np.concatenate([spares, np.zeros(len(on_edges))])
    if grip.bears_mm is None:
        return _Columns(force, torque, press, spare, np.zeros(len(face)), face)
    pads = np.flatnonzero(grip.bears_mm > 0)
    aside = np.stack([first, second, -first, -second], 2)[:, pads] * grip.bears_mm[pads, None, None]
    shifts = cross(aside, normals[:, pads, None]).reshape(draws, -1, 3)
    none = np.zeros(shifts.shape[1])
    return _Columns(np.concatenate([force, np.zeros_like(shifts)], axis=1), np.concatenate([torque, shifts], axis=1),
                    np.r_[press, none], np.r_[spare, none], np.r_[np.zeros(len(face)), none + 1.0],
                    np.concatenate([face, np.repeat(pads, 4)]))


def _programmes(grip: ContactWrenches, load_N: F64, columns: _Columns, points_mm: F64) -> Iterator[Programme]:
    """The programmes over [columns, s]: the load is balanced, each face pressed within its limit, each tip keeps s."""
    width, faces = len(columns.face), np.arange(len(grip.friction))
    of_face = (columns.face == faces[:, None]).astype(np.float64)
    of_tip = (grip.tip[columns.face] == np.arange(grip.tips)[:, None]).astype(np.float64)
    rows = np.zeros((6 + 2 * len(faces) + grip.tips, width + 1))
    rows[6:6 + len(faces), :-1] = of_face * columns.press
    # the bearing point keeps within a diamond inside the pad: shifts together weigh no more than the face presses
    rows[6 + len(faces):6 + 2 * len(faces), :-1] = of_face * (columns.press - columns.shift)
    rows[6 + 2 * len(faces):, :-1] = of_tip * columns.spare
    rows[6 + 2 * len(faces):, -1] = -1.0
    even = np.concatenate([load_N, np.zeros(3)])
    free, none = np.full(len(faces) + grip.tips, np.inf), np.zeros(len(faces) + grip.tips)
    low = np.concatenate([even, np.full(len(faces), -np.inf), none])
    high = np.concatenate([even, grip.limits_N, free])
    sizes = np.maximum(np.abs(points_mm).max(axis=(1, 2)), 1.0)
    for force, torque, size in zip(columns.force, columns.torque, sizes):
        rows[:3, :-1], rows[3:6, :-1] = force.T, torque.T / size
        yield Programme(rows, low, high)


def _most_reserve(asked: Programme, width: int) -> Answer | None:
    return asked.least(np.concatenate([np.zeros(width), [-1.0]]))


def preload(grip: ContactWrenches, weight_N: float, up: F64, wanted_ratio: float) -> Preload:
    """Return the greatest friction reserve of a set, and the gentlest forces that keep the wanted share of the weight.

    weight_N, up   the load: weight and the unit direction it must be carried in
    wanted_ratio   s/W asked for; where it can't be had, the forces are those of the greatest reserve
    """
    points = grip.points_mm[None]
    columns = _columns(grip, points, grip.normals[None])
    width, faces = len(columns.face), len(grip.points_mm)
    asked = next(_programmes(grip, weight_N * up, columns, points))
    most = _most_reserve(asked, width)
    if most is None:
        return Preload(-weight_N, np.zeros((faces, 3)), np.zeros(faces))
    reserve_N = float(most.x[-1])
    kept = max(min(reserve_N, wanted_ratio * weight_N) - 1e-6 * weight_N, 0.0)
    asked.keep(width, kept)
    share = (asked.least(np.concatenate([columns.press, [0.0]])) or most).x[:-1]
    forces = np.zeros((faces, 3))
    np.add.at(forces, columns.face, share[:, None] * columns.force[0])
    return Preload(reserve_N, forces, np.einsum("fk,fk->f", forces, grip.normals))


def redrawn(grip: ContactWrenches, radius_mm: F64, surface: Surface, rotation: F64, count: int,
            seed: int) -> list[ContactWrenches]:
    """Return the set with every face's point and normal redrawn inside its own pad, from the mesh itself.

    A fork's jaws then rub as they bear: no fork sits so true that its seat alone is pressed. They still spare nothing.
    grip in the display frame; rotation (3, 3) takes the body frame to it.
    """
    rng = np.random.default_rng(seed)
    points = np.repeat(grip.points_mm[None], count, 0)
    normals = np.repeat(grip.normals[None], count, 0)
    for face in range(len(grip.points_mm)):
        seat, normal = grip.points_mm[face:face + 1] @ rotation, grip.normals[face:face + 1] @ rotation
        found = patches(surface, seat, normal, float(radius_mm[face]))
        real = np.flatnonzero(found.met[0])
        if len(real) == 0:
            raise ArithmeticError("a pad was chosen where the mesh has no surface")
        points[:, face] = steady(found.points_mm[0, rng.choice(real, size=count)] @ rotation.T, 9)
        parts = leaned(normal, found.slopes, found.across)[0]
        normals[:, face] = steady(parts[rng.integers(len(parts), size=count)] @ rotation.T, 10)
    rubbing, spares = np.full(len(grip.friction), grip.friction.max()), grip.friction > 0
    return [replace(grip, points_mm=points[i], normals=normals[i], friction=rubbing, spares=spares)
            for i in range(count)]


def reserves_N(grips: Sequence[ContactWrenches], weight_N: float, up: F64) -> F64:
    """Return the greatest friction reserve of each of several sets; minus the weight where one does not balance.

    Draws of one set, which differ in their points and normals alone (see `redrawn`), are put together at once.
    """
    if not grips or not all(_alike(grip, grips[0]) for grip in grips):
        return np.array([reserves_N([grip], weight_N, up)[0] for grip in grips])
    reserves = np.full(len(grips), -weight_N)
    points = np.array([grip.points_mm for grip in grips])
    columns = _columns(grips[0], points, np.array([grip.normals for grip in grips]))
    for i, asked in enumerate(_programmes(grips[0], weight_N * up, columns, points)):
        found = _most_reserve(asked, len(columns.face))
        if found is not None:
            reserves[i] = found.x[-1]
    return reserves


def _alike(grip: ContactWrenches, other: ContactWrenches) -> bool:
    """Whether two sets differ in their points and normals at most."""
    pairs = ((grip.friction, other.friction), (grip.limits_N, other.limits_N), (grip.tip, other.tip),
             (grip.bears_mm, other.bears_mm), (grip.spares, other.spares))
    return all(one is two or (one is not None and two is not None and np.array_equal(one, two)) for one, two in pairs)


def most_stiffness_N_per_mm(grip: ContactWrenches, normal_N: F64, bend_error_mm: float) -> float:
    """Return how stiff the arms may be so that bending errors neither overload a face nor lift a tip off.

    Every arm is taken as an equal spring in all directions, every tip as sticking; the errors act along the seats.
    """
    seats = np.array([np.flatnonzero(grip.tip == tip)[0] for tip in range(grip.tips)])
    points, normals = grip.points_mm[seats], grip.normals[seats]
    moves = np.zeros((3 * len(seats), 6))
    for i, p in enumerate(points):
        moves[3 * i:3 * i + 3, :3] = np.eye(3)
        moves[3 * i:3 * i + 3, 3:] = np.array([[0, p[2], -p[1]], [-p[2], 0, p[0]], [p[1], -p[0], 0]])
    left = np.eye(len(moves)) - moves @ np.linalg.pinv(moves)
    along = np.zeros((3 * len(seats), len(seats)))
    for i, n in enumerate(normals):
        along[3 * i:3 * i + 3, i] = n
    change_per_stiffness = bend_error_mm * np.abs(along.T @ left @ along).sum(1)
    room = np.minimum(grip.limits_N[seats] - normal_N[seats], normal_N[seats])
    return float(np.min(np.maximum(room, 0.0) / np.maximum(change_per_stiffness, 1e-9)))
