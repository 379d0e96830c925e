"""What a panel's foot and top fixing must carry, load case by load case: the table that an engineer asks for.

Unfactored: load factors, combinations and the fixings themselves are the engineer's. Forces across the sheet come from
the strip with P-delta (`panel.sheet`); along the sheet it stands as a stiff wall on its foot, the top fixing not
counted, the bad end. N, N mm; y up from the foot.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scanprep.panel.sheet import ELEMENTS, Strip
from scanprep.units import G_M_S2
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Reaction:
    """What one load case asks of the fixings, all as magnitudes."""

    case: str
    out_shear_N: float  # at the foot, across the sheet
    out_moment_Nmm: float  # at the foot, bending it over
    top_N: float  # at the top fixing, across the sheet
    along_shear_N: float  # at the foot, along the sheet
    along_moment_Nmm: float
    twist_Nmm: float  # about the upright middle line
    down_N: float  # on the foot
    heel_N: float  # uplift at one end of the foot by the moment along the sheet; 0 where the weight holds it down
    stress_MPa: float  # greatest in the sheet
    move_mm: float  # greatest sideways


def total_weight_N(strip: Strip) -> float:
    """Return the weight of the sheet with all that hangs on it."""
    return (strip.sheet.mass_g + sum(mass.mass_g for mass in strip.masses)) * 1e-3 * G_M_S2


def shaken_load(strip: Strip, acceleration_g: float, vertical_g: float = 0.0) -> F64:
    """Return the nodal loads of an even acceleration across the sheet, and of a vertical one on what hangs off it.

    The code's force acts on every part of a component by its mass (ASCE 7-16, 13.3.1).
    """
    even = np.zeros(2 * ELEMENTS + 2)
    even[::2] = 1.0
    # g to N: 1e-3 kg per g
    return np.asarray(strip.bending_mass() @ even * 1e-3 * G_M_S2 * acceleration_g + vertical_g * strip.load(),
                      dtype=np.float64)


def bowed_load(strip: Strip, free_per_mm: float) -> F64:
    """Return the nodal loads of one face warmer than the other: the curvature alpha dT / t, free to bow if it can."""
    load = np.zeros(2 * ELEMENTS + 2)
    load[1] = -strip.sheet.modulus_MPa * strip.sheet.inertia_mm4 * free_per_mm
    load[-1] = -load[1]
    return load


def reaction(case: str, strip: Strip, load: F64, *, along_N: float = 0.0, along_at_mm: float = 0.0,
             twist_Nmm: float = 0.0, vertical_g: float = 0.0, modulus_MPa: float | None = None,
             free_per_mm: float = 0.0) -> Reaction:
    """Return what a load asks of foot and top.

    along_N      force along the sheet, acting at `along_at_mm`
    vertical_g   shaken upwards and downwards
    modulus_MPa  of the sheet; None: short-term
    free_per_mm  curvature that a warm face gives a free sheet, which stresses nothing
    """
    moved = strip.bent_mm(load, modulus_MPa)
    rest = strip.bending_stiffness(modulus_MPa) @ moved - load
    weight, along_Nmm = total_weight_N(strip), along_N * along_at_mm
    held_down = weight * (1 - vertical_g)
    heel = max(0.0, along_Nmm / strip.sheet.width_mm - held_down / 2)
    curved = strip.greatest_moment_Nmm(moved, modulus_MPa, free_per_mm=free_per_mm)
    return Reaction(
        case, abs(float(rest[0])), abs(strip.foot_moment_Nmm(load, moved, modulus_MPa)),
        abs(float(rest[2 * ELEMENTS])) if strip.ends.top_held else 0.0, abs(along_N), abs(along_Nmm), abs(twist_Nmm),
        weight * (1 + vertical_g), heel, curved / strip.sheet.modulus_mm3, float(max(abs(moved[::2]))))


def greatest(case: str, several: list[Reaction]) -> Reaction:
    """Return the envelope of some reactions: each figure at its worst, which need not come together."""
    worst = several[0]
    for other in several[1:]:
        worst = replace(worst, **{name: max(getattr(worst, name), getattr(other, name))
                                  for name in Reaction.__slots__ if name != "case"})
    return replace(worst, case=case)
