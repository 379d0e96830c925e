"""How tight a post sits in its hole: pressure, hoop tension, what pulls or turns it out.

A pin pressed into a thick elastic sheet (Lamé's thick cylinders). The sheet creeps, so every holding force has a value
now and one after relaxation; it widens more than brass when warm. Takes N, mm, MPa; returns the same. Used by
`post.fit`; how the pin bears the object's weight is in `post.bearing`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fit:
    """What an interference does. All zero when the post is loose."""

    pressure_MPa: float
    hoop_MPa: float  # tension round the hole
    pull_out_N: float
    slip_torque_Nmm: float


def interference_fit(interference_mm: float, diameter_mm: float, depth_mm: float, friction: float, *,
                     sheet_modulus_MPa: float, sheet_poisson: float, pin_modulus_MPa: float, pin_poisson: float,
                     outer_diameter_mm: float = math.inf, bore_mm: float = 0.0) -> Fit:
    """Return pressure, hoop tension, pull-out and slip torque of a pin or tube pressed into a sheet.

    interference_mm    rod diameter minus hole diameter; <= 0 is loose and holds nothing
    bore_mm            inside diameter of a tube, 0 for a solid rod
    outer_diameter_mm  twice the distance from the hole's centre to the nearest free edge; inf in open sheet

    p = delta / (d [C_o/E_o + C_i/E_i]), C_o = (D^2+d^2)/(D^2-d^2) + nu_o, C_i = (d^2+b^2)/(d^2-b^2) - nu_i (1 - nu_i
    for a solid pin); hoop = p (D^2+d^2)/(D^2-d^2);
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
    tube_ratio = (diameter_mm**2 + bore_mm**2) / (diameter_mm**2 - bore_mm**2)
    softness = (hoop_ratio + sheet_poisson) / sheet_modulus_MPa + (tube_ratio - pin_poisson) / pin_modulus_MPa
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
                             pin_modulus_MPa: float, pin_poisson: float, bore_mm: float = 0.0) -> float:
    """Return the interference whose hoop tension just reaches a limit, in open sheet.

    >>> round(greatest_interference_mm(10.34, 4.7625, sheet_modulus_MPa=3000, sheet_poisson=0.37,
    ...                                pin_modulus_MPa=97_000, pin_poisson=0.31), 4)
    0.0228
    """
    # tension grows in proportion to the interference
    per_mm = interference_fit(1.0, diameter_mm, 1.0, 0.0, sheet_modulus_MPa=sheet_modulus_MPa,
                              sheet_poisson=sheet_poisson, pin_modulus_MPa=pin_modulus_MPa, pin_poisson=pin_poisson,
                              bore_mm=bore_mm)
    return hoop_MPa / per_mm.hoop_MPa


def edge_hoop_ratio(diameter_mm: float, edge_mm: float, sheet_poisson: float) -> float:
    """Return how much more hoop tension a rigid pin makes at a distance from a free edge than in open sheet.

    Lamé's ring of outer radius edge_mm, over the same interference; 1.033 at two diameters.

    >>> round(edge_hoop_ratio(4.7625, 2 * 4.7625, 0.37), 3)
    1.033
    """
    # in open sheet hoop = I/d E/(1 + nu); interference and modulus cancel
    return rigid_pin_hoop_MPa(diameter_mm, diameter_mm, 2 * edge_mm, 1.0, sheet_poisson) * (1 + sheet_poisson)


def thermal_interference_mm(diameter_mm: float, sheet_alpha_per_K: float, pin_alpha_per_K: float,
                            warmer_K: float) -> float:
    """Return how much interference is lost when panel and pin get warmer (negative: gained when cooler)."""
    return diameter_mm * (sheet_alpha_per_K - pin_alpha_per_K) * warmer_K
