"""How true the arms must be bent: what a bending error does to the forces at the tips of a mount's own arms.

A tip that stands a little too far in presses harder, by the stiffness of its arm against all the others together; the
rigid object shifts until forces balance anew. Errors act along the tips' normals, every tip sticks, and each is a
spring with its own stiffness in all directions. The maker aims for the middle of what balances: the forces that leave
every tip the most room, above zero and below its limit. What error that room forgives is the answer, in two ways:

    one tip off      the mount is fitted on the object, one tip after another bent until it just holds a slip of paper
    all tips off     the arms are bent to the drawing, and then sprung on

N, mm, display frame, origin at the centre of mass. Called by `mount` with the arms as they are bent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.findings import Check, Verdict, at_least
from scanprep.hold.places.spots import tangents
from scanprep.hold.records import Arm, Contact, Hub, faces_of
from scanprep.hold.statics.wrench import BEARS_SHARE
from scanprep.hold.strength.stiffness import cross_matrix, tip_compliance
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey
from scanprep.units import weight_N
from scanprep.vectors import F64, cross

_SIDES = 8  # tolerance: of the pyramid that stands for a friction cone
_MOST_MM = 99.0  # tolerance: what is squeezed by no error forgives any
# exact: force along the normal and two ways across it; shift of the bearing point, times the first, two ways
_PER_FACE = 5


@dataclass(frozen=True, slots=True, eq=False)
class Fitting:
    """How true a mount must be bent."""

    changes_N_per_mm: F64  # (n, n) of the normal force at each tip, by an error at each
    one_mm: float  # the error that is forgiven where any one tip is off
    all_mm: float  # the same where every tip may be off at once, in the worst way
    touchiest: int  # the tip whose force changes most for its limit


def spring_changes_N_per_mm(points_mm: F64, normals: F64, springs_N_per_mm: F64) -> F64:
    """Return how the normal forces of sprung tips on a rigid object change with their bending errors, (n, n).

    points_mm, normals  (n, 3) where they touch, and into the object
    springs_N_per_mm    (n, 3, 3) each tip's stiffness

    Entry i, j: at tip i for one millimetre too far in at tip j. With springs K, moves J of the tips with the object and
    errors e, balance J' K (e - J x) = 0 gives the change (K - K J (J' K J)^-1 J' K) e: for equal springs k times the
    projection that `preload.most_stiffness_N_per_mm` takes.
    """
    count = len(points_mm)
    size = max(float(np.abs(points_mm).max()), 1.0)
    moves = np.vstack([np.hstack([np.eye(3), -cross_matrix(point) / size]) for point in points_mm])
    stiff, along = np.zeros((3 * count, 3 * count)), np.zeros((3 * count, count))
    for i, (spring, normal) in enumerate(zip(springs_N_per_mm, normals)):
        stiff[3 * i:3 * i + 3, 3 * i:3 * i + 3] = spring
        along[3 * i:3 * i + 3, i] = normal
    carried = stiff @ moves
    left = stiff - carried @ np.linalg.pinv(moves.T @ carried, rcond=1e-10, hermitian=True) @ carried.T
    return np.asarray(along.T @ left @ along, dtype=np.float64)


def forgiven_mm(contacts: Sequence[Contact], load_N: F64, room_N_per_mm: F64) -> float:
    """Return the greatest error for which forces exist that balance a load with room for it at every tip.

    load_N         (3,) what the tips together must give, at the origin
    room_N_per_mm  (n,) by how much an error of a millimetre changes each tip's normal force at its seat

    At most 99; below 0 where only forces beyond a limit balance the load, -inf where none do. No friction is counted
    on the jaws of a fork.
    """
    from scipy.optimize import linprog

    faces = [(tip, place, face) for tip, contact in enumerate(contacts) for place, face in enumerate(faces_of(contact))]
    width = _PER_FACE * len(faces) + 1
    size = max(float(np.abs([face.point_mm for _, _, face in faces]).max()), 1.0)
    equal, upper, most = np.zeros((6, width)), [], []
    angle = np.arange(_SIDES) * (2 * np.pi / _SIDES)
    for k, (tip, place, face) in enumerate(faces):
        normal, at = np.asarray(face.normal), _PER_FACE * k
        first, second = (side[0] for side in tangents(normal[None]))
        axes = np.stack([normal, first, second])
        equal[:3, at:at + 3] = axes.T
        equal[3:, at:at + 3] = cross(np.asarray(face.point_mm), axes).T / size
        equal[3:, at + 3:at + 5] = cross(axes[1:], normal).T / size
        rows = np.zeros((_SIDES + 4 + 2, width))
        rubs = contacts[tip].friction if place == 0 or contacts[tip].kind != "fork" else 0.0
        rows[:_SIDES, at] = -rubs * np.cos(np.pi / _SIDES)
        rows[:_SIDES, at + 1], rows[:_SIDES, at + 2] = np.cos(angle), np.sin(angle)
        rows[_SIDES:_SIDES + 4, at] = -BEARS_SHARE * face.radius_mm
        rows[_SIDES:_SIDES + 4, at + 3], rows[_SIDES:_SIDES + 4, at + 4] = [1, 1, -1, -1], [1, -1, 1, -1]
        room = float(room_N_per_mm[tip]) if place == 0 else 0.0
        rows[-2, at], rows[-2, -1] = 1.0, room
        rows[-1, at], rows[-1, -1] = -1.0, room
        upper.append(rows)
        most.append(np.r_[np.zeros(_SIDES + 4), face.force_limit_N, 0.0])
    bounds = np.tile([-np.inf, np.inf], (width, 1))
    bounds[0:-1:_PER_FACE, 0], bounds[-1, 1] = 0.0, _MOST_MM
    solved = linprog(np.r_[np.zeros(width - 1), -1.0], A_ub=np.vstack(upper), b_ub=np.concatenate(most), A_eq=equal,
                     b_eq=np.r_[load_N, np.zeros(3)], bounds=bounds, method="highs")
    return float(solved.x[-1]) if solved.status == 0 else -np.inf


def fitting_of(contacts: Sequence[Contact], arms: Sequence[Arm], hub: Hub, load_N: F64) -> Fitting:
    """Return how true a mount's own arms must be bent; the hub held fast, wires and pads as springs."""
    springs = np.array([np.linalg.inv(tip_compliance(contact, arm, hub)) for contact, arm in zip(contacts, arms)])
    seats = [faces_of(contact)[0] for contact in contacts]
    changes = spring_changes_N_per_mm(np.array([face.point_mm for face in seats]),
                                      np.array([face.normal for face in seats]), springs)
    one, together = np.abs(changes).max(axis=1), np.abs(changes).sum(axis=1)
    touchiest = int(np.argmax(one / [max(face.force_limit_N, 1e-9) for face in seats]))
    return Fitting(changes, forgiven_mm(contacts, load_N, one), forgiven_mm(contacts, load_N, together), touchiest)


def arm_stiffness_check(contacts: Sequence[Contact], arms: Sequence[Arm], hub: Hub, survey: Survey,
                        hold: HoldRules) -> Check:
    """Judge whether a maker can set the tips' forces by hand: look where a slip of paper's error is not forgiven."""
    load = np.array([0.0, weight_N(survey.mass_g.high), 0.0])
    found = fitting_of(contacts, arms, hub, load)
    tip = found.touchiest
    how = "may be bent to the drawing" if found.all_mm >= hold.bend_error_mm else "bend on the object, not to a drawing"
    together, step = max(found.all_mm, 0.0), 0.1 * float(found.changes_N_per_mm[tip, tip])
    return at_least("arm-stiffness", max(found.one_mm, 0.0), hold.fitting_mm, "mm", "common practice",
                    under=Verdict.LOOK,
                    note=f"the bending error at one tip that neither lifts nor overloads any; {together:.2f} mm where "
                         f"all are off: {how}. Touchiest is tip {tip + 1}: 0.1 mm there changes its force by "
                         f"{step:.2f} N (limit {faces_of(contacts[tip])[0].force_limit_N:.1f} N)")
