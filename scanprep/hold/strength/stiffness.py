"""The arms as the object feels them: how far it shifts and turns in its mount under a force or a moment.

Each arm is a frame of round wire, held at the end of its lap on the hub, with its braces; the hub's own give is counted
apart (`post.compliance`). The object is rigid. At every face where a tip touches, the pad is a small patch of springs
between wire and object: it presses along the normal and shears across it. Assumed: preload keeps every tip in touch and
friction keeps it from sliding, so pads bear both ways; true of standing weight (gate 4) and of small swaying, not of a
hard knock. A shelf's loop is left out of the stiffness, the bad end. Display frame, N, mm.

    hub |==== wire ====+              (object)
        |              |  pad  normal ->
        |==== wire ====+--[//]--(object)
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence

import numpy as np

from scanprep.hold.records import Arm, Contact, Face, Hub, Tip, faces_of
from scanprep.hold.strength.frame import Frame, Response, solve
from scanprep.hold.strength.wire import arm_frame
from scanprep.hold.wires.flat_bar import bent_bar, flat_of
from scanprep.hold.wires.meshes import is_ring
from scanprep.hold.wires.wire_ends import seats_mm
from scanprep.materials import metal
from scanprep.rules import HoldRules, Pad, PadRules, find_pad
from scanprep.vectors import F64

#: Mount makers' bendable wire and hub stock.
MOUNT_ALLOY = "C26000"
_PAD_POISSON = HoldRules().pad_poisson_ratio
_BOOK = PadRules()  # stiffness of pads is the book's alone
_HARDEST = find_pad("lacquered wire", _BOOK)


def cross_matrix(r: F64) -> F64:
    """Return the (3, 3) matrix that crosses a vector with r from the left: cross_matrix(r) @ v = r x v."""
    return np.array([[0, -r[2], r[1]], [r[2], 0, -r[0]], [-r[1], r[0], 0]])


def wrench_move(offset_mm: F64) -> F64:
    """Return the (6, 6) matrix from a wrench at a point to the same wrench about another, offset = point - other."""
    move = np.eye(6)
    move[3:, :3] = cross_matrix(offset_mm)
    return move


def moved(compliance: F64, offset_mm: F64) -> F64:
    """Return a compliance as felt at a point rigidly joined to where it was taken, offset = point - there."""
    move = wrench_move(offset_mm)
    return np.asarray(move.T @ compliance @ move, dtype=np.float64)


def pad_compliance(face: Face, thickness_mm: float, stuff: Pad) -> F64:
    """Return a pad's (6, 6) compliance at its face: a layer t thick, pressed E A/t, sheared G A/t.

    Over a disc of radius r it also resists turning: E A r2/(4 t) about the axes across, G A r2/(2 t) about the normal.
    """
    area = math.pi * face.radius_mm**2
    press = stuff.modulus_MPa * area / thickness_mm
    shear = press / (2 * (1 + _PAD_POISSON))
    normal = np.asarray(face.normal)
    along = np.outer(normal, normal)
    across = np.eye(3) - along
    soft = np.zeros((6, 6))
    soft[:3, :3] = along / press + across / shear
    soft[3:, 3:] = (across * 4 / press + along * 2 / shear) / face.radius_mm**2
    return soft


def contact_of(tip: Tip) -> Contact:
    """Return a tip without its arm."""
    return Contact(tip.point_mm, tip.normal, tip.kind, tip.bearing, tip.force_limit_N, tip.friction, tip.pad,
                   tip.pad_radius_mm, tip.pad_thickness_mm, tip.faces, tip.shaken_N, tip.along, tip.ring, flat_of(tip))


def braces_of(arm: Arm, hub: Hub) -> tuple[F64, ...]:
    """Return the pieces of wire that start on the hub: behind the arm's own lap, or behind elsewhere on its plate."""
    near_mm = hub.thickness_mm + 2 * arm.wire_mm
    centre = np.asarray(hub.centre_mm)
    return tuple(piece for piece in arm.pieces_mm if len(piece) >= 4 and (
        np.linalg.norm(piece[0] - arm.path_mm[0]) <= near_mm or
        (np.linalg.norm(piece[0, :2] - centre[:2]) <= hub.size_mm / 2 and piece[0, 2] < centre[2])))


def rings_of(arm: Arm) -> tuple[F64, ...]:
    """Return the pieces that go round the object from the arm's end."""
    return tuple(piece for piece in arm.pieces_mm if is_ring(piece, arm.path_mm[-1], arm.wire_mm, arm.strip))


def wire_solved(contact: Contact, arm: Arm, hub: Hub) -> tuple[Frame, Response, F64]:
    """Return an arm's frame, what unit wrenches at the faces of its tip do in it, and its compliance there.

    The response's cases are six a face, in their order; the compliance is (6 f, 6 f), the hub held fast.
    """
    faces, run = faces_of(contact), arm.path_mm[1] - arm.path_mm[0]
    launch = arm.path_mm[0] + run * min(1.0, arm.lap_mm / float(np.linalg.norm(run)))
    frame, nodes = arm_frame(arm.path_mm, arm.wire_mm, launch, seats_mm(contact, arm.end_mm), metal(MOUNT_ALLOY),
                             braces_of(arm, hub), rings_of(arm), arm.thin, contact.flat, arm.wide_mm, contact.ring)
    levers = [wrench_move(np.asarray(face.point_mm) - frame.nodes_mm[node]) for face, node in zip(faces, nodes)]
    loads = np.zeros((len(frame.nodes_mm), 6, 6 * len(faces)))
    for k, (node, lever) in enumerate(zip(nodes, levers)):
        loads[node, :, 6 * k:6 * k + 6] += lever
    response = solve(frame, loads)
    return frame, response, np.vstack([lever.T @ response.moved_mm[node] for node, lever in zip(nodes, levers)])


