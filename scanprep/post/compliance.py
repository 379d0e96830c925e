"""Seat, rod, hub and arms as springs in series: where the object ends up and how it sways.

A post alone is never the whole answer: the seat turns a little in the sheet, the arms give, and the object sits ahead
of the hub. Each member is a 6 x 6 compliance (force and moment to shift and turn), moved to the object's centre of mass
and added. Mouth frame (see `post.loads`): x right, y up, z out. N, mm, g in; mm, degrees, Hz out.

    seat o====== rod ======o hub ~~~~ arms ~~~~ (object)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.strength.frame import torsion_mm4
from scanprep.hold.strength.stiffness import MOUNT_ALLOY, moved, wrench_move
from scanprep.materials import metal
from scanprep.post.bearing import bed_bearing
from scanprep.post.loads import Carried
from scanprep.post.rod import SWAYING_SHARE, Section, end_move, own_weight_move, twist_rad
from scanprep.units import weight_N
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Member:
    """A rod in its seat: what bends."""

    section: Section
    modulus_MPa: float
    shear_modulus_MPa: float
    density_g_mm3: float
    length_mm: float  # face to hub
    seat_depth_mm: float
    bed_MPa: float


def _beam(deflect_force: float, cross: float, turn_moment: float, axial: float, torsion: float) -> F64:
    """Return the 6 x 6 compliance of a member along +z from its five numbers."""
    c = np.zeros((6, 6))
    c[0, 0] = c[1, 1] = deflect_force
    c[3, 3] = c[4, 4] = turn_moment
    c[0, 4] = c[4, 0] = cross  # pushed right, it turns about +y
    c[1, 3] = c[3, 1] = -cross  # pushed up, it turns about -x
    c[2, 2], c[5, 5] = axial, torsion
    return c


def rod_compliance(member: Member) -> F64:
    """Return the rod's compliance at the hub."""
    by_force = end_move(1.0, 0.0, member.length_mm, member.section, member.modulus_MPa)
    by_moment = end_move(0.0, 1.0, member.length_mm, member.section, member.modulus_MPa)
    stretch = member.length_mm / (member.modulus_MPa * member.section.area_mm2)
    wind_up = twist_rad(1.0, member.length_mm, member.section, member.shear_modulus_MPa)
    return _beam(by_force.deflection_mm, by_moment.deflection_mm, by_moment.slope_rad, stretch, wind_up)


def seat_compliance(member: Member) -> F64:
    """Return the seat's compliance at the mouth: a pin on its bed, held along and about its axis."""
    bend = member.modulus_MPa * member.section.inertia_mm4
    by_force = bed_bearing(1.0, 0.0, member.seat_depth_mm, bend, member.bed_MPa)
    by_moment = bed_bearing(0.0, 1.0, member.seat_depth_mm, bend, member.bed_MPa)
    return _beam(by_force.mouth_mm, by_moment.mouth_mm, by_moment.mouth_slope_rad, 0.0, 0.0)


def hub_compliance(carried: Carried, rod_diameter_mm: float) -> F64:
    """Return the hub's compliance: it lets the post nod.

    A plate is taken as a disc clamped at its rim with the post as a rigid boss: M/(4 pi D) [ln(a/b) - (a2-b2)/(a2+b2)]
    (thin plate theory, w = (A r + B r3 + C/r + E r ln r) cos); a bar, and a ring on its cross-bar, as two stubs of
    round stock that bend, 2 l3/(3 EI s2), or wind up, l/(2 GJ), whichever is softer; a level bar of flat stock winds up
    under a nod and bends under a turn about the upright; the wires of a cross-wire are the arms themselves. Assumed.
    """
    hub, alloy = carried.hub, metal(MOUNT_ALLOY)
    c = np.zeros((6, 6))
    stub = (hub.size_mm - rod_diameter_mm) / 2
    if hub.kind == "cross-wire" or stub <= 0:
        return c
    if hub.kind == "plate":
        stiff = alloy.youngs_modulus_MPa * hub.thickness_mm**3 / (12 * (1 - alloy.poisson**2))
        rim, boss = hub.size_mm / 2, rod_diameter_mm / 2
        square = (rim**2 - boss**2) / (rim**2 + boss**2)
        c[3, 3] = c[4, 4] = (math.log(rim / boss) - square) / (4 * math.pi * stiff)
        return c
    if hub.high_mm:
        high, thick = np.array(hub.high_mm), np.array(hub.thickness_mm)
        c[3, 3] = stub / (2 * alloy.shear_modulus_MPa * float(torsion_mm4(high, thick)))
        c[4, 4] = 2 * stub**3 / (3 * alloy.youngs_modulus_MPa * float(high * thick**3 / 12) * hub.size_mm**2)
        return c
    stock = Section(hub.thickness_mm)
    bends = 2 * stub**3 / (3 * alloy.youngs_modulus_MPa * stock.inertia_mm4 * hub.size_mm**2)
    winds = stub / (2 * alloy.shear_modulus_MPa * stock.polar_mm4)
    # a ring closes the stubs' ends together, a bar does not
    c[3, 3] = c[4, 4] = bends if hub.kind == "ring" else max(bends, winds)
    return c


