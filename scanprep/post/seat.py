"""The part of the post inside the panel: how it bears, how tight it sits, what pulls or turns it out.

A pin pressed into a thick elastic sheet (Lamé), bearing like a beam on a bed of springs (Winkler, Hetényi). The sheet
creeps, so every holding force has a value now and one after relaxation. Takes N, mm, MPa; returns the same.

    face |<------- depth ------->|
    ~~~~~|#######################|    V down, M = V x reach, at the mouth
     ====|=======================|    w(0) up at the mouth, w(depth) down at the inner end
    ~~~~~|#######################|
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Fit:
    """What an interference does. All zero when the post is loose."""

    pressure_MPa: float
    hoop_MPa: float  # tension round the hole
    pull_out_N: float
    slip_torque_Nmm: float


def interference_fit(interference_mm: float, diameter_mm: float, depth_mm: float, friction: float, *,
                     sheet_modulus_MPa: float, sheet_poisson: float, pin_modulus_MPa: float, pin_poisson: float,
                     outer_diameter_mm: float = math.inf) -> Fit:
    """Return pressure, hoop tension, pull-out and slip torque of a solid pin pressed into a sheet.

    interference_mm    rod diameter minus hole diameter; <= 0 is loose and holds nothing
    outer_diameter_mm  twice the distance from the hole's centre to the nearest free edge; inf in open sheet

    p = delta / (d [C_o/E_o + C_i/E_i]), C_o = (D^2+d^2)/(D^2-d^2) + nu_o, C_i = 1 - nu_i; hoop = p (D^2+d^2)/(D^2-d^2);
    F = mu p pi d L; T = F d/2. Source: Lamé's thick cylinders (Shigley, press and shrink fits; from memory); a maker's
    plastics guide (Avient) gives the same with a rigid pin.

    >>> fit = interference_fit(0.020, 4.7625, 20, 0.3, sheet_modulus_MPa=3000, sheet_poisson=0.37,
    ...                        pin_modulus_MPa=97_000, pin_poisson=0.31)
    >>> round(fit.pressure_MPa, 4), round(fit.pull_out_N, 1)
    (9.0549, 812.9)
    """
    if not outer_diameter_mm > diameter_mm > 0:
        raise ValueError(f"a hole of {diameter_mm} mm does not fit in {outer_diameter_mm} mm of sheet")
    if interference_mm <= 0:
        return Fit(0.0, 0.0, 0.0, 0.0)
    inverse = (diameter_mm / outer_diameter_mm) ** 2
    hoop_ratio = (1 + inverse) / (1 - inverse)
    softness = (hoop_ratio + sheet_poisson) / sheet_modulus_MPa + (1 - pin_poisson) / pin_modulus_MPa
    pressure = interference_mm / (diameter_mm * softness)
    pull_N = friction * pressure * math.pi * diameter_mm * depth_mm
    return Fit(pressure, pressure * hoop_ratio, pull_N, pull_N * diameter_mm / 2)


def rigid_pin_hoop_MPa(interference: float, diameter: float, outer: float, modulus: float, poisson: float) -> float:
    """Return the hoop tension round a rigid pin, I/d E W/(W + nu) with W = (D^2+d^2)/(D^2-d^2).

    Any one unit system.

    Source: Avient design guide, figures 16 and 17 (its example gives 2000 psi). A limit on the hoop tension is not a
    limit on the pressure: the two differ by W.
    """
    shape = (outer**2 + diameter**2) / (outer**2 - diameter**2)
    return interference / diameter * modulus * shape / (shape + poisson)


def greatest_interference_mm(hoop_MPa: float, diameter_mm: float, *, sheet_modulus_MPa: float, sheet_poisson: float,
                             pin_modulus_MPa: float, pin_poisson: float) -> float:
    """Return the interference whose hoop tension just reaches a limit, in open sheet (there hoop = pressure)."""
    softness = (1 + sheet_poisson) / sheet_modulus_MPa + (1 - pin_poisson) / pin_modulus_MPa
    return hoop_MPa * diameter_mm * softness


def thermal_interference_mm(diameter_mm: float, sheet_alpha_per_K: float, pin_alpha_per_K: float,
                            warmer_K: float) -> float:
    """Return how much interference is lost when panel and pin get warmer (negative: gained when cooler)."""
    return diameter_mm * (sheet_alpha_per_K - pin_alpha_per_K) * warmer_K


@dataclass(frozen=True, slots=True)
class RigidBearing:
    """Line load of a rigid pin: a straight line from mouth to inner end."""

    mouth_N_mm: float
    inner_N_mm: float
    zero_at_mm: float


def rigid_pin_bearing(force_N: float, reach_mm: float, depth_mm: float) -> RigidBearing:
    """Return how a stiff pin bears: w0 = V/L (4 + 6a/L), wL = -V/L (2 + 6a/L). Source: equilibrium (short rigid pile).

    Right only while beta x depth < 1; about twice unsafe for a usual post. Kept as the limit that `bed_bearing` meets.
    """
    lever = reach_mm / depth_mm
    return RigidBearing(
        force_N / depth_mm * (4 + 6 * lever), -force_N / depth_mm * (2 + 6 * lever),
        depth_mm * (2 * depth_mm + 3 * reach_mm) / (3 * depth_mm + 6 * reach_mm),
    )


@dataclass(frozen=True, slots=True)
class BedBearing:
    """A pin on its bed: how the mouth moves, where it bears hardest."""

    mouth_mm: float  # deflection at the face
    mouth_slope_rad: float
    mouth_N_mm: float  # line load at the face, the greatest
    inner_N_mm: float  # line load at the inner end
    greatest_moment_Nmm: float  # in the rod, at the face or just inside it


def _bed_shape(beta_per_mm: float, z_mm: float, depth_mm: float) -> F64:
    """Return the four solutions of y'''' + 4 beta^4 y = 0 at z with their first three derivatives, (4 derivs, 4)."""
    # e^-bz cos, e^-bz sin decay from the mouth; the other pair is the same seen from the inner end
    rows = np.empty((4, 4))
    for column, (root, start) in enumerate(((complex(-1, 1), 0.0), (complex(1, 1), depth_mm))):
        value = np.exp(root * beta_per_mm * (z_mm - start))
        for order in range(4):
            derivative = value * (root * beta_per_mm) ** order
            rows[order, 2 * column], rows[order, 2 * column + 1] = derivative.real, derivative.imag
    return rows


def bed_bearing(force_N: float, moment_Nmm: float, depth_mm: float, bending_Nmm2: float, bed_MPa: float) -> BedBearing:
    """Return how a free-ended pin on an elastic bed bears a force and a moment at its mouth.

    moment_Nmm    at the mouth, same sense as the force times its reach
    bending_Nmm2  E I of the rod
    bed_MPa       line load per mm of sinking, k = w / y

    Source: Hetényi, Beams on Elastic Foundation (1946), finite beam with free ends.

    >>> bearing = bed_bearing(5, 200, 20, 97_000 * 25.252818, 3000)
    >>> round(bearing.mouth_N_mm, 4), round(bearing.inner_N_mm, 4)
    (8.4177, -1.2125)
    """
    if min(depth_mm, bending_Nmm2, bed_MPa) <= 0:
        raise ValueError(f"depth, E I and bed must be above 0; got {depth_mm}, {bending_Nmm2}, {bed_MPa}")
    beta = (bed_MPa / (4 * bending_Nmm2)) ** 0.25
    at_mouth, at_inner = _bed_shape(beta, 0.0, depth_mm), _bed_shape(beta, depth_mm, depth_mm)
    # y down, z into the sheet: M = EI y'' is +moment at the mouth, EI y''' = force; both vanish at the inner end
    ends = np.vstack([at_mouth[2], at_mouth[3], at_inner[2], at_inner[3]])
    loads = np.array([moment_Nmm, force_N, 0.0, 0.0]) / bending_Nmm2
    scale = np.array([beta**2, beta**3, beta**2, beta**3])
    weights = np.linalg.solve(ends / scale[:, None], loads / scale)
    depths = np.linspace(0.0, depth_mm, 101)
    moments = [bending_Nmm2 * float(_bed_shape(beta, z, depth_mm)[2] @ weights) for z in depths]
    mouth, inner = float(at_mouth[0] @ weights), float(at_inner[0] @ weights)
    return BedBearing(mouth, -float(at_mouth[1] @ weights), bed_MPa * mouth, bed_MPa * inner,
                      max(moments, key=abs))
