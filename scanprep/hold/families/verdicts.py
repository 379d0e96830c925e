"""What the gates say of a family's mount: the same gates that the free search must pass, one wire one tip.

A wire that touches in several places is one part: its friction reserve counts for the wire, and the jaws of what
straddles an edge carry no friction, since nothing presses those on. Display frame. Used by `find`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scanprep.findings import Verdict
from scanprep.hold.families.body import off_body
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.places.limits import RISING
from scanprep.hold.records import Contact, FamilyPlan, TipSet, faces_of
from scanprep.hold.statics.balance import SprungWire
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.gates import GateResults, carried_ratio, judge, margin_g, shaken, unbalanced_twists
from scanprep.hold.statics.rocking import push_forces_N
from scanprep.hold.statics.wrench import BEARS_SHARE, ContactWrenches
from scanprep.hold.strength.stiffness import bar_compliance, strip_compliance
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_APART_mm = HoldRules().pads_apart_mm
AS_DRAWN = "shake-withstood"  # the gate that speaks of arms
_STANDS_OUT = 0.5  # tolerance: see `_sturdy_ratio`
_SPAN, _BESIDE = 0.4, 0.25  # tolerance: see `spread_ratio`: of the longer extent, and of what lies to a side
_ENOUGH = 0.9  # tolerance: of the weight, what the normals must carry before the gates are asked at all


def wrenches_of(wires: tuple[Contact, ...]) -> ContactWrenches:
    """Return all faces of a mount as the statics sees them, one tip a wire."""
    faces = [(number, place, wire, face) for number, wire in enumerate(wires)
             for place, face in enumerate(faces_of(wire))]
    friction = [wire.friction * (place == 0 or wire.kind != "fork") for _, place, wire, _ in faces]
    return ContactWrenches(np.array([face.point_mm for *_, face in faces]),
                           np.array([face.normal for *_, face in faces]),
                           np.array(friction), np.array([face.force_limit_N for *_, face in faces]),
                           np.array([number for number, *_ in faces]),
                           BEARS_SHARE * np.array([face.radius_mm for *_, face in faces]))


def plausible(mount: FamilyMount, scene: Scene) -> bool:
    """Return whether a mount is worth judging: its pads stand apart and can carry the weight at all."""
    wrenches, weight = wrenches_of(mount.wires), scene.loads.weight_N
    apart = np.linalg.norm(wrenches.points_mm[:, None] - wrenches.points_mm[None], axis=2)
    radius = (wrenches.bears_mm if wrenches.bears_mm is not None else np.zeros(len(apart))) / BEARS_SHARE
    near = apart < radius[:, None] + radius[None] + _APART_mm
    if bool((near & (wrenches.tip[:, None] != wrenches.tip[None])).any()):
        return False
    if float((wrenches.limits_N * np.maximum(wrenches.normals[:, 1], 0.0)).sum()) < _ENOUGH * weight:
        return False
    return len(unbalanced_twists(wrenches, scene.loads, 0.0)) == 0


def carries(mount: FamilyMount, scene: Scene) -> bool:
    """Return whether the first gate lets a mount pass; where it does not, no other need be asked."""
    return carried_ratio(wrenches_of(mount.wires), scene.loads)[0] >= 1.0


def gated(mount: FamilyMount, scene: Scene, *, gently: bool = False) -> tuple[TipSet, GateResults]:
    """Return a family's mount with what the gates say of it; which of its wires it needs is asked where it passes.

    gently  what its shape holds is sprung on no harder than keeps its tips pressed
    """
    wrenches = wrenches_of(mount.wires)
    radius = np.array([face.radius_mm for wire in mount.wires for face in wire.faces])
    results = judge(wrenches, radius, scene.loads, scene.surface, scene.view.rotation, scene.rules,
                    wires=_sprung(mount, scene), gently=gently, briefly=True)
    more = push_forces_N(wrenches, scene.loads.weight_N, scene.loads.spring_N_per_mm, scene.loads.margin_g)
    pressed = results.preload.normal_N
    forces = tuple(float(pressed[wrenches.tip == number].max()) for number in range(len(mount.wires)))
    wires = tuple(replace(wire, shaken_N=force + float(extra))
                  for wire, force, extra in zip(mount.wires, forces, more))
    up = float((pressed * wrenches.normals[:, 1]).sum()) / scene.loads.weight_N
    asked = passes(results)  # of a set that fails anyhow nobody asks which wire it could do without
    needed = tuple(not asked or _needed(wrenches, number, scene.loads) for number in range(len(mount.wires)))
    return TipSet(scene.attitude, wires, forces, needed, results.margin_g or 0.0, results.margin_low_g or 0.0,
                  results.torque_Nmm, results.preload_ratio, up, results.checks,
                  FamilyPlan(mount.family, mount.why, mount.suits, _sturdy_ratio(mount.wires, scene),
                             _alike_ratio(mount.wires, scene), _painted_ratio(mount.wires, scene),
                             spread_ratio(mount.wires, scene))), results


def _sprung(mount: FamilyMount, scene: Scene) -> tuple[SprungWire, ...] | None:
    """What each tip is sprung on where some are flat bars or strip, far stiffer than wire; None where none is."""
    if all(wire.flat is None for wire in mount.wires):
        return None
    return tuple(SprungWire((number,), _give(wire, scene)) for number, wire in enumerate(mount.wires))


def _give(wire: Contact, scene: Scene) -> F64:
    """How far a tip gives before its arm is drawn, (3, 3) mm/N."""
    if wire.flat is not None:
        return bar_compliance(wire, scene.rules)
    if wire.ring is not None and wire.ring.strip is not None:
        return strip_compliance(wire, scene.rules)
    return np.eye(3) / scene.loads.spring_N_per_mm


def passes(results: GateResults) -> bool:
    """Return whether no gate says stop, and only the contact gate says look: it is asked again of the arms as drawn."""
    return not results.stops and all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) or check.name == AS_DRAWN
                                     for check in results.checks)


def _needed(wrenches: ContactWrenches, wire: int, loads: Loads) -> bool:
    """Whether the margin falls below its limit without a wire; a mount of one wire needs it."""
    if wrenches.tips == 1:
        return True
    rest = shaken(wrenches.without(wire), loads.shake_factor)
    if len(unbalanced_twists(rest, loads, 0.0)):
        return True
    left, _ = margin_g(rest, loads.weight_N, loads.margin_g, loads.margin_g)
    return left is None or left < loads.margin_g


def _sturdy_ratio(wires: tuple[Contact, ...], scene: Scene) -> float:
    """The least thickness, over the object's usual one, where any wire touches; of a claw, between its jaws.

    A claw on what stands out from the body counts as on something half as thick.
    """
    points, normals = [], []
    for wire in wires:
        seats = np.array([face.point_mm for face in wire.faces])
        straddles = wire.kind == "fork" and wire.ring is None
        points.append(seats[1:].mean(axis=0) if straddles else seats[0] + 1.0 * np.asarray(wire.normal))
        normals.append(np.asarray(wire.normal))
    sturdy = scene.sturdy_ratio(np.array(points), np.array(normals), inside=True)
    claw = np.array([wire.kind == "fork" and wire.ring is None for wire in wires])
    edges = np.array([wire.point_mm for wire in wires])
    return float(np.where(claw & off_body(scene, edges), _STANDS_OUT * sturdy, sturdy).min())


def _alike_ratio(wires: tuple[Contact, ...], scene: Scene) -> float:
    """How far the mount is from its own mirror image left to right, over the object's diagonal; 0: its image."""
    middle = float(scene.low_mm[0] + scene.high_mm[0])
    points = np.array([np.mean([face.point_mm for face in wire.faces], axis=0)
                       if wire.ring is None or wire.ring.stem is not None  # a loop's wire is not seen, its places are
                       else wire.ring.points_mm.mean(axis=0) for wire in wires])
    image = points * [-1.0, 1.0, 1.0] + [middle, 0.0, 0.0]
    return float(np.linalg.norm(points[:, None] - image[None], axis=2).min(axis=1).max()) / scene.diagonal_mm


