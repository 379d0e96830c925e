"""How hard a soldered joint and a hub work: a wire lapped on a hub, a post filleted into it, the hub's plate.

Soft solder creeps: for years it bears a fraction of what it bears for a moment. Stresses are taken as a weld's are, all
of them on the bond or throat together (Shigley's Mechanical Engineering Design, welding chapter, from memory). N, N mm,
mm, MPa.

        wire ====================o arm ->          | post |
        ~~~~~~~~ bond, d wide ~~~                 /|      |\\  fillet, throat 0.707 h
        hub  ####################            ####/ |      | \\####  plate
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.vectors import F64

#: exact: throat of a fillet over its leg, at 45 degrees
THROAT_SHARE = math.sqrt(0.5)


@dataclass(frozen=True, slots=True)
class JointLoad:
    """What passes through a joint at the end of its lap: along it, across it in the hub's plane, off the hub."""

    along_N: float
    across_N: float
    off_N: float
    twist_Nmm: float  # about the wire
    peel_Nmm: float  # about the axis across, lifting the end
    slew_Nmm: float  # about the normal of the hub


def lap_stress_MPa(load: JointLoad, lap_mm: float, width_mm: float, height_mm: float) -> float:
    """Return the greatest stress on the bond of a lap.

    lap_mm     soldered length
    width_mm   of the bond, the wire's diameter on one side, twice that in a slot
    height_mm  of the wire's centre over the bond: what pulls along it lifts its end too

    The bond is a strip: direct force over its area, moments as a line in bending, 6 M / (b L2) and 6 T / (L b2); all
    added as vectors. Pulled along only, it is the handbook's length times width (Manko, Solders and Soldering, p. 142).

    >>> round(lap_stress_MPa(JointLoad(100.0, 0, 0, 0, 0, 0), 5.0, 2.0, 0.0), 3)
    10.0
    """
    if min(lap_mm, width_mm) <= 0:
        raise ValueError(f"a lap has length and width; got {lap_mm} and {width_mm} mm")
    area, line = lap_mm * width_mm, width_mm * lap_mm**2 / 6
    # forces act at the end of the lap, half its length from the bond's middle
    peel = abs(load.peel_Nmm) + abs(load.off_N) * lap_mm / 2 + abs(load.along_N) * height_mm
    slew = abs(load.slew_Nmm) + abs(load.across_N) * lap_mm / 2
    twist = abs(load.twist_Nmm) + abs(load.across_N) * height_mm
    off = abs(load.off_N) / area + peel / line + twist / (lap_mm * width_mm**2 / 6)
    across = abs(load.across_N) / area + slew / line
    return math.hypot(off, across, load.along_N / area)


def lap_needed_mm(load: JointLoad, width_mm: float, height_mm: float, allowed_MPa: float) -> float:
    """Return the soldered length at which a lap's greatest stress comes down to what is allowed.

    The load stays that of the lap as drawn: one that is made longer outwards bears a little less.

    >>> round(lap_needed_mm(JointLoad(100.0, 0, 0, 0, 0, 0), 2.0, 0.0, 10.0), 3)
    5.0
    """
    from scipy.optimize import brentq  # late: most laps are long enough

    def over(log_mm: float) -> float:
        return math.log(lap_stress_MPa(load, math.exp(log_mm), width_mm, height_mm) / allowed_MPa)

    # every term falls with the length, by its first power at least, so that a length far beyond any hub brackets it
    return math.exp(float(brentq(over, math.log(1e-3), math.log(1e9), xtol=1e-9)))


def fillet_stress_MPa(bending_Nmm: float, torque_Nmm: float, shear_N: float, axial_N: float, diameter_mm: float,
                      leg_mm: float, fillets: int, bore_mm: float = 0.0) -> float:
    """Return the greatest stress in the throat of fillets round a post.

    fillets  1 on one side of the hub, 2 on both
    bore_mm  length of the solder in a drilled hub's bore, half of which is taken to be wetted

    A ring of throat t = 0.707 h: M / (pi r2 t), T / (2 pi r2 t), V / (pi r t) at its flank, P / (2 pi r t), as a weld
    round a shaft (Shigley, tables of welds in bending and torsion: I_u = pi r3, J_u = 2 pi r3); the bore's bond
    is another such ring.

    >>> round(fillet_stress_MPa(1000.0, 0.0, 0.0, 0.0, 4.7625, 0.8, 2), 2)
    49.62
    """
    if min(diameter_mm, leg_mm) <= 0 or fillets < 1:
        raise ValueError(f"a fillet has a diameter and a leg; got {diameter_mm}, {leg_mm} mm, {fillets} of them")
    radius, throat = diameter_mm / 2, THROAT_SHARE * leg_mm * fillets + bore_mm / 2
    normal = abs(bending_Nmm) / (math.pi * radius**2 * throat) + abs(axial_N) / (2 * math.pi * radius * throat)
    shear = abs(torque_Nmm) / (2 * math.pi * radius**2 * throat) + abs(shear_N) / (math.pi * radius * throat)
    return math.hypot(normal, shear)


def plate_compliance_ratio(rim_mm: float, boss_mm: float) -> float:
    """Return 4 pi D times the turn of a rigid boss by a unit moment, its plate clamped at a rim (thin plate theory)."""
    square = (rim_mm**2 - boss_mm**2) / (rim_mm**2 + boss_mm**2)
    return math.log(rim_mm / boss_mm) - square


def plate_stress_MPa(moment_Nmm: float, rim_mm: float, boss_mm: float, thickness_mm: float, poisson: float) -> float:
    """Return the greatest bending stress of a plate clamped at its rim whose rigid boss is turned by a moment.

    rim_mm, boss_mm  radii

    w = (A r + B r3 + C/r + E r ln r) cos: w = w' = 0 at the rim, a rigid turn at the boss; the radial moment there is
    D [B r (6 + 2 nu) + C (2 - 2 nu)/r3 + E (1 + nu)/r]. Source: thin plate theory, worked here; Roark's table 11.2,
    trunnion loading with a fixed edge, has the same (from memory).
    """
    if not 0 < boss_mm < rim_mm:
        raise ValueError(f"a boss is smaller than its plate; got radii {boss_mm} and {rim_mm} mm")
    a, b = rim_mm, boss_mm
    rows = np.array([[a, a**3, 1 / a, a * math.log(a)], [1, 3 * a**2, -1 / a**2, math.log(a) + 1],
                     [b, b**3, 1 / b, b * math.log(b)], [1, 3 * b**2, -1 / b**2, math.log(b) + 1]])
    scale = np.abs(rows).max(axis=0)
    unit: F64 = np.linalg.solve(rows / scale, np.array([0.0, 0.0, b, 1.0])) / scale
    _, B, C, E = unit
    curving = B * b * (6 + 2 * poisson) + C * (2 - 2 * poisson) / b**3 + E * (1 + poisson) / b
    # a unit turn takes 4 pi D / ratio: D falls out of the stress
    return float(abs(6 / thickness_mm**2 * curving * moment_Nmm * plate_compliance_ratio(a, b) / (4 * math.pi)))
