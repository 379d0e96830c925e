"""A block of known mass on three arms, for tests of what carries it. Display frame, origin at the centre of mass."""

import dataclasses

import numpy as np

from scanprep.hold.records import Arm, Attitude, Face, Hold, Hub, Tip
from scanprep.interval import Interval
from scanprep.survey.records import Footprint, Rest, Showing, Survey, Upright
from scanprep.vectors import Rigid

BRASS_MPa = 110_000.0  # C26000, from the materials table


def arm_to(point, hub_mm, stiffness_N_per_mm=5.0):
    """Return a straight arm whose end gives 1/k across its run: k = 3 E I / L^3."""
    lift = 0.8 + 1.0
    path = np.array([hub_mm, np.asarray(point) - (0.0, 0.0, lift)], dtype=float)
    length = float(np.linalg.norm(path[1] - path[0]))
    wire_mm = (64 * stiffness_N_per_mm * length**3 / (3 * np.pi * BRASS_MPa)) ** 0.25
    return Arm(path, wire_mm, length, (), 10.0, 0.1, stiffness_N_per_mm, "#808080", (54.0, 0.0, 0.0))


def tip_at(point, hub_mm, bearing=False, stiffness_N_per_mm=5.0):
    return Tip(point, (0.0, 0.0, 1.0), "pad", bearing, 1.0, 5.0, 0.25, "suede", 2.0, 0.8,
               arm_to(point, hub_mm, stiffness_N_per_mm), True, (Face(point, (0.0, 0.0, 1.0), 5.0, 2.0),))


def hold_of_block(size_mm=(50.0, 70.0, 40.0), beside_mm=0.0, above_mm=5.0, stiffness_N_per_mm=5.0, hub_gap_mm=12.0):
    """Return a hold of a block (width, height, depth), post axis `above_mm` over, `beside_mm` right of its centre."""
    width, height, depth = size_mm
    back = -depth / 2
    hub_at = (beside_mm, above_mm, back - hub_gap_mm + 1.5)
    points = ((-width / 3, -height / 2, 0.0), (width / 3, -height / 2, 0.0), (0.0, height / 2, 0.0))
    tips = tuple(tip_at(p, hub_at, bearing=i < 2, stiffness_N_per_mm=stiffness_N_per_mm) for i, p in enumerate(points))
    attitude = Attitude("upright", 0.0, 0.0, 0.0, np.eye(3), "asked", 1.0)
    return Hold(
        attitude, tips, Hub("plate", hub_at, 14.0, 3.0, ()), None, (beside_mm, above_mm, back - hub_gap_mm), 0.0, 0.8,
        0.4, 500.0, 0.3, 0.9, 0.01, 0.02, 0.5, hub_gap_mm + depth, width, height, back, 1.0, (), (), ())


def survey_of_block(mass_g, size_mm=(50.0, 70.0, 40.0), centre_radius_mm=0.0, weighed=True, doubt_share=0.0):
    """Return the survey of an even block."""
    w, h, d = size_mm
    inertia = np.diag([h * h + d * d, w * w + d * d, w * w + h * h]) * mass_g / 12
    mass = Interval(mass_g * (1 - doubt_share), mass_g, mass_g * (1 + doubt_share))
    rest = Rest((0.0, 1.0, 0.0), 1.0, 20.0, w * d, h / 2, ())
    return Survey(
        Interval.exactly(w * h * d), 2 * (w * h + h * d + w * d), mass, "weighed" if weighed else "volume x density",
        weighed, (0.0, 0.0, 0.0), centre_radius_mm, inertia, size_mm, size_mm, float(np.linalg.norm(size_mm)), 0.0,
        (rest,), Upright((0.0, 1.0, 0.0), "asked", True, rest), Footprint(w * d, (), 20.0, "flat"),
        Rigid(np.eye(3), np.zeros(3)), (0.0, 0.0, 1.0), "asked",
        Showing((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), "upright", "made so"), (), None, (), 0.5, 0.5, np.eye(3), None,
        (128, 128, 128), (), ())


def without_arms(hold):
    """Return the hold with its object fixed straight to the hub."""
    return dataclasses.replace(hold, tips=())
