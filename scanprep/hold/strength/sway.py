"""How the object sways on its arms alone: a rigid body on the arms' own stiffness, the hub held fast.

Six modes from M x'' + K x = 0 with the object's mass and inertia at its centre of mass; and for each direction of the
display the frequency and the give as if it could only move that way. The post and the panel come on top (`post`).
N, mm, g, Hz. Source: any text on vibrations, undamped free vibration of a rigid body on springs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.records import Arm, Contact, Hub
from scanprep.hold.strength.stiffness import arms_compliance
from scanprep.survey.records import Survey
from scanprep.units import weight_N
from scanprep.vectors import F64, Vec3, vec3


@dataclass(frozen=True, slots=True)
class Sway:
    """An object on its arms."""

    lowest_Hz: float  # of the six modes
    direction_Hz: Vec3  # moving only along x, y, z of the display
    droop_mm: float  # of the centre of mass under the weight


def sway_of(compliance: F64, mass_g: float, inertia_g_mm2: F64) -> Sway:
    """Return the sway of a rigid body.

    compliance     (6, 6) at the centre of mass, mm/N and so on
    inertia_g_mm2  (3, 3) about the centre of mass, the same axes

    >>> sway = sway_of(np.diag([0.1, 0.1, 0.1, 1e-6, 1e-6, 1e-6]), 250.0, 1e5 * np.eye(3))
    >>> round(sway.lowest_Hz, 2), round(sway.droop_mm, 3)  # 0.25 kg on 10 N/mm: sqrt(10000 / 0.25) / 2 pi
    (31.83, 0.245)
    """
    from scipy.linalg import eigh

    mass = np.zeros((6, 6))
    mass[:3, :3] = mass_g * np.eye(3)
    mass[3:, 3:] = inertia_g_mm2
    # N = g mm / s2 * 1e-6: masses in tonnes make N, mm and s agree
    slowest = float(eigh(mass * 1e-6, np.linalg.inv(compliance), eigvals_only=True)[-1])
    alone = 1 / np.sqrt(np.diag(compliance)[:3] * mass_g * 1e-6) / (2 * math.pi)
    droop = float(compliance[1, 1]) * weight_N(mass_g)
    return Sway(1 / math.sqrt(slowest) / (2 * math.pi), vec3(alone), droop)


def sway_on(contacts: Sequence[Contact], arms: Sequence[Arm], hub: Hub, survey: Survey, rotation: F64) -> Sway:
    """Return how a surveyed object sways on its arms; the heaviest that it may be."""
    heavier = survey.mass_g.high / survey.mass_g.best
    inertia = rotation @ survey.inertia_g_mm2 @ rotation.T * heavier
    return sway_of(arms_compliance(contacts, arms, hub), survey.mass_g.high, inertia)
