"""How a post bears the weight at its mouth: a pin on the elastic bed of the hole.

The rod is a beam, the acrylic a bed of springs along it (Winkler, Hetényi). Either side of the hole can only push: with
a snug rod one side or the other always does, with a loose one there is play first, with a tight one both do until one
lets go. The bed creeps to half its stiffness in years. Takes N, mm, MPa; returns the same.

    face |<------- depth ------->|
    ~~~~~|#######################|    V down, M = V x reach, at the mouth
     ====|=======================|    w(0) up at the mouth, w(depth) down at the inner end
    ~~~~~|#######################|
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from scanprep.post.beam import assembled, beam_element
from scanprep.vectors import F64

#: exact: Tension round the hole beside a bearing pin, over its mean pressure V/(d L). A plane sheet whose hole is
#: pressed by p0 cos(theta) over half its round, p0 = 4/pi of the mean: hoop = 2 p0/pi - p + p0 cos(theta) k/(1 + k),
#: greatest at the flanks (Muskhelishvili, Some Basic Problems of the Mathematical Theory of Elasticity, section 56;
#: worked here).
BEARING_TENSION_RATIO = 8 / math.pi**2


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


def _bed_shapes(beta_per_mm: float, z_mm: F64, depth_mm: float) -> F64:
    """Return the four solutions of y'''' + 4 beta^4 y = 0 and their derivatives, (4 derivatives, 4, n)."""
    # e^-bz cos and e^-bz sin decay from the mouth; the other pair is the same seen from the inner end
    rows = np.empty((4, 4, len(z_mm)))
    for column, (root, start) in enumerate(((complex(-1, 1), 0.0), (complex(1, 1), depth_mm))):
        value = np.exp(root * beta_per_mm * (z_mm - start))
        for order in range(4):
            derivative = value * (root * beta_per_mm) ** order
            rows[order, 2 * column], rows[order, 2 * column + 1] = derivative.real, derivative.imag
    return rows


@functools.lru_cache(maxsize=256)  # tolerance: one rod asks for the same few over and over
def bed_bearing(force_N: float, moment_Nmm: float, depth_mm: float, bending_Nmm2: float, bed_MPa: float) -> BedBearing:
    """Return how a free-ended pin on an elastic bed bears a force and a moment at its mouth.

    moment_Nmm    at the mouth, same sense as the force times its reach
    bending_Nmm2  E I of the rod
    bed_MPa       line load per mm of sinking, k = w / y

    Right for a snug rod: where the bed seems to pull on one side, the other side pushes. Source: Hetényi, Beams on
    Elastic Foundation (1946), finite beam with free ends.

    >>> bearing = bed_bearing(5, 200, 20, 97_000 * 25.252818, 3000)
    >>> round(bearing.mouth_N_mm, 4), round(bearing.inner_N_mm, 4)
    (8.4177, -1.2125)
    """
    if min(depth_mm, bending_Nmm2, bed_MPa) <= 0:
        raise ValueError(f"depth, E I and bed must be above 0; got {depth_mm}, {bending_Nmm2}, {bed_MPa}")
    beta = (bed_MPa / (4 * bending_Nmm2)) ** 0.25
    shapes = _bed_shapes(beta, np.linspace(0.0, depth_mm, 41), depth_mm)
    # y down, z into the sheet: M = EI y'' is +moment at the mouth, EI y''' = force; both vanish at the inner end
    ends = np.vstack([shapes[2, :, 0], shapes[3, :, 0], shapes[2, :, -1], shapes[3, :, -1]])
    loads = np.array([moment_Nmm, force_N, 0.0, 0.0]) / bending_Nmm2
    scale = np.array([beta**2, beta**3, beta**2, beta**3])
    weights = np.linalg.solve(ends / scale[:, None], loads / scale)
    sunk, turned, moments = weights @ shapes[0], weights @ shapes[1], bending_Nmm2 * (weights @ shapes[2])
    return BedBearing(float(sunk[0]), -float(turned[0]), bed_MPa * float(sunk[0]), bed_MPa * float(sunk[-1]),
                      float(moments[np.argmax(abs(moments))]))


_NODES = 81  # tolerance: steps of a quarter millimetre in a usual seat


def two_sided_bearing(force_N: float, moment_Nmm: float, depth_mm: float, bending_Nmm2: float, side_MPa: float,
                      squeeze_mm: float) -> BedBearing:
    """Return how a pin bears in a hole whose two sides can only push.

    side_MPa    line load per mm of sinking of one side
    squeeze_mm  how far each side is pressed in before any load: half the interference; negative: half the play

    w(y) = k [max(0, s + y) - max(0, s - y)]: twice as stiff while both sides touch, k once one lets go, nothing inside
    the play. At s = 0 it is `bed_bearing`. Beam elements with springs at the nodes, solved by Newton steps.

    Raises ValueError when no rest is found, which has not been seen for finite loads.
    """
    stiff = assembled([beam_element(depth_mm / (_NODES - 1), bending_Nmm2)] * (_NODES - 1))
    tributary = np.full(_NODES, depth_mm / (_NODES - 1))
    tributary[[0, -1]] /= 2
    load = np.zeros(2 * _NODES)
    load[0], load[1] = force_N, -moment_Nmm
    # a trace of two-sided bed keeps the matrix regular while the pin floats in its play
    trace = side_MPa * 1e-7
    depths = np.linspace(0.0, depth_mm, _NODES)
    whole = bed_bearing(force_N, moment_Nmm, depth_mm, bending_Nmm2, side_MPa)
    sunk = whole.mouth_mm - whole.mouth_slope_rad * depths  # a first guess: the straight pin
    for _ in range(200):
        lower, upper = squeeze_mm + sunk > 0, squeeze_mm - sunk > 0
        bed = side_MPa * (lower.astype(float) + upper) + trace
        offset = side_MPa * squeeze_mm * (lower.astype(float) - upper)
        system = stiff.copy()
        system[np.arange(0, 2 * _NODES, 2), np.arange(0, 2 * _NODES, 2)] += bed * tributary
        right = load.copy()
        right[::2] -= offset * tributary
        moved = np.linalg.solve(system, right)
        sunk = np.asarray(moved[::2], dtype=np.float64)
        if np.array_equal(squeeze_mm + sunk > 0, lower) and np.array_equal(squeeze_mm - sunk > 0, upper):
            break
    else:
        raise ValueError(f"the pin found no rest under {force_N} N and {moment_Nmm} N mm")
    line = side_MPa * (np.maximum(0, squeeze_mm + sunk) - np.maximum(0, squeeze_mm - sunk))
    curvature = np.gradient(moved[1::2], depths)
    moments = bending_Nmm2 * curvature
    return BedBearing(float(sunk[0]), -float(moved[1]), float(line[0]), float(line[-1]),
                      float(moments[np.argmax(abs(moments))]))
