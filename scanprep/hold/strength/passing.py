"""How each wire of a mount passes on what acts on the object: forces at its faces, along it, and at its joint.

All linear in what acts, seven numbers: the wrench at the object's centre of mass, then the strain by which the mount
outgrows the object from the hub outwards (a season). One solution of the frame serves every load case. The object is
rigid, every tip sticks, pads are patches of springs (see `stiffness`). Display frame, N, N mm, mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.records import Arm, Face, Hub, Tip, faces_of
from scanprep.hold.strength.frame import Frame, member_axes, stress_MPa
from scanprep.hold.strength.joints import JointLoad
from scanprep.hold.strength.stiffness import contact_of, pad_of, tip_solved, wrench_move
from scanprep.vectors import F64, cross


@dataclass(frozen=True, slots=True, eq=False)
class WirePassing:
    """One wire with its faces: what a unit of each of the seven, and a newton at its seat, do in it."""

    faces: tuple[Face, ...]
    bearing: bool  # carries weight from below
    rest_N: float  # normal force at its seat at rest, preload and weight
    face_wrench: F64  # (f, 6, 7) on the wire at each face
    ends: F64  # (m, 12, 7) member end forces in member axes
    seat_ends: F64  # (m, 12) the same for a newton pressed on the seat
    root: F64  # (6, 7) force and moment at the end of the lap, axes of the display
    seat_root: F64  # (6,)
    diameters_mm: F64  # (m,)
    doubled: NDArray[np.bool_]  # (m,) two wires side by side
    wide_mm: F64  # (m,) of flat bar; 0: round
    from_joint_mm: F64  # (m,) along the wire from the end of the lap to the member's nearer end
    softened: NDArray[np.bool_]  # (m,) bent so sharply that it was annealed first
    along: F64  # (3,) the lap's direction
    lap_mm: float
    wire_mm: float
    bond_mm: float  # width of what is soldered to the hub

    def pressed_N(self, acts: F64) -> F64:
        """Return the normal force at each face, (f, cases), of what acts (7, cases) on top of the forces at rest."""
        normals = np.array([face.normal for face in self.faces])
        change = -np.einsum("fi,fij,jc->fc", normals, self.face_wrench[:, :3, :], acts)
        change[0] += self.rest_N
        return np.asarray(change, dtype=np.float64)

    def stress_MPa(self, acts: F64, *, at_rest: bool = True) -> F64:
        """Return the stress of each member, (m, cases), with the forces at rest or without."""
        rest_N = self.rest_N if at_rest else 0.0
        ends = np.einsum("mij,jc->mic", self.ends, acts) + rest_N * self.seat_ends[:, :, None]
        return stress_MPa(ends, self.diameters_mm, self.doubled, self.wide_mm)

    def joint_loads(self, acts: F64, *, at_rest: bool = True) -> tuple[JointLoad, ...]:
        """Return what passes through the soldered lap, one a case; the hub's normal is the viewer's axis."""
        total = self.root @ acts + (self.rest_N if at_rest else 0.0) * self.seat_root[:, None]
        off = np.array([0.0, 0.0, 1.0])
        along = self.along - off * self.along[2]
        length = float(np.linalg.norm(along))
        along = along / length if length > 1e-6 else np.array([1.0, 0.0, 0.0])
        axes = np.vstack([along, cross(off, along), off])
        force, moment = axes @ total[:3], axes @ total[3:]
        return tuple(JointLoad(*map(float, (*f, *m))) for f, m in zip(force.T, moment.T))


def mount_passing(tips: Sequence[Tip], hub: Hub, least_bend_diameters: float) -> tuple[WirePassing, ...]:
    """Return how each wire of a hold passes loads on, in the order of its tips.

    least_bend_diameters  a bend of a smaller inside radius was softened first
    """
    solved = [_wire(tip, hub) for tip in tips]
    stiff, pushed = np.zeros((6, 6)), np.zeros(6)
    for wire in solved:
        holds = wire.gather @ np.linalg.inv(wire.gives)
        stiff += holds @ wire.gather.T
        pushed += holds @ wire.outgrown_mm
    # how the object moves by each of the seven: a wrench against all wires, a strain against none but themselves
    moves = np.asarray(np.linalg.solve(stiff, np.column_stack([np.eye(6), pushed])), dtype=np.float64)
    return tuple(_passing(tip, wire, moves, least_bend_diameters) for tip, wire in zip(tips, solved))


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """A wire's frame under a unit wrench at each of its faces."""

    frame: Frame
    ends: F64  # (m, 12, 6 f)
    gives: F64  # (6 f, 6 f) wire and pads
    gather: F64  # (6, 6 f) face wrenches about the centre of mass
    outgrown_mm: F64  # (6 f,) how a unit strain from the hub outwards moves its faces


