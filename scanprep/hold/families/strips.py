"""Clips of flat strip: an open collar whose broad side lies on the object, for what is too heavy for a collar of wire.

      _______
     /  ___  \\      from above; the strip is wide up and down, thick off the object: it bends the easy way round
    |  |   |  |     the section and is stiff the other, and presses on its whole breadth
     \\ |   | /
       \\   /

A strip is formed round a section and leans with the wall, twisted by hand where that leans more behind than before.
Where the wall is not even over its breadth it stands off there, or is taken narrower. Display frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scanprep.hold.families.keeping import Keep
from scanprep.hold.families.scene import Hit, Scene
from scanprep.hold.records import Contact, Ring, Strip, faces_of
from scanprep.hold.strength.wire import alloy, stiffness_floor
from scanprep.units import G_M_S2
from scanprep.vectors import F64, unit

_ACROSS = 5  # tolerance: places over a strip's breadth that are asked
_OFF_mm = 500.0  # tolerance: outside any object, from which its wall is sought
_TOUCHES = 0.6  # tolerance: of a strip's breadth, what touches at least where its pads are counted
_LEAN = 1.0  # tolerance: the steepest wall round which a strip is formed, as its way off the upright over its height
_EASED = 2  # tolerance: points to either side over which a strip's lean is evened out


def of_strip(scene: Scene, keep: Keep) -> Keep | None:
    """Return an open clip in flat strip instead of wire, the widest that lies there; None where none does."""
    contact, *others = keep.wires
    if others or contact.ring is None or contact.ring.stem is not None:
        return None
    for wide_mm in scene.rules.strip_widths_mm:
        found = _strip(scene, contact, Strip(wide_mm, _thick_mm(scene, contact, wide_mm)))
        if found is not None and scene.bends(found):
            return Keep((found,), keep.why.replace("open clip", "open clip of flat strip"), keep.suits)
    return None


def _thick_mm(scene: Scene, clip: Contact, wide_mm: float) -> float:
    """The thinnest stock whose ends are as stiff as would keep the whole object at the arms' least frequency.

    An end pushed outwards gives by pi P R3 / (4 E I): a quarter of a circle held at its other end (any text on curved
    bars).
    """
    assert clip.ring is not None
    radius_mm = float(np.ptp(clip.ring.points_mm[:, 0])) / 2
    floor = stiffness_floor(1000 * scene.loads.weight_N / G_M_S2, scene.rules)
    stiff = alloy(scene.rules).youngs_modulus_MPa * wide_mm / 12 / (math.pi / 4 * max(radius_mm, 1.0)**3)
    thicks = scene.rules.strip_thicks_mm
    return next((thick for thick in thicks if stiff * thick**3 >= floor), thicks[-1])


def _strip(scene: Scene, clip: Contact, strip: Strip) -> Contact | None:
    """A clip's ring as strip: its points lie where the wall reaches furthest out over the strip's breadth."""
    assert clip.ring is not None
    points, level = clip.ring.points_mm, unit(clip.ring.outward * [1.0, 0.0, 1.0])
    rises = np.linspace(-0.5, 0.5, _ACROSS) * strip.wide_mm
    out = _out_mm(scene, points, level, rises)
    if out is None:
        return None
    lean = _eased(np.polyfit(rises, out.T, 1)[0])  # how much further out the wall is, a mm higher up
    if float(np.abs(lean).max()) > _LEAN:
        return None
    slack = scene.rules.pad_relief_mm
    off = out - lean[:, None] * rises
    ring = points + np.maximum(off.max(axis=1) - slack, -slack)[:, None] * level
    outward = unit(level - lean[:, None] * [0.0, 1.0, 0.0])
    # it must touch over most of its breadth where its pads are counted: the middle behind and both ends
    places = [len(points) // 2, 0, len(points) - 1]
    touching = off > off.max(axis=1, keepdims=True) - 2 * slack
    if float(touching[places].mean(axis=1).min()) < _TOUCHES:
        return None
    hit = Hit(ring[places], outward[places], np.ones(len(places), dtype=bool))
    seats = scene.seats(hit, (strip.wide_mm / 2, *scene.pad_radii_mm))
    if not seats.sits.all():
        return None
    third_mm = float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum()) / 3
    faces = tuple(seats.face(i, scene.bears_N(seats, i, third_mm, strip.wide_mm * float(touching[place].mean())))
                  for i, place in enumerate(places))
    assert len(faces) == len(faces_of(clip))
    return replace(scene.contact(faces, clip.kind), ring=Ring(ring, outward, None, strip))


def _eased(lean: F64) -> F64:
    """A strip's lean along its way as a hand twists it: no quicker than over its neighbours."""
    padded = np.pad(lean, _EASED, mode="edge")
    return np.asarray(np.convolve(padded, np.ones(2 * _EASED + 1) / (2 * _EASED + 1), mode="valid"))


def _out_mm(scene: Scene, points_mm: F64, level: F64, rises_mm: F64) -> F64 | None:
    """How far out the wall is at each point of a ring and height (k, n), from the ring's own; None where it ends."""
    start = points_mm[:, None] + rises_mm[None, :, None] * [0.0, 1.0, 0.0] + _OFF_mm * level[:, None]
    way = np.repeat(-level, len(rises_mm), axis=0)
    hit = scene.cast(start.reshape(-1, 3), way)
    if not hit.met.all():
        return None
    return np.asarray(np.einsum("knx,kx->kn", hit.points_mm.reshape(start.shape) - points_mm[:, None], level))
