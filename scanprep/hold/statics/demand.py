"""What the tips of one object must stand: its weight, shake, tilt, doubt of its centre, and turning.

Gathered once from the survey, the checklist's line and the rulebook, and read by the search and the gates alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.materials import PADS
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey
from scanprep.units import weight_N
from scanprep.vectors import F64

PAD_SHARE, LEAST_PAD_mm = 0.02, 0.3  # of the middle extent; a single shrink sleeve; assumed


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
    rocking_deg: float  # most that the object may turn on its sprung tips under the low-friction shake
    spring_N_per_mm: float
    pad: str
    pad_thickness_mm: float
    site_ratio: float = 1.0  # the site's shake over the allowance for footfall, at least 1

    def tilts(self) -> F64:
        """Directions of "up" (9, 3) when the object is tilted any way, as turns of +y, display frame."""
        angle = np.arange(8) * (math.pi / 4)
        s, c = math.sin(math.radians(self.tilt_deg)), math.cos(math.radians(self.tilt_deg))
        around = np.column_stack([s * np.cos(angle), np.full(8, c), s * np.sin(angle)])
        return np.vstack([[0.0, 1.0, 0.0], around])


def loads_of(survey: Survey, brief: ObjectBrief, rules: HoldRules, acceleration_g: float) -> Loads:
    """Return what an object's tips must stand.

    acceleration_g  the site's stated shake; 0.35 only where there is no seismic demand

    Every limit that was set for footfall (low friction, shape, springs, a worn tip) grows with what the site asks
    beyond it: a seismic site passes on none of them.
    """
    weight = weight_N(survey.mass_g.high)  # force limits are absolute: the heavy end of the doubt is the bad one
    pad = next((pad for pad in PADS if pad.name == (brief.pad or "unknown")), PADS[-1])
    friction = pad.friction if brief.pad else rules.friction_default
    arm_mm = max(rules.torque_arm_mm, survey.centre_radius_mm, rules.torque_diagonal_share * survey.diagonal_mm)
    ratio = max(1.0, acceleration_g / rules.margin_g)
    return Loads(weight, friction, min(rules.friction_low, friction), acceleration_g,
                rules.margin_low_friction_g * ratio, max(rules.target_margin_g, 1.2 * acceleration_g),
                rules.shape_g * ratio, rules.tilt_deg,
                survey.centre_radius_mm, weight * arm_mm, rules.rocking_deg, rules.tip_spring_N_per_mm, pad.name,
                pad.thickness_mm if brief.pad else _sleeve_mm(survey, rules), ratio)


def _sleeve_mm(survey: Survey, rules: HoldRules) -> float:
    """How thick a pad nobody named is: a die or a token gets a thin sleeve on a thin wire."""
    extent_mm = sorted(survey.size_mm)[1]
    return min(rules.pad_thickness_mm, max(LEAST_PAD_mm, PAD_SHARE * extent_mm))
