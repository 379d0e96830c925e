"""What the tips of one object must stand: its weight, shake, tilt, doubt of its centre, and turning.

Gathered once from the survey, the checklist's line and the rulebook, and read by the search and the gates alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.hold.places.fine import end_wire_mm
from scanprep.rules import Rulebook, find_pad
from scanprep.survey.records import Survey
from scanprep.units import weight_N
from scanprep.vectors import F64, Vec3


@dataclass(frozen=True, slots=True)
class Loads:
    """The loads that a hold is judged by."""

    weight_N: float
    friction: float  # the pad's, for design
    friction_low: float
    margin_g: float  # at the pad's friction
    margin_low_g: float  # at low friction with the centre of mass off
    target_g: float  # what the search aims for
    shape_g: float  # shake that the shape alone should stand, without friction
    tilt_deg: float
    centre_radius_mm: float
    torque_Nmm: float
    rocking_deg: float  # most that the search lets it turn on its sprung tips under the low-friction shake
    spring_N_per_mm: float
    pad: str
    pad_thickness_mm: float
    shake_factor: float  # what a tip may press for the moment of a shake, over what it may press for years
    spin_axis: Vec3 | None = None  # scan axes: of revolution; turning about it is not leaving the place

    def tilts(self) -> F64:
        """Directions of "up" (9, 3) when the object is tilted any way, as turns of +y, display frame."""
        angle = np.arange(8) * (math.pi / 4)
        s, c = math.sin(math.radians(self.tilt_deg)), math.cos(math.radians(self.tilt_deg))
        around = np.column_stack([s * np.cos(angle), np.full(8, c), s * np.sin(angle)])
        return np.vstack([[0.0, 1.0, 0.0], around])


def loads_of(survey: Survey, brief: ObjectBrief, rules: Rulebook, acceleration_g: float) -> Loads:
    """Return what an object's tips must stand.

    acceleration_g  the site's stated shake; 0.35 only where there is no seismic demand

    Every limit that was set for footfall (low friction, shape, a worn tip) grows with what the site asks
    beyond it: a seismic site passes on none of them.
    """
    weight = weight_N(survey.mass_g.high)  # force limits are absolute: the heavy end of the doubt is the bad one
    pad, hold = find_pad(brief.pad, rules.pads), rules.hold
    arm_mm = max(hold.torque_arm_mm, survey.centre_radius_mm, hold.torque_diagonal_share * survey.diagonal_mm)
    ratio = max(1.0, acceleration_g / hold.margin_g)
    return Loads(weight, pad.friction, min(hold.friction_low, pad.friction), acceleration_g,
                hold.margin_low_friction_g * ratio, max(hold.target_margin_g, 1.2 * acceleration_g),
                hold.shape_g * ratio, hold.tilt_deg,
                survey.centre_radius_mm, weight * arm_mm, hold.rocking_deg, hold.tip_spring_N_per_mm, pad.name,
                pad.thickness_mm if brief.pad else _sleeve_mm(survey, rules), hold.shake_factor,
                None if survey.axis is None else survey.axis.direction)


def _sleeve_mm(survey: Survey, rules: Rulebook) -> float:
    """How thick a pad nobody named is: on what is light a film on fine wire, hardly thicker than the wire; on what is
    heavier a sleeve or suede by its size, which also lets wires lie on what is not quite even."""
    pads, hold = rules.pads, rules.hold
    film_mm = pads.sleeve_wire_share * end_wire_mm(survey.mass_g.high, hold)
    sleeve_mm = pads.sleeve_share * sorted(survey.size_mm)[1] if survey.mass_g.high > hold.fine_masses_g[-1] else 0.0
    return min(pads.unknown_thickness_mm, max(film_mm, sleeve_mm))
