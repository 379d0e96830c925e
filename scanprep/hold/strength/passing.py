"""How each wire of a mount passes on what acts on the object: forces at its faces, along it, and at its joint.

All linear in what acts, seven numbers: the wrench at the object's centre of mass, then the strain by which the mount
outgrows the object from the hub outwards (a season). One solution of the frame serves every load case. The object is
rigid, every tip sticks, pads are patches of springs (see `stiffness`). Display frame, N, N mm, mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.records import Arm, Face, Hub, Tip, faces_of
from scanprep.hold.strength.frame import Frame, member_axes, stress_MPa
from scanprep.hold.strength.joints import JointLoad
from scanprep.hold.strength.stiffness import braces_of, contact_of, pad_of, tip_solved, wrench_move
from scanprep.vectors import F64, cross


@dataclass(frozen=True, slots=True, eq=False)
class Lap:
    """A soldered lap on the hub, of an arm or of its brace."""

    passes: F64  # (6, 7) force and moment at its end, axes of the display
    seat_passes: F64  # (6,) the same for a newton pressed on the seat
    along: F64  # (3,) unit, its direction in the hub's plane
    length_mm: float  # 0: not on record
    bond_mm: float  # width of what is soldered
    brace: bool

    def loads(self, acts: F64, rest_N: float) -> tuple[JointLoad, ...]:
        """Return what passes through it, one a case of what acts (7, cases), with so much pressed on the seat."""
        off = np.array([0.0, 0.0, 1.0])  # the hub's normal is the viewer's axis
        total = self.passes @ acts + rest_N * self.seat_passes[:, None]
        axes = np.vstack([self.along, cross(off, self.along), off])
        force, moment = axes @ total[:3], axes @ total[3:]
        return tuple(JointLoad(*map(float, (*f, *m))) for f, m in zip(force.T, moment.T))


@dataclass(frozen=True, slots=True, eq=False)
class WirePassing:
    """One wire with its faces: what a unit of each of the seven, and a newton at its seat, do in it."""

    faces: tuple[Face, ...]
    bearing: bool  # carries weight from below
    rest_N: float  # normal force at its seat at rest, preload and weight
    face_wrench: F64  # (f, 6, 7) on the wire at each face
    ends: F64  # (m, 12, 7) member end forces in member axes
    seat_ends: F64  # (m, 12) the same for a newton pressed on the seat
    diameters_mm: F64  # (m,)
    doubled: NDArray[np.bool_]  # (m,) two wires side by side
    wide_mm: F64  # (m,) of flat bar; 0: round
    from_joint_mm: F64  # (m,) along the wire from the end of the lap to the member's nearer end
    softened: NDArray[np.bool_]  # (m,) bent so sharply that it was annealed first
    wire_mm: float
    laps: tuple[Lap, ...]  # on the hub: the arm's own, then its braces'

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
    return tuple(_passing(tip, hub, wire, moves, least_bend_diameters) for tip, wire in zip(tips, solved))


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


def _passing(tip: Tip, hub: Hub, wire: _Solved, moves: F64, least_bend_diameters: float) -> WirePassing:
    faces = faces_of(contact_of(tip))
    moved = wire.gather.T @ moves
    moved[:, 6] -= wire.outgrown_mm
    at_faces = np.asarray(np.linalg.solve(wire.gives, moved), dtype=np.float64)  # (6 f, 7) on the wire
    ends = np.einsum("mij,jk->mik", wire.ends, at_faces)
    push = np.zeros(6 * len(faces))
    push[:3] = -np.asarray(faces[0].normal)
    seat_ends = wire.ends @ push
    near, far = _from_joint_mm(wire.frame)
    return WirePassing(
        faces, tip.bearing, tip.force_N, at_faces.reshape(len(faces), 6, 7), ends, seat_ends,
        wire.frame.diameters_mm, wire.frame.doubled, wire.frame.widths_mm, near,
        _softened(tip.arm, far, least_bend_diameters),
        tip.arm.wire_mm, tuple(_laps(tip.arm, hub, wire.frame, ends, seat_ends)))


def _laps(arm: Arm, hub: Hub, frame: Frame, ends: F64, seat_ends: F64) -> Iterator[Lap]:
    """The laps of a wire on the hub: the frame begins with the member behind the arm's own and ends with its braces."""

    def passed(member: int) -> tuple[F64, F64]:
        turned = member_axes(frame, member)
        both = [np.concatenate([turned.T @ part[member, :3], turned.T @ part[member, 3:6]])
                for part in (ends, seat_ends)]
        return both[0], both[1]

    run = arm.path_mm[1] - arm.path_mm[0]
    yield Lap(*passed(0), _level(run), arm.lap_mm, arm.wide_mm or arm.wire_mm, brace=False)
    braces = braces_of(arm, hub)
    for member, path in enumerate(braces, start=len(ends) - len(braces)):
        first = path[1] - path[0]
        yield Lap(*passed(member), _level(first), float(np.linalg.norm(first)), arm.wire_mm, brace=True)


def _level(run: F64) -> F64:
    """A lap's direction in the hub's plane."""
    level = np.array([run[0], run[1], 0.0])
    length = float(np.linalg.norm(level))
    return level / length if length > 1e-6 else np.array([1.0, 0.0, 0.0])


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
