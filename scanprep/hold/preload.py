"""The forces that a mount must be sprung on to supply, and how much of them is left when pads sit otherwise.

A margin says that balancing forces exist; springs must put them there. The preload is the largest s such that every tip
keeps friction in reserve,

    sum over the tip's faces of (mu n.f - |f across n|) >= s,   0 <= n.f <= limit,   the forces balance the weight,

a linear programme with an octagon inside the friction circle. Wires are springs: bent wrong by +-0.5 mm they change the
forces in proportion to their stiffness, so the limits tell how stiff an arm may be.

Forces in N, mm, any one frame with the centre of mass at the origin. Used by `gates`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.hold.spots import Surface, leaned, patches, tangents
from scanprep.hold.wrench import EDGES, Grip, edges_of, programme
from scanprep.vectors import F64

PER_FACE = 6  # n.f, two components across, the reserve, and the shift of the bearing point along each times n.f
_INSIDE = float(np.cos(np.pi / EDGES))


@dataclass(frozen=True, slots=True, eq=False)
class Preload:
    """Forces at rest with the mount sprung on."""

    reserve_N: float  # s: the least friction reserve over the tips, at most; negative: none balances
    forces_N: F64  # (f, 3) of the gentlest state that keeps the reserve asked for
    normal_N: F64  # (f,)


def _block(grip: Grip, load_N: F64) -> tuple[F64, F64, F64, F64, F64]:
    """One grip's programme over [faces x (n, t1, t2, g, s1, s2), s]: rows <= and =, each with right sides, and caps."""
    faces = len(grip.points_mm)
    first, second = tangents(grip.normals)
    axes = np.stack([grip.normals, first, second], 1)  # (f, 3, 3)
    width = PER_FACE * faces + 1
    equal = np.zeros((6, width))
    size = max(float(np.abs(grip.points_mm).max()), 1.0)
    angle = np.arange(EDGES) * (2 * np.pi / EDGES)
    upper = np.zeros(((EDGES + 4) * faces + grip.tips, width))
    bears = np.zeros(faces) if grip.bears_mm is None else grip.bears_mm
    for face in range(faces):
        at = PER_FACE * face
        equal[:3, at:at + 3] = axes[face].T
        equal[3:, at:at + 3] = np.cross(grip.points_mm[face], axes[face]).T / size
        rows = slice(EDGES * face, EDGES * (face + 1))
        upper[rows, at] = -grip.friction[face] * _INSIDE
        upper[rows, at + 1], upper[rows, at + 2] = np.cos(angle), np.sin(angle)
        upper[rows, at + 3] = _INSIDE
        # the bearing point keeps within a diamond inside the pad
        equal[3:, at + 4] = np.cross(axes[face, 1], axes[face, 0]) / size
        equal[3:, at + 5] = np.cross(axes[face, 2], axes[face, 0]) / size
        rows = slice(EDGES * faces + 4 * face, EDGES * faces + 4 * face + 4)
        upper[rows, at] = -bears[face]
        upper[rows, at + 4], upper[rows, at + 5] = [1, 1, -1, -1], [1, -1, 1, -1]
        upper[(EDGES + 4) * faces + grip.tip[face], at + 3] = -1.0
    upper[(EDGES + 4) * faces:, -1] = 1.0
    caps = np.full(width, np.inf)
    caps[0:-1:PER_FACE] = grip.limits_N
    if grip.spares is not None:
        caps[3:-1:PER_FACE] = np.where(grip.spares, np.inf, 0.0)
    return upper, np.zeros(len(upper)), equal, np.concatenate([load_N, np.zeros(3)]), caps


def _solved(grips: Sequence[Grip], load_N: F64, least_reserve_N: float | None) -> list[tuple[float, F64] | None]:
    """(s, forces (f, 3) in each face's own axes) of each grip; None where the weight is not balanced."""
    import scipy.sparse as sparse

    blocks = [_block(grip, load_N) for grip in grips]
    low: list[float] = []
    high: list[float] = []
    cost: list[float] = []
    for grip, block in zip(grips, blocks):
        faces = len(grip.points_mm)
        low += [0.0, -np.inf, -np.inf, 0.0, -np.inf, -np.inf] * faces
        low += [-np.inf if least_reserve_N is None else least_reserve_N]
        high += [float(cap) for cap in block[4]]
        cost += ([0.0] * (PER_FACE * faces) + [-1.0]) if least_reserve_N is None else (
            [1.0, 0.0, 0.0, 0.0, 0.0, 0.0] * faces + [0.0])
    # a set that cannot balance must not spoil the others: unbalanced load is taken at a price
    price = 1e3
    equal = sparse.block_diag([block[2] for block in blocks], format="csr")
    slack = sparse.identity(equal.shape[0], format="csr")
    equal = sparse.hstack([equal, slack, -slack], format="csr")
    upper = sparse.block_diag([block[0] for block in blocks], format="csr")
    upper = sparse.hstack([upper, sparse.csr_matrix((upper.shape[0], 2 * slack.shape[0]))], format="csr")
    extra = 2 * slack.shape[0]
    solved = programme(cost + [price] * extra, A_ub=upper, b_ub=np.concatenate([block[1] for block in blocks]),
                       A_eq=equal, b_eq=np.concatenate([block[3] for block in blocks]),
                       bounds=np.column_stack([low + [0.0] * extra, high + [np.inf] * extra]))
    if solved.status != 0:
        raise ArithmeticError("a programme whose lack may be bought always has an answer")
    return _unpacked(grips, solved.x, float(np.linalg.norm(load_N)))


