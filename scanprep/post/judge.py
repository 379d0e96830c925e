"""What one rod would do for one object: the table of checks, each with its limit, source and verdict.

Every check is a small function of the same `RodAssessment`; the table at the end lists them. Those in `SIZING` decide
the diameter: what nobody can trim away. The others are answered by a bend, a coupon, a key or a measurement.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from scanprep.findings import Check, Verdict, at_least, at_most
from scanprep.post import holding
from scanprep.post.assessment import RodAssessment, gives_noted, noted
from scanprep.post.bearing import BEARING_TENSION_RATIO, bed_bearing, two_sided_bearing
from scanprep.post.compliance import modes
from scanprep.post.fit import continuous_stress_MPa
from scanprep.post.inclination import inclined
from scanprep.post.keys import keys_for
from scanprep.post.loads import Carried, MouthLoad, directions, shaken_loads, standing_load, touched_loads
from scanprep.post.retention import Demand
from scanprep.post.rod import rod_stress
from scanprep.post.sinking import aim, creep, droop, preset, roll, slope
from scanprep.post.trimmed import vent_flat_modulus_ratio

_ROUNDED_mm = 1e-9  # tolerance: of a height that is level with the axis


def worst_stress_MPa(case: RodAssessment, loads: tuple[MouthLoad, ...]) -> tuple[float, MouthLoad]:
    """Return the greatest von Mises stress in MPa of some section forces, and which of them makes it.

    The section is the one at the mouth, its vent flat where the rod bends most (the bad end: it is filed at the side).
    """
    section = case.now.section
    left, _ = vent_flat_modulus_ratio(section.diameter_mm, case.vent_flat_mm)
    bend = case.now.modulus_MPa * section.inertia_mm4
    # the moment still grows a little inside the sheet before the bed takes the shear
    unit = bed_bearing(1.0, 0.0, case.now.seat_depth_mm, bend, case.now.bed_MPa).greatest_moment_Nmm
    judged = []
    for load in loads:
        stress = rod_stress(load.bending_Nmm + load.shear_N * abs(unit), load.torque_Nmm, section)
        judged.append((stress.von_mises_MPa / left + abs(load.axial_N) / section.area_mm2, load))
    return max(judged, key=lambda pair: pair[0])


def stress(case: RodAssessment) -> Check:
    """The rod at the panel's face, weight and the case's acceleration in its worst direction."""
    value, load = worst_stress_MPa(case, shaken_loads(case.carried, case.acceleration_g * directions()))
    soft = case.rules.post.soft_zone_mm >= case.now.length_mm
    limit = (case.alloy.yield_annealed_MPa if soft else case.alloy.yield_hard_MPa) / case.rules.post.strength_safety
    state = "annealed up to the face" if soft else "hard"
    source = "Shigley (from memory); yield: materials table"
    note = f"{load.bending_Nmm:.0f} N mm bending, {abs(load.torque_Nmm):.0f} N mm torsion, rod {state}"
    note += "; the vent flat filed at 3 o'clock, where the weight neither bends nor bears" if case.vent_flat_mm else ""
    return noted(case, at_most("post-stress", value, limit, "MPa", source, measured=case.measured, note=note))


def joint_stress(case: RodAssessment) -> Check:
    """The rod where a hot joint may have softened it."""
    post = case.rules.post
    at_mm = max(0.0, case.now.length_mm - post.soft_zone_mm)
    value, _ = worst_stress_MPa(case, shaken_loads(case.carried, case.acceleration_g * directions(), at_mm))
    note = (f"soft over {post.soft_zone_mm:.0f} mm from the hub (silver solder)" if post.soft_zone_mm else
            "soft solder leaves the rod hard; a silver-soldered joint would soften "
            f"{post.soft_zone_silver_mm:.0f} mm (from memory)")
    bears = case.alloy.yield_annealed_MPa if post.soft_zone_mm else case.alloy.yield_hard_MPa
    return noted(case, at_most(
        "post-joint-stress", value, bears / post.strength_safety, "MPa",
        "Shigley (from memory); yield: materials table", measured=case.measured, note=note))


def touch(case: RodAssessment) -> Check:
    """The rod when a hand knocks the object's edge: it may spring, but not stay bent."""
    value, load = worst_stress_MPa(case, touched_loads(case.carried, case.rules.post.touch_N))
    soft = case.rules.post.soft_zone_mm >= case.now.length_mm
    limit = case.alloy.yield_annealed_MPa if soft else case.alloy.yield_typical_MPa
    note = f"a {case.rules.post.touch_N:g} N push at the edge, {load.bending_Nmm:.0f} N mm at the face"
    if value > case.alloy.yield_hard_MPa:
        note += (f"; rod of the lowest strength sold ({case.alloy.yield_hard_MPa:.0f} MPa) would "
                 "stay bent: ask for a mill certificate")
    return noted(case, at_most("post-touch", value, limit, "MPa", "touch assumed; typical yield: materials table",
                               over=Verdict.LOOK, measured=case.measured and value <= case.alloy.yield_hard_MPa,
                               note=note))