def _painted_ratio(wires: tuple[Contact, ...], scene: Scene) -> float:
    """How painted the ground is that the wires touch, as a mean: of each its worst place, or all that goes round."""
    return float(np.mean([
        scene.painted_along(wire.ring.points_mm[::2]) if wire.ring is not None
        else scene.painted(np.array([face.point_mm for face in wire.faces])).max() for wire in wires]))


def spread_ratio(wires: tuple[Contact, ...], scene: Scene) -> float:
    """Return how well what holds an object is spread over it: 0 all at one end .. 1.

    What is borne from below is borne on both sides of its balance point, each a quarter of the way to its end at
    least; and from the lowest to the highest place, or from the left to the right one, whichever way the object is
    longer, what holds it reaches over two fifths of it: else its free end swings.
    """
    faces = [face for wire in wires for face in wire.faces]
    points = np.array([face.point_mm for face in faces])
    bears = points[np.array([face.normal[1] >= RISING for face in faces])]
    longer = int(np.argmax(scene.size_mm[:2]))
    span = min(float(np.ptp(points[:, longer])) / (_SPAN * float(scene.size_mm[longer])), 1.0)
    if len(bears) == 0 or float(bears[:, 1].max()) > 0.0:  # it hangs
        return span
    left, right = -float(bears[:, 0].min()), float(bears[:, 0].max())
    beside = min(left / (_BESIDE * -float(scene.low_mm[0])), right / (_BESIDE * float(scene.high_mm[0])), 1.0)
    return 0.5 * (span + max(beside, 0.0))