def _unpacked(grips: Sequence[Grip], x: F64, weight_N: float) -> list[tuple[float, F64] | None]:
    total = sum(PER_FACE * len(grip.points_mm) + 1 for grip in grips)
    missing = x[total:].reshape(2, len(grips), 6).sum(0).max(1)
    results: list[tuple[float, F64] | None] = []
    at = 0
    for number, grip in enumerate(grips):
        faces = len(grip.points_mm)
        own = x[at:at + PER_FACE * faces].reshape(faces, PER_FACE)
        reserve = float(x[at + PER_FACE * faces])
        results.append(None if missing[number] > 1e-6 * weight_N else (reserve, own[:, :3]))
        at += PER_FACE * faces + 1
    return results


def preload(grip: Grip, weight_N: float, up: F64, wanted_ratio: float) -> Preload:
    """Return the greatest friction reserve of a set, and the gentlest forces that keep the wanted share of the weight.

    weight_N, up   the load: weight and the unit direction it must be carried in
    wanted_ratio   s/W asked for; where it can't be had, the forces are those of the greatest reserve
    """
    most = _solved([grip], weight_N * up, None)[0]
    if most is None:
        return Preload(-weight_N, np.zeros((len(grip.points_mm), 3)), np.zeros(len(grip.points_mm)))
    kept = max(min(most[0], wanted_ratio * weight_N) - 1e-6 * weight_N, 0.0)
    gentle = _solved([grip], weight_N * up, kept)[0] or most
    first, second = tangents(grip.normals)
    axes = np.stack([grip.normals, first, second], 1)
    return Preload(most[0], np.einsum("fa,fak->fk", gentle[1], axes), gentle[1][:, 0])


def sprung_margin_g(grip: Grip, sprung: Preload, weight_N: float, up: F64, give_N: float) -> float:
    """Return the shake in g, along the axes either way, that a set withstands while its springs give little.

    The tips' forces start at the preload and may each change by `give_N` along every axis: what a sprung wire supplies
    before its tip has moved noticeably. Limits are taken as given. -1 where not even the weight is balanced so.
    """
    import scipy.sparse as sparse

    edges = edges_of(grip)
    width, tips = len(edges.force), grip.tips
    size = max(float(np.abs(edges.torque).max()), 1.0)
    at_rest = np.array([sprung.forces_N[grip.tip == tip].sum(0) for tip in range(tips)])
    of_tip = (grip.tip[edges.face][None] == np.arange(tips)[:, None]).astype(np.float64)
    supplied = (of_tip[:, None] * edges.force.T[None]).reshape(3 * tips, width)
    caps = np.zeros((len(grip.limits_N), width))
    caps[edges.face, np.arange(width)] = 1.0
    upper = np.pad(np.vstack([supplied, -supplied, caps]), ((0, 0), (0, 1)))
    most = np.concatenate([at_rest.ravel() + give_N, give_N - at_rest.ravel(), grip.limits_N])
    pushes = np.vstack([np.eye(3), -np.eye(3)])
    equal = [np.hstack([np.vstack([edges.force.T, edges.torque.T / size]),
                        np.concatenate([-weight_N * push, np.zeros(3)])[:, None]]) for push in pushes]
    count = len(pushes)
    solved = programme(np.tile(np.r_[np.zeros(width), -1.0], count),
                       A_ub=sparse.kron(sparse.identity(count), upper, format="csr"), b_ub=np.tile(most, count),
                       A_eq=sparse.block_diag(equal, format="csr"),
                       b_eq=np.tile(np.concatenate([weight_N * up, np.zeros(3)]), count),
                       bounds=np.column_stack([np.zeros(count * (width + 1)),
                                               np.tile(np.r_[np.full(width, np.inf), 9.0], count)]))
    return -1.0 if solved.status != 0 else float(solved.x[width::width + 1].min())


def redrawn(grip: Grip, radius_mm: F64, surface: Surface, rotation: F64, count: int, seed: int) -> list[Grip]:
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
        points[:, face] = found.points_mm[0, rng.choice(real, size=count)] @ rotation.T
        parts = leaned(normal, found.slopes)[0]
        normals[:, face] = parts[rng.integers(len(parts), size=count)] @ rotation.T
    rubbing = np.full(len(grip.friction), grip.friction.max())
    return [replace(grip, points_mm=points[i], normals=normals[i], friction=rubbing, spares=grip.friction > 0)
            for i in range(count)]


def reserves_N(grips: Sequence[Grip], weight_N: float, up: F64) -> F64:
    """Return the greatest friction reserve of each of several sets; minus the weight where one does not balance."""
    return np.array([-weight_N if one is None else one[0] for one in _solved(grips, weight_N * up, None)])


def most_stiffness_N_per_mm(grip: Grip, normal_N: F64, bend_error_mm: float) -> float:
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