def frequency(case: RodAssessment) -> Check:
    """The lowest frequency, with the object's own offset and inertia."""
    found = modes(case.carried, case.now)
    first, post = found[0], case.rules.post
    alone = modes(case.carried, case.now, mount=False)[0].frequency_Hz
    note = f"{first.name}; rod and seat alone {alone:.0f} Hz, {_mount_words(case)}"
    return gives_noted(case, at_least("post-frequency", first.frequency_Hz, post.least_frequency_Hz, "Hz",
                                      "Blevins; all members in series; pads from memory", under=Verdict.LOOK,
                                      measured=case.gives_measured, note=note))


def _mount_words(case: RodAssessment) -> str:
    """How fast the object sways in its mount alone, and whether wires or pads make it slow."""
    mount = modes(case.carried, case.now, post=False)
    if not mount:
        return "hub and arms rigid"
    hard = modes(replace(case.carried, arms=case.carried.wires), case.now, post=False)[0].frequency_Hz
    return f"in its mount alone {mount[0].frequency_Hz:.0f} Hz ({hard:.0f} Hz on hard pads)"


def bearing_tension_MPa(case: RodAssessment) -> float:
    """Return the tension beside the hole by the weight that the post bears, its bed at the stiff end."""
    load = standing_load(case.carried)
    bend = case.now.modulus_MPa * case.now.section.inertia_mm4
    given = (load.shear_N, load.bending_Nmm, case.now.seat_depth_mm, bend, case.firm_MPa)
    # a loose rod bears on less of its length, so harder
    bearing = two_sided_bearing(*given, -case.fit.clearance_mm / 2) if case.fit.clearance_mm else bed_bearing(*given)
    return BEARING_TENSION_RATIO * bearing.mouth_N_mm / case.now.section.diameter_mm


def seat_tension_MPa(case: RodAssessment) -> float:
    """Return the tension round the hole for years: the fit's hoop and the bearing's together."""
    return (case.fit.fresh if case.fit.measured else case.fit.planned).hoop_MPa + bearing_tension_MPa(case)


def crazing(case: RodAssessment) -> Check:
    """Tension round the hole for years: the fit's hoop and the bearing's tension together."""
    tension, limit = bearing_tension_MPa(case), continuous_stress_MPa(case.rules, case.grade)
    fit = case.fit.fresh if case.fit.measured else case.fit.planned
    note = f"fit {fit.hoop_MPa:.2f} MPa, bearing {tension:.2f} MPa; acrylic grade {case.grade}"
    if not case.fit.measured:
        note += (f"; a fit tighter than {case.fit.craze_mm * 1000:.0f} um has more than its half of the limit: measure "
                 "rod and test hole")
    return at_most("seat-crazing", seat_tension_MPa(case), limit, "MPa",
                   "Lamé; Hetényi; 1500 psi cell cast, 750 psi unknown",
                   measured=case.fit.measured and case.measured, note=note)


def demand_of(case: RodAssessment) -> Demand:
    """Return what the object asks of its post's hold in the sheet."""
    carried, post = case.carried, case.rules.post
    standing = turning_demand_Nmm(carried, case.acceleration_g, 0.0)
    return Demand(carried.weight_N, standing, pull_demand_N(carried, case.acceleration_g, 0.0),
                  turning_demand_Nmm(carried, case.acceleration_g, post.touch_N) - standing)


def push_in(case: RodAssessment) -> Check:
    """How hard the post must be pushed in."""
    return holding.push_in(case.fit, demand_of(case), case.rules)


def drill_fit(case: RodAssessment) -> Check:
    """What the hole does with this rod and what closes it."""
    return holding.drill_fit(case.fit)


def pull_demand_N(carried: Carried, acceleration_g: float, touch_N: float) -> float:
    """Return the pull along a level post: shaking towards the viewer and a hand. Gravity neither helps nor hurts."""
    return carried.weight_N * acceleration_g + touch_N


def key_advice(case: RodAssessment) -> str:
    """Return what to do where friction alone does not hold: the keys that can carry this object's demand."""
    post = case.rules.post
    torque = turning_demand_Nmm(case.carried, case.acceleration_g, post.touch_N) * post.torque_safety
    pull = pull_demand_N(case.carried, case.acceleration_g, post.touch_N) * post.torque_safety
    keys = keys_for(torque, pull, case.now.section.diameter_mm, case.now.seat_depth_mm, post)
    limit = continuous_stress_MPa(case.rules, case.grade)
    able = [key.short for key in keys if key.length_mm <= case.now.seat_depth_mm and key.stress_MPa <= limit]
    calm = turning_demand_Nmm(case.carried, case.acceleration_g, 0.0) * post.torque_safety
    ways = " or ".join(able) or "none of the usual keys carries it: two posts, or a barrier against touching"
    return f"without a hand on it {calm:.0f} N mm; a touch makes it {torque:.0f} N mm: {ways}"


