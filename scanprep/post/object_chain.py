"""One object on its rod with all that its load table needs: wires, states of the metals, what the site asks of it.

What the site asks is raised by the object's own frequency on its post. Mouth frame for the post's section forces,
display frame about the centre of mass for what acts on the object. Used by `chain`, `chain_rod` and `hand`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from scanprep.brief import CaseBrief
from scanprep.hold.records import Hold
from scanprep.hold.strength.passing import WirePassing, mount_passing
from scanprep.hold.strength.stiffness import MOUNT_ALLOY
from scanprep.loads import cases as case
from scanprep.loads.cases import load_cases
from scanprep.loads.records import LoadCase
from scanprep.loads.site import Shake, shake_of
from scanprep.loads.states import MetalStates, SolderStrength, metal_states, solder_strength
from scanprep.post.assessment import RodAssessment
from scanprep.post.compliance import modes
from scanprep.post.loads import (
    MouthLoad,
    directions,
    shaken_loads,
    standing_load,
    swung_loads,
    touched_loads,
    upright_ways,
)
from scanprep.post.records import Hole
from scanprep.vectors import F64

_ROUNDED_g = 1e-9  # tolerance: two shakes that are one


@dataclass(frozen=True, slots=True, eq=False)
class ObjectChain:
    """One object on its rod with everything that its cells need."""

    tried: RodAssessment
    wires: tuple[WirePassing, ...]
    hole: Hole
    shake: Shake
    barrier: str
    walking_g: float
    walks: int
    states: MetalStates  # of hub and wire
    solder: SolderStrength
    pushes_mm: F64  # (4, 3) outermost points from the centre of mass
    cases: tuple[LoadCase, ...]
    swells: bool  # an organic object: it moves with the damp

    def at_post(self, at_mm: float) -> Mapping[str, tuple[MouthLoad, ...]]:
        """Return the section forces at a place along the post, by load case."""
        carried, rules = self.tried.carried, self.tried.rules
        found = {
            case.WEIGHT: (standing_load(carried, at_mm),),
            case.SHAKE: shaken_loads(carried, shaking_ways(self.shake), at_mm),
            case.LIFT: shaken_loads(carried, upright_ways(self.shake.vertical_g), at_mm),
            case.WALKING: shaken_loads(carried, self.walking_g * directions(), at_mm),
            case.TOUCH: touched_loads(carried, rules.post.touch_N, at_mm),
            case.KNOCK: touched_loads(carried, rules.loads.knock_N, at_mm),
            case.PUSH_OBJECT: touched_loads(carried, rules.panel.push_N, at_mm)}
        return {key: found[key] for key in found if key not in kept_off(self.barrier)}

    def swing_at(self, at_mm: float) -> tuple[MouthLoad, ...]:
        """Return what steps of people add at a place along the post, weight left out: metal tires by the swing."""
        return swung_loads(self.tried.carried, self.walking_g * directions(), at_mm)


def kept_off(barrier: str) -> tuple[str, ...]:
    """Return the load cases that a barrier keeps from the object.

    >>> kept_off("none"), len(kept_off("visitors")), len(kept_off("everyone"))
    ((), 2, 3)
    """
    return {"none": (), "visitors": (case.TOUCH, case.PUSH_OBJECT),
            "everyone": (case.TOUCH, case.PUSH_OBJECT, case.KNOCK)}[barrier]


def shaking_ways(shake: Shake) -> F64:
    """Accelerations in g, (n, 3): the same in every direction, or the code's sideways with its vertical part."""
    if abs(shake.horizontal_g - shake.vertical_g) < _ROUNDED_g:
        return shake.horizontal_g * directions()
    around = np.radians(np.arange(0, 360, 15))
    level = np.column_stack([np.cos(around), np.zeros(len(around)), np.sin(around)]) * shake.horizontal_g
    return np.vstack([level + np.array([0.0, upright, 0.0])
                      for upright in (shake.vertical_g, 0.0, -shake.vertical_g)])


def chain_of(hold: Hold, tried: RodAssessment, hole: Hole, brief: CaseBrief | None, *, swells: bool = False
             ) -> ObjectChain:
    """Return an object's chain.

    swells  the object is of wood, ivory or the like
    """
    site, rules = brief or CaseBrief(""), tried.rules
    frequency_Hz = modes(tried.carried, tried.now)[0].frequency_Hz
    # the panel's own modes are not known yet: taken as flexible, which the code asks the most of short of resonance
    shake = shake_of(site, min(frequency_Hz, rules.loads.panel_at_most_Hz))
    cases = load_cases(rules.loads, rules.post, rules.panel, site.acceleration_g, shake.vertical_g)
    carried = tried.carried
    half_w, half_h = carried.half_width_mm, carried.half_height_mm
    centre = np.asarray(carried.centre_mm)
    points = np.array([(half_w, 0, carried.front_mm), (-half_w, 0, carried.front_mm), (0, half_h, carried.front_mm),
                       (0, -half_h, carried.front_mm)]) - centre
    walks = round(rules.loads.years * 365 * rules.loads.steps_a_day)
    return ObjectChain(
        tried, mount_passing(hold.tips, hold.hub, rules.hold.bend_least_diameters) if hold.tips else (), hole, shake,
        site.barrier, rules.loads.floor_g / (2 * rules.post.damping_ratio), walks,
        metal_states(MOUNT_ALLOY, rules.loads), solder_strength(rules.post, rules.loads), points, cases, swells)


def pushed(points_mm: F64, force_N: float) -> F64:
    """Return a push at each point, in six directions, as what acts on an object (7, n): see `passing`."""
    ways = force_N * np.vstack([np.eye(3), -np.eye(3)])
    forces = np.tile(ways, (len(points_mm), 1))
    places = np.repeat(points_mm, len(ways), axis=0)
    none = np.zeros((len(forces), 1))
    return np.asarray(np.hstack([forces, np.cross(places, forces), none]).T, dtype=np.float64)
