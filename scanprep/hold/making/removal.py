"""How the object comes out again: which arm opens, which way, and along which way the object leaves.

Moving the object by w is moving the mount by -w: each wire is sampled and carried off against the still object, on
straight ways out to the viewer's side, up, down and to the sides. A way is free where every wire but one stays off the
object. That one is bent aside with two pliers, never against the object, or, where the bend would be too great to be
made again and again, its end is a sleeved pin that draws off; a heavy object's wire gets a small screw.
Display frame, mm, N.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, Opening
from scanprep.hold.wires.bends import along
from scanprep.materials import Metal
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady, unit, vec3

_STEPS = 26  # tolerance: places along a way out that are looked at
_OPEN_DEG = HoldRules().removal_open_deg  # turned about the arm's last bend but one
_SCREW_N = HoldRules().removal_screw_N


@dataclass(frozen=True, slots=True, eq=False)
class Wire:
    """One arm as an obstacle."""

    path_mm: F64
    wire_mm: float
    pieces_mm: tuple[F64, ...]
    contact: Contact
    stiffness_N_per_mm: float


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
    best = int(np.argmin(steady(price)))
    if count[best] > 2:
        return None
    opened = [int(i) for i in np.flatnonzero(blocks[:, best])]
    if not opened:
        free = [i for i in range(len(wires)) if not bearing[i]] or list(range(len(wires)))
        opened = [min(free, key=lambda i: round(wires[i].stiffness_N_per_mm, 6))]
    opened.sort(key=lambda i: (bearing[i], -round(float(deep[i, best]), 6)))
    opening, sentence = _opened(view, wires, opened[0], ways[best], travels, bool(blocks[opened[0], best]), metal)
    return WayOut(opening, tuple(opened[1:]), sentence)


def _opened(view: View, wires: list[Wire], index: int, way: F64, travels: F64, blocking: bool,
            metal: Metal) -> tuple[Opening, str]:
    wire = wires[index]
    out = -np.asarray(wire.contact.normal)
    travel = _free_after_mm(view, wires, index, way, travels)
    force, spring = _yield_force_N(wire, metal), wire.stiffness_N_per_mm
    if not blocking:
        give = wire.contact.pad_thickness_mm + 0.5
        push = min(force, spring * give)
        return (Opening(index, "bend", vec3(out), push, vec3(way), travel),
                f"spring arm {index + 1} open by {give:.1f} mm ({push:.1f} N), then draw the object out")
    for angle in _OPEN_DEG:
        for turned in _turned(wire, angle):
            trial = Wire(turned, wire.wire_mm, (), wire.contact, spring)
            if float(strikes(view, _samples(trial), trial, way[None], travels)[0]) > 0.05:
                continue
            if float(view.distance_mm(along(turned[1:], 2.5)).min()) < wire.wire_mm / 2:
                continue
            aside = turned[-1] - wire.path_mm[-1]
            push = min(force, spring * float(np.linalg.norm(aside)))
            if push > _SCREW_N:
                break
            return (Opening(index, "bend", vec3(unit(aside)), push, vec3(way), travel),
                    f"bend arm {index + 1} aside by {angle:.0f} degrees with two pliers, never against the object")
    kind = "screw" if force > _SCREW_N else "sleeved pin"
    draw = wire.path_mm[-2] - wire.path_mm[-1]
    return (Opening(index, kind, vec3(unit(draw)), 0.0, vec3(way), travel),
            f"the end of arm {index + 1} is held by a {kind} and draws off; then the object comes out")


def _turned(wire: Wire, angle_deg: float) -> list[F64]:
    """The arm bent aside at one of its corners, outward from the contact: nearest the hub first."""
    from scanprep.vectors import rotation_about

    out = -np.asarray(wire.contact.normal)
    found = []
    for corner in range(1, len(wire.path_mm) - 1):
        lever = wire.path_mm[-1] - wire.path_mm[corner]
        axis = np.cross(lever, out)
        if np.linalg.norm(axis) < 0.2 * np.linalg.norm(lever):
            continue
        turn = rotation_about(vec3(unit(axis)), angle_deg)
        path = wire.path_mm.copy()
        path[corner:] = path[corner] + (path[corner:] - path[corner]) @ turn.T
        found.append(path)
    return found


def _yield_force_N(wire: Wire, metal: Metal) -> float:
    """Force at the tip that bends the wire for good at its first corner: plastic moment sigma d^3 / 6 over the lever.

    Source: fully plastic moment of a round bar, any text on plastic bending.
    """
    lever = float(np.linalg.norm(wire.path_mm[-1] - wire.path_mm[1]))
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
