"""How far a frame of wires and flat bars gives and how hard it is stressed, by the direct stiffness method in space.

Straight members with six freedoms at each end (Euler-Bernoulli bending in two planes, stretch, Saint-Venant torsion),
rigidly joined. A member may be doubled: two equal wires soldered side by side along it, in effect a strip on edge; or
flat bar, b wide and t thick. mm, N, N mm, MPa. Source of the member matrix: Przemieniecki, Theory of Matrix Structural
Analysis, 1968, eq. 5.116 without shear (any text on matrix structures); checked in the tests against PyNiteFEA and
closed forms. Torsion of a rectangle: Roark's Formulas for Stress and Strain, table 10.1, case 4.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.vectors import F64, I32, check_shape, unit


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Nodes joined by round or flat members, some nodes held fast."""

    nodes_mm: F64  # (n, 3)
    members: I32  # (m, 2) node numbers
    diameters_mm: F64  # (m,) of flat members the thickness
    fixed: NDArray[np.bool_]  # (n,) all six freedoms held
    youngs_MPa: float
    shear_MPa: float
    beside: F64 | None = None  # (m, 3) unit, from a doubled member's wire to the one beside it; zero: a single wire
    wide_mm: F64 | None = None  # (m,) of flat members, along their row of `beside`; 0: round

    @property
    def widths_mm(self) -> F64:
        """Of flat members, 0 of round ones, (m,)."""
        return np.zeros(len(self.members)) if self.wide_mm is None else self.wide_mm

    @property
    def doubled(self) -> NDArray[np.bool_]:
        """Which members are of two wires side by side, (m,)."""
        if self.beside is None:
            return np.zeros(len(self.members), dtype=np.bool_)
        return np.asarray(self.beside.any(axis=1) & (self.widths_mm == 0), dtype=np.bool_)


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """What loads do to a frame; the last axis runs over the load cases."""

    moved_mm: F64  # (n, 6, cases) three shifts, three turns in rad
    stress_MPa: F64  # (m, cases) greatest in either end: bending and stretch, with torsion by von Mises
    ends: F64  # (m, 12, cases) forces and moments on both ends of each member, in its own axes


def torsion_mm4(wide_mm: F64, thick_mm: F64) -> F64:
    """Return the torsion constant of rectangles: b t3 [1/3 - 0.21 t/b (1 - t4/(12 b4))], t the smaller side (Roark).

    >>> round(float(torsion_mm4(np.array(10.0), np.array(10.0))) / 10**4, 4)  # of a square: 0.1406 (Roark, case 3)
    0.1408
    """
    b, t = np.maximum(wide_mm, thick_mm), np.minimum(wide_mm, thick_mm)
    return np.asarray(b * t**3 * (1 / 3 - 0.21 * t / b * (1 - t**4 / (12 * b**4))))


def torsion_modulus_mm3(wide_mm: F64, thick_mm: F64) -> F64:
    """Return torque over greatest shear stress of rectangles: b t2 / (3 [1 + 0.6095 t/b + ...]) (Roark)."""
    b, t = np.maximum(wide_mm, thick_mm), np.minimum(wide_mm, thick_mm)
    r = t / b
    return np.asarray(b * t**2 / (3 * (1 + 0.6095 * r + 0.8865 * r**2 - 1.8023 * r**3 + 0.91 * r**4)))


def _sections(diameters_mm: F64, doubled: NDArray[np.bool_], wide_mm: F64) -> tuple[F64, F64, F64, F64]:
    """Area, second moments on edge and flat, and torsion constant, (m,) each: of round, doubled and flat members."""
    flat, d = wide_mm > 0, diameters_mm
    b = np.where(flat, wide_mm, 1.0)
    round_area, round_second = math.pi * d**2 / 4, math.pi * d**4 / 64
    # two circles that touch: I + A (d/2)^2 = 5 I each about the line between them; torsion as two apart
    both, edge = np.where(doubled, 2.0, 1.0), np.where(doubled, 10.0, 1.0)
    return (np.where(flat, b * d, both * round_area), np.where(flat, d * b**3 / 12, edge * round_second),
            np.where(flat, b * d**3 / 12, both * round_second),
            np.where(flat, torsion_mm4(b, d), both * 2 * round_second))


def _members(lengths_mm: F64, frame: Frame) -> F64:
    """Every member's stiffness in its own axes, (m, 12, 12)."""
    E, G = frame.youngs_MPa, frame.shear_MPa
    area, on_edge, flatwise, torsion = _sections(frame.diameters_mm, frame.doubled, frame.widths_mm)
    L = lengths_mm
    k = np.zeros((len(L), 12, 12))
    for a, stiffness in ((0, E * area / L), (3, G * torsion / L)):
        k[:, a, a] = k[:, a + 6, a + 6] = stiffness
        k[:, a, a + 6] = k[:, a + 6, a] = -stiffness
    # bending in x-y (shift 1, turn 5) and x-z (shift 2, turn 4, whose sign turns)
    for shift, turn, sign, second in ((1, 5, 1.0, on_edge), (2, 4, -1.0, flatwise)):
        EI = E * second
        p, q, r = 12 * EI / L**3, sign * 6 * EI / L**2, EI / L
        at = (shift, turn, shift + 6, turn + 6)
        rows = ((p, q, -p, q), (q, 4 * r, -q, 2 * r), (-p, -q, p, -q), (q, 2 * r, -q, 4 * r))
        for row, values in zip(at, rows):
            for column, value in zip(at, values):
                k[:, row, column] = value
    return k