def bar_compliance(contact: Contact, rules: HoldRules) -> F64:
    """Return how far a flat bar in the thinnest stock gives under a force midway between what bears, (3, 3) mm/N."""
    flat, thick = contact.flat, rules.flat_thicknesses_mm[0]
    if flat is None:
        raise ValueError("a bar's give is asked of a tip of wire")
    path, _ = bent_bar(flat, contact.pad_thickness_mm + thick / 2, thick, rules)
    middle = seats_mm(contact, thick)[:2].mean(axis=0)
    frame, (node,) = arm_frame(path, thick, path[0] - [0.0, rules.back_bar_mm, 0.0], middle[None], metal(MOUNT_ALLOY),
                               flat=flat)
    loads = np.zeros((len(frame.nodes_mm), 6, 3))
    loads[node, :3] = np.eye(3)
    return np.asarray(solve(frame, loads).moved_mm[node, :3], dtype=np.float64)


def strip_compliance(contact: Contact, rules: HoldRules) -> F64:
    """Return how far a clip of strip gives before it is drawn, (3, 3) mm/N: as its flat stem in the thinnest stock.

    A cantilever from a back bar behind the centre of mass up or down to the clip, L3 / (3 E I) (any beam table).
    """
    if contact.ring is None or contact.ring.strip is None:
        raise ValueError("a strip's give is asked of a tip of wire")
    thick, wide = rules.flat_thicknesses_mm[0], rules.flat_stem_mm
    reach_mm = max(abs(contact.point_mm[1]), rules.back_bar_mm)
    by_second = reach_mm**3 / (3 * metal(MOUNT_ALLOY).youngs_modulus_MPa)
    flat, edge = wide * thick**3 / 12, thick * wide**3 / 12
    return np.diag([by_second / edge, by_second / flat, by_second / flat])


@functools.lru_cache(maxsize=64)  # tolerance: the wires of a dozen mounts
def tip_solved(tip: Tip, hub: Hub) -> tuple[Frame, Response, F64]:
    """Return `wire_solved` of a finished hold's tip, kept: rods are tried and judged on the same wires.

    Nobody may write into the arrays.
    """
    return wire_solved(contact_of(tip), tip.arm, hub)


def _wire_compliance(contact: Contact, arm: Arm, hub: Hub) -> F64:
    return wire_solved(contact, arm, hub)[2]


def pad_of(face: Face, contact: Contact) -> F64:
    """Return the (6, 6) compliance of a contact's pad at one of its faces."""
    return pad_compliance(face, contact.pad_thickness_mm, find_pad(contact.pad, _BOOK))


def _together(contacts: Sequence[Contact], wires: Sequence[F64], bare: bool) -> F64:
    """All tips as the object feels them at its centre of mass: each wire with its pads, side by side."""
    if not contacts:
        raise ValueError("an object without tips is held by nothing")
    stiff = np.zeros((6, 6))
    for contact, wire in zip(contacts, wires, strict=True):
        stuff = _HARDEST if bare else find_pad(contact.pad, _BOOK)
        thickness = _HARDEST.thickness_mm if bare else contact.pad_thickness_mm
        gives, gather = wire.copy(), []
        for k, face in enumerate(faces_of(contact)):
            at = slice(6 * k, 6 * k + 6)
            gives[at, at] += pad_compliance(face, thickness, stuff)
            gather.append(wrench_move(np.asarray(face.point_mm)))
        whole = np.hstack(gather)
        stiff += whole @ np.linalg.solve(gives, whole.T)
    return np.asarray(np.linalg.inv(stiff), dtype=np.float64)


def arms_compliance(contacts: Sequence[Contact], arms: Sequence[Arm], hub: Hub, *, bare: bool = False) -> F64:
    """Return the (6, 6) compliance of all arms together at the object's centre of mass, axes of the display.

    bare  True takes pads as hard as lacquer on wire: what is left is the wires' own give

    Force and moment there to shift and turn: mm/N and rad/N, mm/(N mm) and rad/(N mm).
    Raises ValueError where nothing touches the object.
    """
    return _together(contacts, [_wire_compliance(contact, arm, hub) for contact, arm in zip(contacts, arms)], bare)


def mount_compliance(tips: Sequence[Tip], hub: Hub) -> tuple[F64, F64]:
    """Return `arms_compliance` of a finished hold's tips on their pads, and on pads that do not give."""
    contacts = [contact_of(tip) for tip in tips]
    wires = [tip_solved(tip, hub)[2] for tip in tips]
    return _together(contacts, wires, False), _together(contacts, wires, True)


def tip_compliance(contact: Contact, arm: Arm, hub: Hub) -> F64:
    """Return how far a tip gives at its seat under a force there, (3, 3) mm/N: its wire with the pad, hub held fast."""
    seat = pad_of(faces_of(contact)[0], contact)
    return np.asarray((_wire_compliance(contact, arm, hub)[:6, :6] + seat)[:3, :3], dtype=np.float64)


def face_compliance(contact: Contact, arm: Arm, hub: Hub) -> F64:
    """Return how a bare wire's faces give under forces there, (3f, 3f) mm/N, hub held fast, pads not counted."""
    shifts = np.concatenate([np.arange(6 * k, 6 * k + 3) for k in range(len(faces_of(contact)))])
    return np.asarray(_wire_compliance(contact, arm, hub)[np.ix_(shifts, shifts)], dtype=np.float64)
