"""How far a straight rod droops, how hard it works, and how fast it sways under what it carries.

The rod is a beam held in the panel's face, loaded at the hub. Solid or tube, round. Takes N, N mm, mm and MPa;
returns mm, radians, MPa and Hz. Touches no files. Used by `post.series` and `post.judge`.

    panel |
    face  |=======================O hub        F down at the free end, M nodding it forward
          |<------- length ------>|
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.units import G_M_S2


@dataclass(frozen=True, slots=True)
class Section:
    """A round rod or tube. Raises ValueError unless 0 <= bore < diameter."""

    diameter_mm: float
    bore_mm: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.bore_mm < self.diameter_mm:
            raise ValueError(f"a rod has 0 <= bore < diameter; got {self.bore_mm} and {self.diameter_mm} mm")

    @property
    def area_mm2(self) -> float:
        """Metal across the rod."""
        return math.pi / 4 * (self.diameter_mm**2 - self.bore_mm**2)

    @property
    def inertia_mm4(self) -> float:
        """Second moment of area about a diameter, pi (d^4 - b^4) / 64."""
        return math.pi / 64 * (self.diameter_mm**4 - self.bore_mm**4)

    @property
    def modulus_mm3(self) -> float:
        """Section modulus in bending, I / (d/2)."""
        return self.inertia_mm4 / (self.diameter_mm / 2)

    @property
    def polar_mm4(self) -> float:
        """Torsion constant, twice the inertia for a round section."""
        return 2 * self.inertia_mm4


@dataclass(frozen=True, slots=True)
class EndMove:
    """What the free end of a cantilever does."""

    deflection_mm: float
    slope_rad: float


def _positive(**sizes: float) -> None:
    for name, value in sizes.items():
        if not value > 0:
            raise ValueError(f"{name} must be above 0; got {value}")


def end_move(force_N: float, moment_Nmm: float, length_mm: float, section: Section, modulus_MPa: float) -> EndMove:
    """Return droop and slope at the free end of a cantilever under an end force and an end moment.

    Source: Roark's Formulas for Stress and Strain, table 8.1, cases 1a and 3a:
    w = P L^3/(3EI) + M L^2/(2EI), slope = P L^2/(2EI) + M L/(EI).

    >>> round(end_move(5, 100, 40, Section(4.7625), 97_000).deflection_mm, 7)
    0.0762053
    """
    _positive(length_mm=length_mm, modulus_MPa=modulus_MPa)
    stiffness_Nmm2 = modulus_MPa * section.inertia_mm4
    return EndMove(
        force_N * length_mm**3 / (3 * stiffness_Nmm2) + moment_Nmm * length_mm**2 / (2 * stiffness_Nmm2),
        force_N * length_mm**2 / (2 * stiffness_Nmm2) + moment_Nmm * length_mm / stiffness_Nmm2,
    )


def own_weight_move(length_mm: float, section: Section, modulus_MPa: float, density_g_mm3: float) -> EndMove:
    """Return droop and slope of a cantilever under its own weight.

    Source: Roark, table 8.1, case 2a: w = q L^4/(8EI), slope = q L^3/(6EI), q = rho A g.
    """
    _positive(length_mm=length_mm, modulus_MPa=modulus_MPa)
    load_N_mm = density_g_mm3 * section.area_mm2 * 1e-3 * G_M_S2
    stiffness_Nmm2 = modulus_MPa * section.inertia_mm4
    return EndMove(load_N_mm * length_mm**4 / (8 * stiffness_Nmm2), load_N_mm * length_mm**3 / (6 * stiffness_Nmm2))


@dataclass(frozen=True, slots=True)
class RodStress:
    """Stresses at the skin of a round rod in bending and torsion."""

    bending_MPa: float
    shear_MPa: float
    von_mises_MPa: float
    greatest_shear_MPa: float
    first_principal_MPa: float


def rod_stress(moment_Nmm: float, torque_Nmm: float, section: Section) -> RodStress:
    """Return the stresses of a round rod or tube under a bending moment and a torque together.

    Source: Shigley's Mechanical Engineering Design, combined bending and torsion of shafts (from memory):
    sigma = M/Z, tau = T/(2Z), von Mises = sqrt(sigma^2 + 3 tau^2).

    >>> round(rod_stress(1000, 500, Section(4.7625)).von_mises_MPa, 4)
    102.7571
    """
    bending = moment_Nmm / section.modulus_mm3
    shear = torque_Nmm / (2 * section.modulus_mm3)
    greatest = math.hypot(bending / 2, shear)
    return RodStress(bending, shear, math.hypot(bending, math.sqrt(3) * shear), greatest, bending / 2 + greatest)


def twist_rad(torque_Nmm: float, length_mm: float, section: Section, shear_modulus_MPa: float) -> float:
    """Return how far a rod winds up, T L / (G J)."""
    return torque_Nmm * length_mm / (shear_modulus_MPa * section.polar_mm4)


#: exact: Share of a cantilever's own mass that sways as if it sat at the tip (Rayleigh, static shape).
SWAYING_SHARE = 33 / 140


def sway_rayleigh_Hz(tip_mass_g: float, length_mm: float, section: Section, modulus_MPa: float,
                     density_g_mm3: float) -> float:
    """Return the first bending frequency of a cantilever with a point mass at its tip, Rayleigh's estimate.

    High by 1.5 % for a bare rod and by less than 0.06 % once the tip weighs as much as the rod (Blevins, Formulas for
    Natural Frequency and Mode Shape).
    """
    _positive(length_mm=length_mm, modulus_MPa=modulus_MPa)
    rod_g = density_g_mm3 * section.area_mm2 * length_mm
    stiffness_N_mm = 3 * modulus_MPa * section.inertia_mm4 / length_mm**3
    return math.sqrt(stiffness_N_mm * 1e6 / (tip_mass_g + SWAYING_SHARE * rod_g)) / (2 * math.pi)


def sway_number(tip_mass_ratio: float, mode: int = 1) -> float:
    """Return b^2 of a cantilever's bending mode with a point mass at its tip, from the exact frequency equation.

    tip_mass_ratio  tip mass over rod mass, >= 0
    mode            1 for the lowest

    1 + cos b cosh b + mu b (cos b sinh b - sin b cosh b) = 0. Source: Mathematical Problems in Engineering 2017,
    article 1568019, table 1 (mu = 1: 1.557298, 16.25009, 50.89584, 105.1983).

    >>> round(sway_number(1.0), 6)
    1.557298
    """
    from scipy.optimize import brentq

    def closed(b: float) -> float:
        # divided by cosh b, so that high modes do not overflow
        tanh = math.tanh(b)
        return 1 / math.cosh(b) + math.cos(b) + tip_mass_ratio * b * (math.cos(b) * tanh - math.sin(b))

    # one root in each interval ((n-1) pi, n pi): the tip mass moves it from the free end's to the pinned end's
    low, high = max((mode - 1) * math.pi, 1e-9), mode * math.pi
    return float(brentq(closed, low, high, xtol=1e-14)) ** 2


def sway_exact_Hz(tip_mass_g: float, length_mm: float, section: Section, modulus_MPa: float,
                  density_g_mm3: float) -> float:
    """Return the first bending frequency of a cantilever with a point mass at its tip, exactly (Euler-Bernoulli)."""
    _positive(length_mm=length_mm, modulus_MPa=modulus_MPa, density_g_mm3=density_g_mm3)
    line_g_mm = density_g_mm3 * section.area_mm2
    number = sway_number(tip_mass_g / (line_g_mm * length_mm))
    return number / (2 * math.pi * length_mm**2) * math.sqrt(modulus_MPa * section.inertia_mm4 * 1e6 / line_g_mm)


def sway_of_body_Hz(mass_g: float, ahead_mm: float, inertia_g_mm2: float, length_mm: float, section: Section,
                    modulus_MPa: float) -> tuple[float, float]:
    """Return the two in-plane frequencies of a rigid body on a massless cantilever.

    ahead_mm       its centre of mass beyond the rod's end
    inertia_g_mm2  about its own centre of mass, across the plane of swaying

    K = EI/L^3 [[12, -6L], [-6L, 4L^2]], M = [[m, m e], [m e, J + m e^2]] on tip deflection and slope. A point mass at
    the rod's end overstates the first frequency by twice for everyday objects.
    """
    import numpy as np
    from scipy.linalg import eigh

    _positive(length_mm=length_mm, modulus_MPa=modulus_MPa, mass_g=mass_g)
    scale = modulus_MPa * section.inertia_mm4 * 1e6 / length_mm**3
    stiff = scale * np.array([[12, -6 * length_mm], [-6 * length_mm, 4 * length_mm**2]])
    mass = np.array([[mass_g, mass_g * ahead_mm], [mass_g * ahead_mm, inertia_g_mm2 + mass_g * ahead_mm**2]])
    first, second = np.sqrt(eigh(stiff, mass, eigvals_only=True)) / (2 * math.pi)
    return float(first), float(second)
