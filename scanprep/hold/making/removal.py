"""How the object comes out again: which arm opens, which way, and along which way the object leaves.

Moving the object by w is moving the mount by -w: each wire is sampled and carried off against the still object, on
straight ways out to the viewer's side, up, down and to the sides. A way is free where every wire but one stays off the
object. That one is opened as a hand can beside the object: pliers never come near it.

    fingers  the arm is bent aside, where that takes no more than a small force
    finger   its lip is of thin soft wire, soldered into the drilled end: straightened, and bent over again
    pin      its end sits in a sleeve and draws off; heavy wire's sleeve has a small screw

Display frame, mm, N.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, Opening, Strip
from scanprep.hold.wires.bends import along
from scanprep.hold.wires.meshes import is_ring
from scanprep.materials import Metal
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady, unit, vec3

_STEPS = 26  # tolerance: places along a way out that are looked at
_OPEN_DEG = HoldRules().removal_open_deg  # turned about the arm's last bend but one
_SCREW_N, _HAND_N = HoldRules().removal_screw_N, HoldRules().removal_hand_N
_SHAKE = HoldRules().shake_factor
_DRAWN_MM = (1.0, 2.5, 5.0, 8.0)  # tolerance: how far an end that draws off is followed
_WAYS_TRIED = 4  # tolerance: ways out, the best first, among which the one that opens most easily is taken
_EASE = ("bend", "finger", "sleeved pin", "screw")  # exact: ways to open, the easiest first
_TOUCH_MM = 0.3  # tolerance: of the distance grid, likewise


@dataclass(frozen=True, slots=True, eq=False)
class Wire:
    """One arm as an obstacle."""

    path_mm: F64
    wire_mm: float
    pieces_mm: tuple[F64, ...]
    contact: Contact
    stiffness_N_per_mm: float
    finger_sizes_mm: tuple[float, ...] = ()  # wires of which its lip may be a soft finger, thinnest first


@dataclass(frozen=True, slots=True, eq=False)
class WayOut:
    """The best way found."""

    opening: Opening
    also_open: tuple[int, ...]  # further arms that must open; empty in a good mount
    sentence: str


def _ways() -> F64:
    """Unit directions in which an object may leave: none of them towards the panel."""
    raw = [(x, y, z) for x, y, z in itertools.product((-1, 0, 1), (-1, 0, 1), (0, 1)) if (x, y, z) != (0, 0, 0)]
    raw += [(0, 1, 2), (0, 2, 1), (0, -1, 2), (0, -2, 1), (1, 0, 2), (-1, 0, 2)]
    return unit(np.array(raw, dtype=np.float64))


def _travels(size_mm: float) -> F64:
    """Distances along a way: close together at first."""
    return np.asarray(size_mm * np.linspace(0.0, 1.0, _STEPS)[1:] ** 1.8, dtype=np.float64)


def _samples(wire: Wire) -> F64:
    return np.vstack([along(piece, 2.5) for piece in (wire.path_mm, *wire.pieces_mm)])


def strikes(view: View, points_mm: F64, wire: Wire, ways: F64, travels_mm: F64) -> F64:
    """Return how deep a wire would enter the object's room along each way, mm; 0 where it stays off.

    A wire may come as near as it is now, or as near as a fifth of its pad, whichever is nearer.
    """
    now = view.distance_mm(points_mm)
    need = np.minimum(now, wire.wire_mm / 2 + 0.2 * wire.contact.pad_thickness_mm)
    slack = 0.25 * view.body.grid.step_mm
    moved = points_mm[None, None] - ways[:, None, None, :] * travels_mm[None, :, None, None]
    distance = view.distance_mm(moved.reshape(-1, 3)).reshape(len(ways), len(travels_mm), len(points_mm))
    deep = np.maximum(0.0, need[None, None, :] - distance - slack)
    return np.asarray(deep.max(axis=(1, 2)), dtype=np.float64)


def find_way_out(view: View, wires: list[Wire], metal: Metal) -> WayOut | None:
    """Return the opening that frees the object, or None where three or more arms would have to open."""
    ways, size = _ways(), float(np.linalg.norm(np.ptp(view.vertices_mm, axis=0)))
    travels = _travels(size)
    deep = np.array([strikes(view, _samples(wire), wire, ways, travels) for wire in wires])
    blocks = deep > 0.05
    count = blocks.sum(axis=0)
    price = 10.0 * np.maximum(count, 1) - 2 * ways[:, 2] - 1.0 * ways[:, 1] + 0.5 * np.abs(ways[:, 0])
    # arms that carry should stay closed
    bearing = np.array([wire.contact.bearing for wire in wires])
    price = price + 4.0 * (blocks & bearing[:, None]).sum(axis=0)
    order = np.argsort(steady(price), kind="stable")
    best = int(order[0])
    if count[best] > 2:
        return None
    found: WayOut | None = None
    for way in [int(k) for k in order if count[k] == count[best]][:_WAYS_TRIED]:
        opened = [int(i) for i in np.flatnonzero(blocks[:, way])]
        if not opened:
            free = [i for i in range(len(wires)) if not bearing[i]] or list(range(len(wires)))
            opened = [min(free, key=lambda i: round(wires[i].stiffness_N_per_mm, 6))]
        opened.sort(key=lambda i: (bearing[i], -round(float(deep[i, way]), 6)))
        opening, sentence = _opened(view, wires, opened[0], ways[way], travels, bool(blocks[opened[0], way]), metal)
        if found is None or _EASE.index(opening.kind) < _EASE.index(found.opening.kind):
            found = WayOut(opening, tuple(opened[1:]), sentence)
        if opening.kind == _EASE[0]:
            break  # nothing is easier
    return found


def _opened(view: View, wires: list[Wire], index: int, way: F64, travels: F64, blocking: bool,
            metal: Metal) -> tuple[Opening, str]:
    wire = wires[index]
    out = -np.asarray(wire.contact.normal)
    travel = _free_after_mm(view, wires, index, way, travels)
    spring = wire.stiffness_N_per_mm
    if not blocking:
        give = wire.contact.pad_thickness_mm + 0.5
        push = min(_yield_force_N(wire, 1, metal), spring * give)
        if push <= _HAND_N:
            return (Opening(index, "bend", vec3(out), push, vec3(way), travel),
                    f"spring arm {index + 1} open by {give:.1f} mm ({push:.1f} N), then draw the object out")
    for angle in _OPEN_DEG if blocking else ():
        for corner, turned in _turned(wire, angle):
            trial = Wire(turned, wire.wire_mm, (), wire.contact, spring)
            if float(strikes(view, _samples(trial), trial, way[None], travels)[0]) > 0.05:
                continue
            if float(view.distance_mm(along(turned[1:], 2.5)).min()) < wire.wire_mm / 2:
                continue
            aside = turned[-1] - wire.path_mm[-1]
            push = min(_yield_force_N(wire, corner, metal), spring * float(np.linalg.norm(aside)))
            if push <= _HAND_N:
                return (Opening(index, "bend", vec3(unit(aside)), push, vec3(way), travel),
                        f"bend arm {index + 1} aside by {angle:.0f} degrees with the fingers, never against the object")
    finger = _finger(view, wire, way, travels, metal) if blocking else None
    if finger is not None:
        size_mm, push, moved = finger
        return (Opening(index, "finger", vec3(unit(moved)), push, vec3(way), travel, size_mm),
                f"straighten the soft finger of arm {index + 1} with a padded stick ({push:.1f} N); then the object "
                "comes out")
    kind = "screw" if _yield_force_N(wire, 1, metal) > _SCREW_N else "sleeved pin"
    return (Opening(index, kind, vec3(_drawn_off(view, wire)), 0.0, vec3(way), travel),
            f"the end of arm {index + 1} is held by a {kind} and draws off; then the object comes out")


def _finger(view: View, wire: Wire, way: F64, travels: F64, metal: Metal) -> tuple[float, float, F64] | None:
    """The thinnest soft wire that keeps as a lip: its size, the force that straightens it, and how its end then moves.

    None where no stocked one is both strong enough and easy enough to bend, or where the lip is not what is in the way.
    """
    path = wire.path_mm
    if len(wire.contact.faces) < 2 or wire.contact.ring is not None or len(path) < 4:
        return None
    lip_mm, before = float(np.linalg.norm(path[-1] - path[-2])), unit(path[-2] - path[-3])
    straight = np.vstack([path[:-1], path[-2] + lip_mm * before])
    trial = Wire(straight, wire.wire_mm, wire.pieces_mm, wire.contact, wire.stiffness_N_per_mm)
    if float(strikes(view, _samples(trial), trial, way[None], travels)[0]) > 0.05:
        return None
    face = wire.contact.faces[wire.contact.along[-1] if wire.contact.along else -1]
    most_N = _SHAKE * face.force_limit_N  # what the lip may press for a moment
    keeps_N = min(most_N, wire.contact.shaken_N if wire.contact.shaken_N is not None else most_N)
    for size_mm in wire.finger_sizes_mm:
        bends_N = metal.yield_annealed_MPa * size_mm**3 / 6 / max(lip_mm, size_mm)
        if keeps_N <= bends_N <= _HAND_N:
            return size_mm, bends_N, straight[-1] - path[-1]
    return None


def _drawn_off(view: View, wire: Wire) -> F64:
    """Which way the end of an arm draws out of its sleeve: along one of its last runs, off the object."""
    path = wire.path_mm
    for k in range(len(path) - 3, 0, -1):
        way, end = unit(path[k + 1] - path[k]), along(path[k + 1:], 1.5)
        now = view.distance_mm(end)
        if all(bool((view.distance_mm(end + far * way) >= np.minimum(now, wire.wire_mm / 2) - _TOUCH_MM).all())
               for far in _DRAWN_MM):
            return way
    return unit(path[-2] - path[-1])


def _turned(wire: Wire, angle_deg: float) -> list[tuple[int, F64]]:
    """The arm bent aside at one of its corners, outward from the contact, and that corner: nearest the hub first.

    Where a brace holds the arm only the corners beyond it turn.
    """
    from scanprep.vectors import rotation_about

    out = -np.asarray(wire.contact.normal)
    found = []
    for corner in range(_first_free(wire), len(wire.path_mm) - 1):
        lever = wire.path_mm[-1] - wire.path_mm[corner]
        axis = np.cross(lever, out)
        if np.linalg.norm(axis) < 0.2 * np.linalg.norm(lever):
            continue
        turn = rotation_about(vec3(unit(axis)), angle_deg)
        path = wire.path_mm.copy()
        path[corner:] = path[corner] + (path[corner:] - path[corner]) @ turn.T
        found.append((corner, path))
    return found


def _first_free(wire: Wire) -> int:
    """The first corner of an arm that no brace holds."""
    first = 1
    for piece in wire.pieces_mm:
        if len(piece) >= 4 and not is_ring(piece, wire.path_mm[-1], wire.wire_mm, _strip_of(wire)) and \
                np.linalg.norm(piece[0] - piece[-1]) > wire.wire_mm:
            runs = zip(wire.path_mm[:-1], wire.path_mm[1:], strict=True)
            apart = [min(float(np.linalg.norm(piece[-1] - (a + t * (b - a)))) for t in np.linspace(0, 1, 21))
                     for a, b in runs]
            first = max(first, int(np.argmin(steady(np.array(apart), 3))) + 1)
    return first


def _strip_of(wire: Wire) -> Strip | None:
    return None if wire.contact.ring is None else wire.contact.ring.strip


def _yield_force_N(wire: Wire, corner: int, metal: Metal) -> float:
    """Force at the tip that bends the wire for good at one of its corners: plastic moment sigma d^3 / 6 over the lever.

    Source: fully plastic moment of a round bar, any text on plastic bending.
    """
    lever = float(np.linalg.norm(wire.path_mm[-1] - wire.path_mm[corner]))
    return metal.yield_hard_MPa * wire.wire_mm**3 / 6 / max(lever, wire.wire_mm)


def _free_after_mm(view: View, wires: list[Wire], opened: int, way: F64, travels: F64) -> float:
    """How far the object goes until every wire is clear of its outline along the way."""
    points = np.vstack([_samples(wire) for i, wire in enumerate(wires) if i != opened] or [_samples(wires[opened])])
    ahead = points @ way
    rear = view.vertices_mm @ way
    needed = float(ahead.max() - rear.min()) + 5.0
    return float(min(max(needed, 5.0), travels[-1]))


def describe(way: F64) -> str:
    """Return a way in words: "towards you and up".

    >>> describe(np.array([0.0, 0.7, 0.7]))
    'towards you and up'
    """
    words = []
    if way[2] > 0.3:
        words.append("towards you")
    if abs(way[1]) > 0.3:
        words.append("up" if way[1] > 0 else "down")
    if abs(way[0]) > 0.3:
        words.append("to the right" if way[0] > 0 else "to the left")
    return " and ".join(words) or f"at {math.degrees(math.atan2(way[1], way[0])):.0f} degrees"
