"""How far an object rocks on its tips when it is shaken: tips that stand too close together let it swing.

Every tip is taken as an equal spring in all directions that sticks to the object (2 N/mm: a bent wire's usual
stiffness), shared alike by the places where it touches, so the object is a rigid body on springs and its answer to a
steady push is closed form. Forces do not show this: forces that balance exist however short the lever arms are. No
gate asks for it: the contact solve tells falls from stays better. The search seeks tips that do not rock, since it
cannot shake every set that it tries.

Display frame, origin at the centre of mass, mm and N. Used by the search and the
families' verdicts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.vectors import F64, cross

LOOSE = 1e-6  # tolerance: of the springs: what keeps a body that some motion does not stretch from dividing by nothing


@dataclass(frozen=True, slots=True, eq=False)
class Rocking:
    """The answer to the worst push."""

    turn_deg: float
    twist: F64  # (6,) how it moves then: shift of the centre in mm, turn in radians


def moves(points_mm: F64, twists: F64) -> F64:
    """Return how points (n, 3) move under twists (m, 6): (m, n, 3)."""
    return np.asarray(twists[:, None, :3] + cross(twists[:, None, 3:], points_mm[None]), dtype=np.float64)


def _springs(grip: ContactWrenches, spring_N_per_mm: float) -> tuple[F64, F64, float]:
    """How the body gives (6, 6) per N on equal springs at its tips, what each face then takes (f, 3, 6), and the size.

    Lengths are over the size, so that turns and shifts are alike. A wire's faces share its spring: what lies along a
    base keeps the object from rolling about the line through the wires' middles.
    """
    size = max(float(np.abs(grip.points_mm).max()), 1.0)
    ways = np.array([np.hstack([np.eye(3), [[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]]])
                     for x, y, z in grip.points_mm / size])
    springs = spring_N_per_mm / np.bincount(grip.tip, minlength=grip.tips)[grip.tip]
    takes = springs[:, None, None] * ways
    stiff = np.einsum("fki,fkj->ij", takes, ways)
    return np.linalg.inv(stiff + LOOSE * spring_N_per_mm * np.eye(6)), takes, size


def push_forces_N(grip: ContactWrenches, weight_N: float, spring_N_per_mm: float, push_g: float) -> F64:
    """Return by how much each tip's force changes (t,) under a steady push of `push_g` in its worst direction.

    No face's own worst direction need be another's: a tip's forces are added up as if they were.
    """
    soft, takes, _ = _springs(grip, spring_N_per_mm)
    each = np.linalg.norm(np.einsum("fki,ij->fkj", takes, soft[:, :3]), ord=2, axis=(1, 2))
    return np.asarray(push_g * weight_N * np.bincount(grip.tip, each, minlength=grip.tips), dtype=np.float64)


def rocking(grip: ContactWrenches, weight_N: float, spring_N_per_mm: float, push_g: float) -> Rocking:
    """Return how far a set lets its object turn under a steady push of `push_g` in the worst direction."""
    soft, _, size = _springs(grip, spring_N_per_mm)
    # columns: what a push of 1 N along each axis does; turns come out times the size
    _, strengths, ways = np.linalg.svd(soft[3:, :3] / size)
    twist = soft[:, :3] @ ways[0] * (push_g * weight_N)
    twist[3:] /= size
    return Rocking(math.degrees(strengths[0] * push_g * weight_N), twist)