@dataclass(frozen=True, slots=True)
class Contribution:
    """One member's share of where the object ends up."""

    name: str  # "seat", "rod", "hub", "arms", "own weight"
    droop_mm: float  # downwards at the object's centre of mass, + is down
    nod_deg: float  # + top towards the viewer
    roll_deg: float  # + counter-clockwise for the viewer


def _part(name: str, shift: F64, twist: F64) -> Contribution:
    return Contribution(name, -float(shift[1]), math.degrees(float(twist[3])), math.degrees(float(twist[5])))


def weight_parts(carried: Carried, member: Member) -> tuple[Contribution, ...]:
    """Return what each member adds to droop, nod and roll under the standing weight of object, mount and rod."""
    centre, hub_at = np.asarray(carried.centre_mm), np.array([0.0, 0.0, member.length_mm])
    object_pull = np.array([0.0, -weight_N(carried.object_g), 0.0, 0.0, 0.0, 0.0])
    mount_pull = np.array([0.0, -weight_N(carried.mount_g), 0.0, 0.0, 0.0, 0.0])
    mouth = np.zeros(3)
    parts = []
    for name, compliance, at in (("seat", seat_compliance(member), mouth), ("rod", rod_compliance(member), hub_at),
                                 ("hub", hub_compliance(carried, member.section.diameter_mm), hub_at)):
        wrench = wrench_move(centre - at) @ object_pull
        wrench = wrench + wrench_move(np.asarray(carried.mount_centre_mm) - at) @ mount_pull
        twist = compliance @ wrench
        shift = twist[:3] + np.cross(twist[3:], centre - at)
        parts.append(_part(name, shift, twist))
    if carried.arms is not None:
        twist = carried.arms @ object_pull
        parts.append(_part("arms", twist[:3], twist))
    own = own_weight_move(member.length_mm, member.section, member.modulus_MPa, member.density_g_mm3)
    ahead_mm = carried.centre_mm[2] - member.length_mm
    parts.append(Contribution("own weight", own.deflection_mm + own.slope_rad * ahead_mm, math.degrees(own.slope_rad),
                              0.0))
    return tuple(parts)


@dataclass(frozen=True, slots=True)
class Mode:
    """One way the object sways."""

    frequency_Hz: float
    name: str  # "nodding", "swinging sideways", "turning", "along the post"


# exact: which of the six ways a mode mostly moves in
_MODE_NAMES = (("swinging sideways", 0, 4), ("nodding", 1, 3), ("turning", 5, 5), ("along the post", 2, 2))


def modes(carried: Carried, member: Member, *, mount: bool = True, post: bool = True) -> tuple[Mode, ...]:
    """Return the object's frequencies on seat, rod, hub and arms, lowest first, with offset and rotary inertia.

    mount  False takes hub and arms as rigid, post False rod and seat: which of them makes an object slow?

    The rod's swaying share and the mount ride with the object, at its centre: heavier there is slower, the bad end.
    """
    centre, hub_at = np.asarray(carried.centre_mm), np.array([0.0, 0.0, member.length_mm])
    whole = np.zeros((6, 6))
    if post:
        whole = moved(seat_compliance(member), centre) + moved(rod_compliance(member), centre - hub_at)
    if mount:
        whole = whole + moved(hub_compliance(carried, member.section.diameter_mm), centre - hub_at)
    if mount and carried.arms is not None:
        whole = whole + carried.arms
    return frequencies_of(whole, carried, member)


def frequencies_of(whole: F64, carried: Carried, member: Member) -> tuple[Mode, ...]:
    """Return the frequencies of an object on a compliance (6, 6) at its centre of mass, lowest first."""
    from scipy.linalg import eigh

    rod_g = member.density_g_mm3 * member.section.area_mm2 * member.length_mm
    mass = np.zeros((6, 6))
    mass[:3, :3] = np.eye(3) * (carried.object_g + carried.mount_g + SWAYING_SHARE * rod_g)
    mass[3:, 3:] = carried.inertia_g_mm2
    # M v = w^2 K^-1 ... solved as C M: largest eigenvalue is the lowest frequency
    lower = np.linalg.cholesky(mass)
    values, vectors = eigh(lower.T @ whole @ lower)
    found = []
    for value, vector in sorted(zip(values, vectors.T), key=lambda pair: -pair[0]):
        if value <= 1e-12 * values.max():
            continue  # a direction in which nothing gives
        energy = vector**2
        name = max(_MODE_NAMES, key=lambda entry: sum(energy[i] for i in {entry[1], entry[2]}))[0]
        # compliance in mm/N, mass in g: 1 N/mm per g is 1e6 /s2
        found.append(Mode(math.sqrt(1e6 / value) / (2 * math.pi), name))
    return tuple(found)