def _axes(frame: Frame) -> F64:
    """Every member's own axes as rows, (m, 3, 3): along it first, then towards a wire beside it or along its width.

    Any pair across will do for a round wire.
    """
    x = unit(frame.nodes_mm[frame.members[:, 1]] - frame.nodes_mm[frame.members[:, 0]])
    y = np.cross(np.eye(3)[np.argmin(np.abs(x), axis=1)], x)
    if frame.beside is not None:
        turned = frame.beside.any(axis=1, keepdims=True)
        y = np.where(turned, frame.beside - np.sum(frame.beside * x, axis=1, keepdims=True) * x, y)
    y = unit(y)
    return np.stack([x, y, np.cross(x, y)], axis=1)


def solve(frame: Frame, loads_N: F64) -> Response:
    """Return shifts and stresses under nodal loads.

    loads_N  (n, 6, cases) forces in N, then moments in N mm, at the nodes

    Raises ValueError where a member has no length, or where nothing holds the frame.
    """
    count = len(frame.nodes_mm)
    check_shape("loads_N", loads_N, (count, 6, -1))
    if not bool(frame.fixed.any()):
        raise ValueError("a frame needs at least one fixed node")
    runs = frame.nodes_mm[frame.members[:, 1]] - frame.nodes_mm[frame.members[:, 0]]
    lengths = np.sqrt(np.einsum("ij,ij->i", runs, runs))
    for (i, j) in frame.members[lengths <= 0]:
        raise ValueError(f"member {i}-{j} has no length")
    turn, axes = np.zeros((len(runs), 12, 12)), _axes(frame)
    for k in range(0, 12, 3):
        turn[:, k:k + 3, k:k + 3] = axes
    local = _members(lengths, frame) @ turn
    at = (6 * frame.members[:, :, None] + np.arange(6)).reshape(len(runs), 12)
    stiffness = np.zeros((6 * count, 6 * count))
    np.add.at(stiffness, (at[:, :, None], at[:, None, :]), np.swapaxes(turn, 1, 2) @ local)
    free = np.flatnonzero(np.repeat(~frame.fixed, 6))
    flat = loads_N.reshape(6 * count, -1)
    moved = np.zeros(flat.shape)
    moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], flat[free])
    ends = local @ moved[at]
    stress = stress_MPa(ends, frame.diameters_mm, frame.doubled, frame.widths_mm)
    return Response(moved.reshape(loads_N.shape), stress, ends)


def member_axes(frame: Frame, member: int) -> F64:
    """Return a member's own axes as rows, (3, 3): along it first."""
    return np.asarray(_axes(frame)[member], dtype=np.float64)


def stress_MPa(ends: F64, diameters_mm: F64, doubled: NDArray[np.bool_], wide_mm: F64) -> F64:
    """Return the greater von Mises stress of each member's two ends, (m, cases).

    ends     (m, 12, cases) in members' own axes
    doubled  (m,) two such wires side by side along the second axis: 10 I over d, and twice W across
    wide_mm  (m,) of flat members along that axis, d thick; 0: round. Their corners bear both bendings added
    """
    area, W = (value[:, None] for value in (math.pi * diameters_mm**2 / 4, math.pi * diameters_mm**3 / 32))
    two, flat = doubled[:, None], (wide_mm > 0)[:, None]
    b, t = np.where(flat, wide_mm[:, None], 1.0), diameters_mm[:, None]
    winds = torsion_modulus_mm3(b, t)
    worst = np.zeros((ends.shape[0], ends.shape[2]))
    for a in (0, 6):
        bent = np.where(two, np.abs(ends[:, a + 5]) / 5 + np.abs(ends[:, a + 4]) / 2,
                        np.hypot(ends[:, a + 4], ends[:, a + 5])) / W
        both = np.where(two, 2.0, 1.0)
        normal = np.abs(ends[:, a]) / (both * area) + bent
        corner = np.abs(ends[:, a]) / (b * t) + 6 * np.abs(ends[:, a + 5]) / (t * b**2) + \
            6 * np.abs(ends[:, a + 4]) / (b * t**2)
        normal = np.where(flat, corner, normal)
        torsion = np.abs(ends[:, a + 3]) / np.where(flat, winds, both * 2 * W)
        worst = np.maximum(worst, np.sqrt(normal**2 + 3 * torsion**2))
    return worst
