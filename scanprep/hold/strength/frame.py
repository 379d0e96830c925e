"""How far a frame of round wires gives and how hard it is stressed, by the direct stiffness method in space.

Straight members with six freedoms at each end (Euler-Bernoulli bending in two planes, stretch, Saint-Venant torsion),
rigidly joined. mm, N, N mm, MPa. Source of the member matrix: Przemieniecki, Theory of Matrix Structural Analysis,
1968, eq. 5.116 without shear (any text on matrix structures); checked in the tests against PyNiteFEA and closed forms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.vectors import F64, I32, check_shape, cross


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Nodes joined by round members, some nodes held fast."""

    nodes_mm: F64  # (n, 3)
    members: I32  # (m, 2) node numbers
    diameters_mm: F64  # (m,)
    fixed: NDArray[np.bool_]  # (n,) all six freedoms held
    youngs_MPa: float
    shear_MPa: float


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """What loads do to a frame; the last axis runs over the load cases."""

    moved_mm: F64  # (n, 6, cases) three shifts, three turns in rad
    stress_MPa: F64  # (m, cases) greatest in either end: bending and stretch, with torsion by von Mises
    ends: F64  # (m, 12, cases) forces and moments on both ends of each member, in its own axes


def _members(lengths_mm: F64, diameters_mm: F64, E: float, G: float) -> F64:
    """The (m, 12, 12) matrices of members in their own axes."""
    area, second = math.pi * diameters_mm**2 / 4, math.pi * diameters_mm**4 / 64
    EI, polar, L = E * second, 2 * second, lengths_mm
    k = np.zeros((len(L), 12, 12))
    for a, stiffness in ((0, E * area / L), (3, G * polar / L)):
        k[:, a, a] = k[:, a + 6, a + 6] = stiffness
        k[:, a, a + 6] = k[:, a + 6, a] = -stiffness
    # bending in x-y (shift 1, turn 5) and x-z (shift 2, turn 4, whose sign turns)
    for shift, turn, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        p, q, r = 12 * EI / L**3, sign * 6 * EI / L**2, EI / L
        at = [shift, turn, shift + 6, turn + 6]
        block = np.array([[p, q, -p, q], [q, 4 * r, -q, 2 * r], [-p, -q, p, -q], [q, 2 * r, -q, 4 * r]])
        k[:, np.array(at)[:, None], at] = np.moveaxis(block, -1, 0)
    return k


def _axes(directions: F64) -> F64:
    """(m, 3, 3) rows: the members' own axes. Any pair across will do for a round wire."""
    x = directions / np.linalg.norm(directions, axis=-1, keepdims=True)
    y = cross(np.eye(3)[np.argmin(np.abs(x), axis=-1)], x)
    y /= np.linalg.norm(y, axis=-1, keepdims=True)
    return np.stack([x, y, cross(x, y)], axis=-2)


def solve(frame: Frame, loads_N: F64) -> Response:
    """Return shifts and stresses under nodal loads.

    loads_N  (n, 6, cases) forces in N, then moments in N mm, at the nodes

    Raises ValueError where a member has no length, or where nothing holds the frame.
    """
    count = len(frame.nodes_mm)
    check_shape("loads_N", loads_N, (count, 6, -1))
    if not bool(frame.fixed.any()):
        raise ValueError("a frame needs at least one fixed node")
    along = frame.nodes_mm[frame.members[:, 1]] - frame.nodes_mm[frame.members[:, 0]]
    lengths = np.linalg.norm(along, axis=1)
    if not bool((lengths > 0).all()):
        i, j = frame.members[int(np.argmin(lengths))]
        raise ValueError(f"member {i}-{j} has no length")
    axes, turn = _axes(along), np.zeros((len(along), 12, 12))
    for k in range(0, 12, 3):
        turn[:, k:k + 3, k:k + 3] = axes
    turned = _members(lengths, frame.diameters_mm, frame.youngs_MPa, frame.shear_MPa) @ turn
    at = (6 * frame.members[:, :, None] + np.arange(6)).reshape(-1, 12)
    stiffness = np.zeros((6 * count, 6 * count))
    np.add.at(stiffness, (at[:, :, None], at[:, None, :]), np.swapaxes(turn, 1, 2) @ turned)
    free = np.flatnonzero(np.repeat(~frame.fixed, 6))
    flat = loads_N.reshape(6 * count, -1)
    moved = np.zeros(flat.shape)
    moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], flat[free])
    ends = turned @ moved[at]
    stress = stress_MPa(np.moveaxis(ends, 1, 0), frame.diameters_mm[:, None])
    return Response(moved.reshape(loads_N.shape), stress, ends)


def member_axes(frame: Frame, member: int) -> F64:
    """Return a member's own axes as rows, (3, 3): along it first."""
    i, j = frame.members[member]
    return np.asarray(_axes(frame.nodes_mm[j] - frame.nodes_mm[i]), dtype=np.float64)


def stress_MPa(ends: F64, diameter_mm: float | F64) -> F64:
    """Return the greater von Mises stress of a member's two ends; ends (12, cases), or (12, m, cases) of (m, 1)."""
    area, W = math.pi * diameter_mm**2 / 4, math.pi * diameter_mm**3 / 32
    worst = np.zeros(ends.shape[1:])
    for a in (0, 6):
        normal = np.abs(ends[a]) / area + np.hypot(ends[a + 4], ends[a + 5]) / W
        torsion = np.abs(ends[a + 3]) / (2 * W)
        worst = np.maximum(worst, np.sqrt(normal**2 + 3 * torsion**2))
    return worst