def pull_out(case: RodAssessment) -> Check:
    """What holds the post in the sheet: a touch in ten years' time, shaking when it is warm besides."""
    dip = inclined(case.rules.post.dip_deg, case.carried.weight_N, case.acceleration_g, case.rules.post.touch_N,
                   case.now.section.diameter_mm, case.now.seat_depth_mm)
    check = holding.pull_out(case.fit, demand_of(case), case.rules)
    return replace(check, note=f"{check.note}; a hole that falls {case.rules.post.dip_deg:g} deg inwards lets the "
                               f"weight hold {dip.held_N:.1f} N")


def turning_demand_Nmm(carried: Carried, acceleration_g: float, touch_N: float) -> float:
    """Return the torque that tries to turn the post in its hole: T = W (|e_x| (1 + a) + |h| a) + touch x radius."""
    swing = carried.level_offset_mm * (1 + acceleration_g) + carried.upright_offset_mm * acceleration_g
    return carried.weight_N * swing + touch_N * carried.outer_radius_mm


def turning(case: RodAssessment) -> Check:
    """Whether the post stays where its clock mark was set."""
    check = holding.turning(case.fit, demand_of(case), case.rules)
    enough = check.value is not None and check.limit is not None and check.value >= check.limit
    return check if enough else replace(check, note=f"{check.note}; {key_advice(case)}")


def above_centre(case: RodAssessment) -> Check:
    """Whether the axis runs at or above the centre of mass, so that a loose post hangs still."""
    taken, doubt = case.carried.centre_mm[1], case.carried.centre_doubt_mm
    # for turning the centre was moved away from the axis; here the bad end is upwards
    likely = taken - math.copysign(doubt, taken)
    highest = likely + doubt
    if highest <= _ROUNDED_mm:
        verdict, note = Verdict.OK, "the axis is at or above the centre of mass"
    elif likely <= _ROUNDED_mm:
        verdict, note = Verdict.UNMEASURED, f"centre of mass known to {doubt:.1f} mm: balance the object to find it"
    else:
        verdict, note = Verdict.LOOK, "weight above the axis, a loose post would turn over: raise the attach point"
    return Check("post-above-centre", -highest, 0.0, "mm", None, "statics: weight above its pivot runs away", verdict,
                 note)


#: Checks that a thicker rod can mend: these choose the diameter.
SIZING: tuple[Callable[[RodAssessment], Check], ...] = (stress, joint_stress, frequency, crazing, creep)
#: Checks that a bend, a barrier, a coupon, a key or a square answers.
OTHERS: tuple[Callable[[RodAssessment], Check], ...] = (droop, slope, roll, preset, touch, aim, drill_fit, push_in,
                                                        pull_out, turning, above_centre)


def judged(case: RodAssessment) -> tuple[Check, ...]:
    """Return every check of an assessment, sizing ones first."""
    return tuple(check(case) for check in (*SIZING, *OTHERS))


def _to_blame(case: RodAssessment, check: Check) -> bool:
    """Whether a thicker rod would help a check that is not passed, or hub and arms are at fault."""
    post = case.rules.post
    if check.name == "post-creep":
        pads, all_of_it = case.trim.pads, case.trim.creep
        own_mm, own_deg = all_of_it.droop_mm - pads.droop_mm, all_of_it.nod_deg - pads.nod_deg
        return abs(own_mm) > post.droop_mm / 2 or abs(own_deg) > post.slope_deg / 2
    if check.name == "post-frequency":
        half_Hz = post.least_frequency_Hz * math.sqrt(2)
        mount_alone = modes(case.carried, case.now, post=False)
        slow_mount = bool(mount_alone) and mount_alone[0].frequency_Hz < half_Hz
        return not slow_mount or modes(case.carried, case.now, mount=False)[0].frequency_Hz < half_Hz
    return True


def fails(case: RodAssessment, checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """Return the sizing checks that a rod does not pass and a thicker one could mend, worst margin first.

    A mount that gives too much is not mended by a thicker post: rod and seat then answer for half of the limit (and for
    a frequency 1.4 times up, so that both in series would just pass); the check itself stays as it is.
    """
    sizing = checks[: len(SIZING)]
    bad = [c for c in sizing if c.verdict in (Verdict.LOOK, Verdict.STOP) and _to_blame(case, c)]
    return tuple(sorted(bad, key=lambda c: math.inf if c.margin is None else c.margin))