def _wire(tip: Tip, hub: Hub) -> _Solved:
    frame, response, wire_gives = tip_solved(tip, hub)
    contact, gives = contact_of(tip), wire_gives.copy()
    faces = faces_of(contact)
    outgrown = np.zeros(6 * len(faces))
    for k, face in enumerate(faces):
        at = slice(6 * k, 6 * k + 6)
        gives[at, at] += pad_of(face, contact)
        outgrown[6 * k:6 * k + 3] = np.asarray(face.point_mm) - np.asarray(hub.centre_mm)
    gather = np.hstack([wrench_move(np.asarray(face.point_mm)) for face in faces])
    return _Solved(frame, response.ends, gives, np.asarray(gather, dtype=np.float64), outgrown)


def _passing(tip: Tip, wire: _Solved, moves: F64, least_bend_diameters: float) -> WirePassing:
    faces = faces_of(contact_of(tip))
    moved = wire.gather.T @ moves
    moved[:, 6] -= wire.outgrown_mm
    at_faces = np.asarray(np.linalg.solve(wire.gives, moved), dtype=np.float64)  # (6 f, 7) on the wire
    ends = np.einsum("mij,jk->mik", wire.ends, at_faces)
    push = np.zeros(6 * len(faces))
    push[:3] = -np.asarray(faces[0].normal)
    seat_ends = wire.ends @ push
    turned = member_axes(wire.frame, 0)
    root, seat_root = (np.concatenate([turned.T @ part[0, :3], turned.T @ part[0, 3:6]]) for part in (ends, seat_ends))
    near, far = _from_joint_mm(wire.frame)
    run = tip.arm.path_mm[1] - tip.arm.path_mm[0]
    return WirePassing(
        faces, tip.bearing, tip.force_N, at_faces.reshape(len(faces), 6, 7), ends, seat_ends, root, seat_root,
        wire.frame.diameters_mm, wire.frame.doubled, wire.frame.widths_mm, near,
        _softened(tip.arm, far, least_bend_diameters),
        run / np.linalg.norm(run), tip.arm.lap_mm, tip.arm.wire_mm,
        tip.arm.wide_mm or tip.arm.wire_mm)


def _from_joint_mm(frame: Frame) -> tuple[F64, F64]:
    """How far each member's nearer and further end lie from a joint on the hub, along the wires, (m,) each."""
    lengths = np.linalg.norm(frame.nodes_mm[frame.members[:, 1]] - frame.nodes_mm[frame.members[:, 0]], axis=1)
    reached = np.where(frame.fixed, 0.0, np.inf)
    for _ in range(len(frame.members)):
        for (i, j), length in zip(frame.members, lengths):
            reached[i], reached[j] = min(reached[i], reached[j] + length), min(reached[j], reached[i] + length)
    ends = reached[frame.members]
    return ends.min(axis=1), ends.max(axis=1)


def _softened(arm: Arm, far_mm: F64, least_bend_diameters: float) -> NDArray[np.bool_]:
    """Members beyond the first bend that cold wire would not take: an end softened for its hook is soft to the tip."""
    sharp = [bend.at_mm for bend in arm.bends if bend.radius_mm < least_bend_diameters * arm.end_mm - 1e-6]
    if not sharp:
        return np.zeros(len(far_mm), dtype=bool)
    return np.asarray(far_mm + arm.lap_mm > min(sharp) - arm.wire_mm)
